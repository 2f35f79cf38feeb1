using Incubation.Bench;

namespace Incubation.Service.Snapshots;

/// <summary>What a bench is and shows at an instant; immutable.</summary>
/// <param name="State">What the bench knows.</param>
/// <param name="View">What it shows.</param>
public sealed record BenchMoment(BenchState State, BenchView View);
