using Incubation.Service.Snapshots;
namespace Incubation.Server.Hubs;

/// <summary>What the hub calls on every screen.</summary>
public interface IBenchScreen
{
    /// <summary>A new snapshot of a bench that the screen watches.</summary>
    Task Snapshot(BenchSnapshot snapshot);

    /// <summary>Who is in front of the screen, when that has changed.</summary>
    Task Who(WhoSnapshot who);
}
