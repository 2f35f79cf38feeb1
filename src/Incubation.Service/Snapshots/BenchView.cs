using Incubation.Bench;

namespace Incubation.Service.Snapshots;

/// <summary>What a bench is and shows at an instant; immutable.</summary>
/// <param name="State">What the bench knows.</param>
/// <param name="Look">What it shows.</param>
public sealed record BenchView(BenchState State, BenchLook Look);
