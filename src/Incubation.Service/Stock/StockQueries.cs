using Incubation.Bench;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Stock;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Stock;

/// <summary>What the stock holds, and what it says about a batch. Changes nothing.</summary>
public sealed class StockQueries(ClinicHost clinic, BenchRegistry benches, DataFile file, BenchClock clock,
    StockSettings settings)
{
    private readonly CartridgeUse use = new(file);

    private StockState State => clinic.Log.Stock;

    private LocalDate Today => clock.Now.InZone(clinic.Facts.Zone).Date;

    /// <summary>One page of the lots asked for.</summary>
    public StockPage Page(StockQuery query)
    {
        ArgumentNullException.ThrowIfNull(query);
        var today = Today;
        var found = State.Items.Values.Where(item => IsAskedFor(item, query, today)).ToList();
        var ordered = Ordered(found, query);
        var page = Math.Clamp(query.Page, 0, Math.Max(0, (found.Count - 1) / StockQuery.PageLines));
        return new StockPage([.. ordered.Skip(page * StockQuery.PageLines).Take(StockQuery.PageLines)
            .Select(item => Line(item, today))], found.Count, page);
    }

    /// <summary>A lot that expires within so many days is marked, and does not count as there.</summary>
    public int ExpiryWarningDays => settings.ExpiryWarningDays;

    /// <summary>What has a number below which it is ordered, and what is left of it.</summary>
    public IReadOnlyList<ReorderLine> ToReorder() =>
        Reorder.Of(State, LeftOf, Today, settings.ExpiryWarningDays);

    /// <summary>A lot as it stands in the list today.</summary>
    public StockLine LineOf(StockItem item)
    {
        ArgumentNullException.ThrowIfNull(item);
        return Line(item, Today);
    }

    /// <summary>How many of a lot are left by the count; null where that is not counted.</summary>
    public int? LeftOf(StockItem item)
    {
        ArgumentNullException.ThrowIfNull(item);
        return item is { IsUsedUp: true, Counted: { } counted }
            ? counted - use.Of(item.Lot, item.CountedAt) : item.Counted;
    }

    /// <summary>
    /// How many of a lot are left beside those that wait for it on the benches; null where that is not counted.
    /// </summary>
    public int? FreeOf(StockItem item) =>
        LeftOf(item) is { } left ? Math.Max(0, left - WaitingFor(item.Lot).Count) : null;

    /// <summary>The lots that may be used for an assay today, the one that expires first first.</summary>
    public IReadOnlyList<LotChoice> ChoicesFor(AssayCode assay) =>
        [.. State.Usable(assay, Today).Select(kit => new LotChoice(kit.Lot, TextOf(kit)))];

    /// <summary>
    /// Why no lot may be used for an assay today: a sentence for each that is there, or that none is.
    /// </summary>
    public IReadOnlyList<string> StopsFor(AssayCode assay)
    {
        var stops = State.Items.Values.Where(item => item.Kind == StockKind.Kit && item.Assay == assay
            && item.FinishedAt is null)
            .OrderBy(item => item.Expiry)
            .Select(item => StockStop.Of(State, item.Lot, assay, Today)).OfType<StockStop>()
            .Select(StockText.Of).ToList();
        return stops.Count > 0 ? stops : [Say.Of(StockWords.NoneIn, assay)];
    }

    /// <summary>
    /// Which lots of an assay are left out where one is chosen, and why, in few words: the last to expire; null where
    /// none is.
    /// </summary>
    public string? NotOffered(AssayCode assay)
    {
        const int AtMost = 3;
        var left = State.Items.Values.Where(item => item.Kind == StockKind.Kit && item.Assay == assay
            && item.FinishedAt is null)
            .Select(item => (item, Stop: StockStop.Of(State, item.Lot, assay, Today)))
            .Where(one => one.Stop is not null)
            .OrderByDescending(one => one.item.Expiry).Take(AtMost)
            .Select(one => StockText.Short(one.item.Lot, one.Stop!)).ToList();
        return left.Count == 0 ? null : Say.Of(StockWords.NotOffered, string.Join("; ", left));
    }

    /// <summary>What is to be known about the lots that a bench's waiting requests name.</summary>
    public IReadOnlyList<string> NotesOn(BenchState bench)
    {
        ArgumentNullException.ThrowIfNull(bench);
        return
        [
            .. bench.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting)
                .Select(cartridge => cartridge.Wanted.Request).DistinctBy(request => request.Lot)
                .OrderBy(request => request.Lot.Value, StringComparer.Ordinal)
                .SelectMany(request => NotesOn(request.Lot, request.Assay)),
        ];
    }

    /// <summary>Requests on all benches that wait for a lot: not mixed yet.</summary>
    public IReadOnlyList<(BenchRunner Runner, Cartridge Cartridge)> WaitingFor(LotCode lot) =>
    [
        .. benches.All.SelectMany(runner => runner.Present.State.Cartridges
            .Where(cartridge => cartridge.Stage is CartridgeStage.Waiting && cartridge.Wanted.Request.Lot == lot)
            .Select(cartridge => (runner, cartridge))),
    ];

    private IEnumerable<string> NotesOn(LotCode lot, AssayCode assay)
    {
        if (StockStop.Of(State, lot, assay, Today) is { } stop)
        {
            yield return StockText.Of(stop);
            yield break;
        }

        var lastDay = State.LastDayOf(lot);
        if (IsSoon(lastDay, Today))
            yield return Say.Of(StockWords.NoteExpires, lot, Say.Day(lastDay), InDays(lastDay, Today));
        var waiting = WaitingFor(lot).Count;
        foreach (var item in new[] { State.Find(StockKind.Kit, lot),
            State.Find(StockKind.Buffer, lot) }.OfType<StockItem>())
            if (LeftOf(item) is { } left && left < waiting)
                yield return Say.Of(waiting == 1 ? StockWords.NoteLowOne : StockWords.NoteLow,
                    StockText.Of(item.Kind), lot, Math.Max(0, left), waiting);
    }

    private StockLine Line(StockItem item, LocalDate today)
    {
        var stop = item.Kind == StockKind.Kit && item.Assay is { } assay
            ? StockStop.Of(State, item.Lot, assay, today)
            : null;
        var standing = item.FinishedAt is not null ? StockWords.StandingFinished
            : item.Quarantine is { } shut ? Say.Of(StockWords.StandingQuarantined, shut.Why)
            : today > item.Expiry ? StockWords.StandingExpired
            : stop is not null ? StockText.Of(stop)
            : IsSoon(item.Expiry, today) ? Say.Of(StockWords.StandingSoon, InDays(item.Expiry, today))
            : item.OpenedAt is not null ? StockWords.StandingOpened
            : StockWords.StandingGood;
        return new StockLine(item, LeftOf(item), standing, item.FinishedAt is not null || item.Quarantine is not null
            || today > item.Expiry || stop is not null);
    }

    private string TextOf(StockItem kit)
    {
        var lastDay = State.LastDayOf(kit.Lot);
        var until = Say.Of(StockWords.ChoiceUntil, kit.Lot, Say.Day(lastDay));
        if (LeftOf(kit) is not { } left)
            return until;
        return Say.Dotted(until, WaitingFor(kit.Lot).Count > 0
            ? Say.Of(StockWords.ChoiceFree, Math.Max(0, left), FreeOf(kit))
            : Say.Of(StockWords.ChoiceLeft, Math.Max(0, left)));
    }

    private bool IsSoon(LocalDate lastDay, LocalDate today) =>
        Period.DaysBetween(today, lastDay) <= settings.ExpiryWarningDays;

    private static string InDays(LocalDate lastDay, LocalDate today) => Period.DaysBetween(today, lastDay) switch
    {
        0 => StockWords.DaysToday,
        1 => StockWords.DaysTomorrow,
        var days => Say.Of(StockWords.DaysMany, days),
    };

    private static bool IsAskedFor(StockItem item, StockQuery query, LocalDate today)
    {
        bool Holds(string? text) => text?.Contains(query.Text.Trim(), StringComparison.OrdinalIgnoreCase) == true;
        return (query.Kind is null || item.Kind == query.Kind)
            && (Holds(item.Lot.Value) || Holds(item.Assay?.Value) || Holds(item.Item?.Value))
            && query.Shown switch
            {
                StockShown.There => item.FinishedAt is null,
                StockShown.Usable => item.FinishedAt is null && item.Quarantine is null && today <= item.Expiry,
                StockShown.Quarantined => item.Quarantine is not null && item.FinishedAt is null,
                StockShown.Expired => today > item.Expiry,
                StockShown.Finished => item.FinishedAt is not null,
                _ => true,
            };
    }

    private static IEnumerable<StockItem> Ordered(List<StockItem> found, StockQuery query)
    {
        var byLot = found.OrderBy(item => item.Lot.Value, StringComparer.OrdinalIgnoreCase).ThenBy(item => item.Kind)
            .ToList();
        var ordered = query.Order switch
        {
            StockOrder.Lot => byLot,
            StockOrder.Kind => byLot.OrderBy(item => item.Kind)
                .ThenBy(item => item.Assay?.Value ?? "", StringComparer.OrdinalIgnoreCase),
            StockOrder.Assay => byLot.OrderBy(item => item.Assay?.Value ?? "", StringComparer.OrdinalIgnoreCase),
            StockOrder.Received => byLot.OrderBy(item => item.Shipments[^1].At),
            _ => (IEnumerable<StockItem>)byLot.OrderBy(item => item.Expiry),
        };
        return query.IsDown ? ordered.Reverse() : ordered;
    }
}
