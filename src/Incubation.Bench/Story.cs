using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A report about a step as it stands now: as it was first told, or as corrected since. The log keeps both.</summary>
/// <param name="Id">The report.</param>
/// <param name="At">When it happened: as told, or as corrected.</param>
/// <param name="Device">Through what it was told.</param>
/// <param name="Event">What happened, with its deviations as judged last.</param>
public sealed record Told(ReportId Id, Instant At, DeviceId Device, BenchEvent Event)
{
    /// <summary>The cartridge that it is about, or null.</summary>
    public RequestId? Subject => StoryEvents.SubjectOf(Event);

    /// <summary>Where the cartridge was put or taken from, or whose card was changed; null where the step names no place.</summary>
    public CartridgePlace? Place => StoryEvents.PlaceOf(Event);

    /// <summary>In what it differs, as judged last.</summary>
    public ImmutableArray<Deviation> Deviations => StoryEvents.DeviationsOf(Event);
}

/// <summary>What was believed when the batch's story began.</summary>
public sealed record StoryStart(
    ImmutableSortedDictionary<int, LotCode> Cards,
    ImmutableSortedDictionary<int, Instant> LastReport,
    ImmutableSortedDictionary<int, CardDoubt> CardDoubts)
{
    /// <summary>Nothing known yet.</summary>
    public static StoryStart Nothing { get; } = new(ImmutableSortedDictionary<int, LotCode>.Empty, ImmutableSortedDictionary<int, Instant>.Empty, ImmutableSortedDictionary<int, CardDoubt>.Empty);
}

/// <summary>What a correction changes of an earlier report; null leaves it as it was.</summary>
/// <param name="Report">The earlier report.</param>
/// <param name="At">When it really happened.</param>
/// <param name="Place">In which slot or reader.</param>
/// <param name="Lot">Which card.</param>
public sealed record Correction(ReportId Report, Instant? At, CartridgePlace? Place, LotCode? Lot);

/// <summary>How a report is judged now.</summary>
public sealed record Verdict(ReportId Report, ImmutableArray<Deviation> Deviations);

/// <summary>The steps' events by their common parts.</summary>
internal static class StoryEvents
{
    /// <summary>Whether an event tells of a step or a card, and so belongs to the story.</summary>
    public static bool BelongsTo(BenchEvent happened) => happened is BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted
        or BenchEvent.Cleared or BenchEvent.CardChanged or BenchEvent.Discarded or BenchEvent.CardSeen or BenchEvent.CardDoubted;

    /// <summary>Whether a person told it, and may correct it or take it back.</summary>
    public static bool IsReport(BenchEvent happened) => happened is not BenchEvent.CardDoubted;

    public static RequestId? SubjectOf(BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed mixed => mixed.Request,
        BenchEvent.Loaded loaded => loaded.Request,
        BenchEvent.ReadStarted started => started.Request,
        BenchEvent.Cleared cleared => cleared.Request,
        BenchEvent.Discarded discarded => discarded.Request,
        _ => null,
    };

    public static ImmutableArray<Deviation> DeviationsOf(BenchEvent happened) => happened switch
    {
        BenchEvent.Mixed mixed => mixed.Deviations,
        BenchEvent.Loaded loaded => loaded.Deviations,
        BenchEvent.ReadStarted started => started.Deviations,
        BenchEvent.Cleared cleared => cleared.Deviations,
        BenchEvent.CardChanged changed => changed.Deviations,
        _ => [],
    };

    public static BenchEvent With(BenchEvent happened, ImmutableArray<Deviation> deviations) => happened switch
    {
        BenchEvent.Mixed mixed => mixed with { Deviations = deviations },
        BenchEvent.Loaded loaded => loaded with { Deviations = deviations },
        BenchEvent.ReadStarted started => started with { Deviations = deviations },
        BenchEvent.Cleared cleared => cleared with { Deviations = deviations },
        BenchEvent.CardChanged changed => changed with { Deviations = deviations },
        _ => happened,
    };

