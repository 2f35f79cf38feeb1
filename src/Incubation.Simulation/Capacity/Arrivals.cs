using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>A request as it comes in.</summary>
/// <param name="At">When, counted from midnight.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Priority">Whether it is urgent.</param>
public sealed record Arrival(Duration At, AssayCode Assay, Priority Priority);

/// <summary>Draws what comes in on a day.</summary>
public static class Arrivals
{
    /// <summary>
    /// One day's requests in the order in which they come: a Poisson process for each rate (gaps between requests are
    /// exponential), and each request urgent by chance. Whole milliseconds.
    /// </summary>
    public static ImmutableArray<Arrival> Draw(Demand demand, ulong seed)
    {
        ArgumentNullException.ThrowIfNull(demand);
        var arrivals = new List<Arrival>();
        for (var number = 0; number < demand.Rates.Length; number++)
        {
            var rate = demand.Rates[number];
            var random = new Random(unchecked((int)Seeds.Mix(seed, (ulong)number)));
            for (var at = rate.From + Gap(rate, random); at < rate.To; at += Gap(rate, random))
                arrivals.Add(new Arrival(at, rate.Assay, random.NextDouble() < demand.UrgentShare
                    ? Priority.Urgent : Priority.Routine));
        }
        return [.. arrivals.OrderBy(arrival => arrival.At)
            .ThenBy(arrival => arrival.Assay.Value, StringComparer.Ordinal)];
    }

    private static Duration Gap(DemandRate rate, Random random) =>
        Duration.FromMilliseconds(Math.Ceiling(-Math.Log(1 - random.NextDouble()) / rate.PerHour * 3_600_000));
}
