using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// The read window of a cartridge whose load has ended: it opens by the late end of the load and closes by the early
/// one, so that a read inside it is inside the assay's window whatever the load's true end was.
/// </summary>
/// <param name="Opens">The read starts no earlier.</param>
/// <param name="GuardFrom">From here on the read guard is being used.</param>
/// <param name="Closes">The read starts no later.</param>
public readonly record struct ReadWindow(Instant Opens, Instant GuardFrom, Instant Closes)
{
    /// <summary>The window of a load that ended inside <paramref name="loadEnd"/>.</summary>
    public static ReadWindow Of(Assay assay, BenchSetup setup, InstantRange loadEnd)
    {
        var closes = loadEnd.Earliest + assay.Incubation + assay.ReadWindow;
        return new ReadWindow(loadEnd.Latest + assay.Incubation, closes - setup.ReadGuard, closes);
    }
}
