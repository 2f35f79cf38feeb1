namespace Incubation.Service.Snapshots;

/// <summary>A bench in the list of benches.</summary>
/// <param name="Id">Names it in addresses.</param>
/// <param name="Name">What people call it.</param>
/// <param name="Phase">"preparing", "running" or "finished".</param>
/// <param name="Headline">The batch in words.</param>
/// <param name="Revision">How many events its log has.</param>
public sealed record BenchSummary(string Id, string Name, string Phase, string Headline, long Revision);
