using Incubation.Model;
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
    /// <summary>A step longer than so many times its allowed length was interrupted, as step times count it.</summary>
    private const int LongestGap = 3;

    /// <summary>
    /// How steps were interrupted: those longer than three times what their sheet allows, by as much as they were
    /// longer than that. Null where none was.
    /// </summary>
    public InterruptedStepLengths? Interruptions { get; private init; }

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
    /// <param name="cartridges">The cartridges.</param>
    /// <param name="from">The first day.</param>
    /// <param name="to">The last day.</param>
    /// <param name="sheetOf">An assay as its sheet states it; null where that is not known.</param>
    public static PastRecord Of(IReadOnlyCollection<CartridgeTimes> cartridges, LocalDate from, LocalDate to,
        Func<AssayCode, Assay?> sheetOf)
    {
        ArgumentNullException.ThrowIfNull(cartridges);
        ArgumentNullException.ThrowIfNull(sheetOf);
        var used = cartridges.Where(one => one.IsUsed).ToList();
        return new PastRecord(from, to, Of(used), Of(used.Where(one => one.Priority == Priority.Urgent)),
            used.Count, used.Count(one => one.InWindow == false || one.Standing == CartridgeStatus.Discarded))
        { Interruptions = InterruptionsOf(used, sheetOf) };
    }

    private static InterruptedStepLengths? InterruptionsOf(List<CartridgeTimes> used, Func<AssayCode, Assay?> sheetOf)
    {
        var steps = used.Select(one => (Cartridge: one, Sheet: sheetOf(one.Assay))).Where(one => one.Sheet is not null)
            .SelectMany(one => new (Duration? Length, Duration Allowed)[]
            {
                (one.Cartridge.Mix.Length, one.Sheet!.Mix), (one.Cartridge.Load.Length, one.Sheet.Load),
                (one.Cartridge.Move.Length, one.Sheet.Move), (one.Cartridge.Clear.Length, one.Sheet.Clear),
            }).Where(step => step.Length > Duration.Zero).ToList();
        var longer = steps.Where(step => step.Length > step.Allowed * LongestGap)
            .Select(step => step.Length!.Value - step.Allowed).ToList();
        return longer.Count == 0 ? null : new InterruptedStepLengths((double)longer.Count / steps.Count, longer);
    }

    private static Spread? Of(IEnumerable<CartridgeTimes> cartridges) => Spread.Of(cartridges
        .Where(one => one is { InWindow: not false, Standing: not CartridgeStatus.Discarded, Clear.End: not null })
        .Select(one => (one.Clear.End!.Value - one.Asked).TotalMinutes).Where(minutes => minutes >= 0));
}
