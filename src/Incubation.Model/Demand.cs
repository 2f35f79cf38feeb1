using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Model;

/// <summary>How many requests of an assay come in an hour, from one time of day to another.</summary>
/// <param name="Assay">The assay.</param>
/// <param name="From">From then, counted from midnight.</param>
/// <param name="To">Until then; later than <paramref name="From"/>.</param>
/// <param name="PerHour">So many an hour on average, more than none.</param>
public sealed record DemandRate(AssayCode Assay, Duration From, Duration To, double PerHour)
{
    /// <summary>Requests in all, on average.</summary>
    public double PerDay => PerHour * (To - From).TotalHours;
}

/// <summary>What is wanted of a bench on a day, on average; what truly comes is chance.</summary>
/// <param name="Open">When the bench opens, counted from midnight.</param>
/// <param name="Close">When it takes no more; later than <paramref name="Open"/>. What came before is run to its
/// end.</param>
/// <param name="UrgentShare">Which part of the requests is urgent, 0 to 1.</param>
/// <param name="Rates">What comes when; inside the open hours.</param>
public sealed record Demand(Duration Open, Duration Close, double UrgentShare, ImmutableArray<DemandRate> Rates)
{
    /// <summary>Requests a day, on average.</summary>
    public double PerDay => Rates.Sum(rate => rate.PerDay);

    /// <summary>The same demand, but so many times as much.</summary>
    public Demand Times(double factor) =>
        this with { Rates = [.. Rates.Select(rate => rate with { PerHour = rate.PerHour * factor })] };
}
