using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>A bench at full stretch: more waits than it can do. Its beginning and its end are left out.</summary>
/// <param name="PerHour">Cartridges taken out in an hour.</param>
/// <param name="Length">How long that was measured.</param>
/// <param name="Taken">How long resources were taken meanwhile.</param>
internal sealed record StretchedRun(double PerHour, Duration Length, Taken Taken)
{
    /// <summary>So many requests wait at the opening time.</summary>
    private const int Requests = 100;

    /// <summary>The first fifth fills the bench, the last tenth empties it.</summary>
    private const int First = 20;
    private const int Last = 90;

    /// <summary>What waits: each by chance of an assay, as often as that is wanted in a day.</summary>
    public static ImmutableArray<Arrival> Waiting(Demand demand, ulong seed)
    {
        var random = new Random(unchecked((int)seed));
        return [.. Enumerable.Range(0, Requests)
            .Select(_ =>
                new Arrival(demand.Open, OneOf(demand, random.NextDouble() * demand.PerDay), Priority.Routine))];
    }

    private static AssayCode OneOf(Demand demand, double at)
    {
        foreach (var rate in demand.Rates)
            if ((at -= rate.PerDay) < 0)
                return rate.Assay;
        return demand.Rates[^1].Assay;
    }

    /// <summary>What the steps that were done come to.</summary>
    public static StretchedRun Of(IReadOnlyList<DoneStep> steps)
    {
        var ends = steps.Where(step => step.Action is StepAction.Clear).Select(step => step.End).Order().ToList();
        if (ends.Count <= First + 1)
            return new StretchedRun(0, Duration.Zero, Taken.Nothing);
        var last = Math.Min(Last, ends.Count - 1);
        var length = ends[last] - ends[First];
        return new StretchedRun((last - First) / length.TotalHours, length, DayUse.Of(steps, ends[First], ends[last]));
    }
}