    /// <summary>Where the cartridge was put or taken from, or whose card was changed; null where the event names no place.</summary>
    public static CartridgePlace? PlaceOf(BenchEvent happened) => happened switch
    {
        BenchEvent.Loaded loaded => loaded.Place,
        BenchEvent.ReadStarted started => new CartridgePlace.InReader(started.Reader),
        BenchEvent.Cleared cleared => new CartridgePlace.InReader(cleared.Reader),
        BenchEvent.CardChanged changed => new CartridgePlace.InReader(changed.Reader),
        BenchEvent.CardSeen seen => new CartridgePlace.InReader(seen.Reader),
        BenchEvent.CardDoubted doubted => new CartridgePlace.InReader(doubted.Reader),
        _ => null,
    };

    /// <summary>When the hands began.</summary>
    public static Instant BegunOf(BenchEvent step) => step switch
    {
        BenchEvent.Mixed mixed => mixed.Begun,
        BenchEvent.Loaded loaded => loaded.Begun,
        BenchEvent.ReadStarted started => started.Begun,
        BenchEvent.Cleared cleared => cleared.Begun,
        BenchEvent.CardChanged changed => changed.Begun,
        BenchEvent.Discarded discarded => discarded.Begun,
        _ => throw new InvalidOperationException($"The event {step.GetType().Name} tells of no step."),
    };

    /// <summary>Whose hands.</summary>
    public static HandsNumber HandsOf(BenchEvent step) => step switch
    {
        BenchEvent.Mixed mixed => mixed.Hands,
        BenchEvent.Loaded loaded => loaded.Hands,
        BenchEvent.ReadStarted started => started.Hands,
        BenchEvent.Cleared cleared => cleared.Hands,
        BenchEvent.CardChanged changed => changed.Hands,
        BenchEvent.Discarded discarded => discarded.Hands,
        _ => throw new InvalidOperationException($"The event {step.GetType().Name} tells of no step."),
    };

    /// <summary>The same step as corrected. A place of the wrong kind for the step changes nothing.</summary>
    public static BenchEvent Corrected(BenchEvent happened, Correction correction)
    {
        var at = correction.At;
        var reader = (correction.Place as CartridgePlace.InReader)?.Reader;
        return happened switch
        {
            BenchEvent.Mixed mixed when at is { } end => mixed with { Begun = Instant.Min(mixed.Begun, Around(end).Earliest), End = Around(end) },
            BenchEvent.Loaded loaded => loaded with
            {
                Place = correction.Place ?? loaded.Place,
                Begun = at is { } end ? Instant.Min(loaded.Begun, Around(end).Earliest) : loaded.Begun,
                End = at is { } stated ? Around(stated) : loaded.End,
            },
            BenchEvent.ReadStarted started => started with { Reader = reader ?? started.Reader, Begun = Earlier(started.Begun, at), Start = at ?? started.Start },
            BenchEvent.Cleared cleared => cleared with { Reader = reader ?? cleared.Reader, Begun = Earlier(cleared.Begun, at), End = at ?? cleared.End },
            BenchEvent.CardChanged changed => changed with
            {
                Reader = reader ?? changed.Reader,
                Lot = correction.Lot ?? changed.Lot,
                Begun = Earlier(changed.Begun, at),
                End = at ?? changed.End,
            },
            BenchEvent.CardSeen seen => seen with { Reader = reader ?? seen.Reader, Lot = correction.Lot ?? seen.Lot },
            BenchEvent.Discarded discarded => discarded with { Begun = Earlier(discarded.Begun, at), End = at ?? discarded.End },
            _ => happened,
        };
    }

    private static Instant Earlier(Instant begun, Instant? at) => at is { } end ? Instant.Min(begun, end) : begun;

    private static InstantRange Around(Instant stated) => new(stated - Reporting.StatedWithin, stated + Reporting.StatedWithin);
}
