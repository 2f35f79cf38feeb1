using Incubation.Model.Reports;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Service.WhatIf;

/// <summary>
/// What a bench's own record says of a period, counted as played days are: to set the one beside the other.
/// </summary>
/// <param name="From">Its first day.</param>
/// <param name="To">Its last day.</param>
/// <param name="Times">Minutes from when cartridges waited to when they were taken out, of those read in their window;
/// null where there was none.</param>
/// <param name="Urgent">The same of urgent ones.</param>
/// <param name="Used">Cartridges that were mixed or loaded.</param>
/// <param name="Missed">How many of them were read outside their window or thrown away.</param>
public sealed record PastRecord(LocalDate From, LocalDate To, Spread? Times, Spread? Urgent, int Used, int Missed)
{
    /// <summary>Windows missed for every 1,000 cartridges that were used.</summary>
    public double MissedPerThousand => Used == 0 ? 0 : 1000.0 * Missed / Used;

    /// <summary>Its 95 % confidence interval by <see cref="Statistics.Wilson95"/>.</summary>
    public (double Low, double High) MissedPerThousandInterval
    {
        get
        {
            if (Used == 0)
                return (0, 1000);
            var (low, high) = Statistics.Wilson95(Missed, Used);
            return (1000 * low, 1000 * high);
        }
    }

    /// <summary>Of the cartridges that were asked for in a period, controls and repeats too.</summary>
    public static PastRecord Of(IReadOnlyCollection<CartridgeTimes> cartridges, LocalDate from, LocalDate to)
    {
        ArgumentNullException.ThrowIfNull(cartridges);
        var used = cartridges.Where(one => one.IsUsed).ToList();
        return new PastRecord(from, to, Of(used), Of(used.Where(one => one.Priority == Model.Priority.Urgent)),
            used.Count, used.Count(one => one.InWindow == false || one.Standing == CartridgeStatus.Discarded));
    }

    private static Spread? Of(IEnumerable<CartridgeTimes> cartridges) => Spread.Of(cartridges
        .Where(one => one is { InWindow: not false, Standing: not CartridgeStatus.Discarded, Clear.End: not null })
        .Select(one => (one.Clear.End!.Value - one.Asked).TotalMinutes).Where(minutes => minutes >= 0));
}
