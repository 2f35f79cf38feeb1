using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// In what a report differs from what the bench believes or a rule allows: when it is told, and again when an account
/// of the batch is revised.
/// </summary>
internal static class Judgement
{
    /// <summary>Deviations that can be judged only when the report arrives; later revisions keep them.</summary>
    private static readonly ImmutableArray<Deviation> OfTheTelling = [Deviation.StatedInTime, Deviation.ClockInDoubt,
        Deviation.TemperatureOutside, Deviation.ControlsNotAccepted, Deviation.TimeNotTaken,
        Deviation.TooQuick, Deviation.NotScanned, Deviation.OtherThanPlanned];

    /// <summary>Whether a deviation is a verdict on time, which is withheld while the clock is in doubt.</summary>
    public static bool RestsOnTime(Deviation deviation) => deviation is Deviation.EarlyRead or Deviation.LateRead
        or Deviation.LateLoad
        or Deviation.LoadedAfterLoadBy or Deviation.ReadBeforeLoad or Deviation.TooQuick;

    /// <summary>The deviations of a step from what is believed before it.</summary>
    /// <param name="state">What is believed before the step.</param>
    /// <param name="happened">The step.</param>
    /// <param name="staysIn">The cartridge believed to stay in a slot at the time, or null.</param>
    /// <param name="cardIn">The card in a reader at the time, or null where it is not known.</param>
    public static ImmutableArray<Deviation> Judge(
        BenchState state, BenchEvent.StoryEvent happened, Func<SlotNumber, Cartridge?> staysIn,
            Func<ReaderNumber, LotCode?> cardIn) => happened switch
            {
                BenchEvent.Mixed mixed when state.Find(mixed.Request) is { } cartridge =>
                    Where((cartridge.Stage is not CartridgeStage.Waiting, Deviation.OutOfOrder)),
                BenchEvent.Loaded loaded when state.Find(loaded.Request) is { } cartridge =>
                    OfLoad(state, cartridge, loaded, staysIn, cardIn),
                BenchEvent.ReadStarted started when state.Find(started.Request) is { } cartridge =>
                    OfRead(state, cartridge, started, cardIn),
                BenchEvent.Cleared cleared when state.Find(cleared.Request) is { } cartridge =>
                    OfClear(cartridge, cleared),
                BenchEvent.CardChanged changed =>
                    Where((state.InReader(changed.Reader) is not null, Deviation.ReaderBelievedTaken)),
                _ => [],
            };

    private static ImmutableArray<Deviation> OfLoad(BenchState state, Cartridge cartridge, BenchEvent.Loaded loaded,
        Func<SlotNumber, Cartridge?> staysIn, Func<ReaderNumber, LotCode?> cardIn)
    {
        var (assay, request) = (cartridge.Wanted.Assay, cartridge.Wanted.Request);
        var reader = (loaded.Place as CartridgePlace.InReader)?.Reader;
        return Where(
            (cartridge.Phase is not CartridgePhase.Mixed, Deviation.OutOfOrder),
            (cartridge.Phase is CartridgePhase.Mixed mixed && loaded.Begun > mixed.MixEnd.Earliest + assay.MixToLoad,
                Deviation.LateLoad),
            (request.LoadBy is { } by && loaded.End.Latest > by, Deviation.LoadedAfterLoadBy),
            (loaded.Place is CartridgePlace.InSlot at && TakenByAnother(staysIn(at.Slot), cartridge),
                Deviation.SlotBelievedTaken),
            (reader is { } inside && TakenByAnother(state.InReader(inside), cartridge), Deviation.ReaderBelievedTaken),
            (reader is { } carded && cardIn(carded) != request.Lot, Deviation.OtherCard),
            (!IsPlaceOf(state, assay, loaded.Place), Deviation.OtherPlace));
    }

    private static ImmutableArray<Deviation> OfRead(BenchState state, Cartridge cartridge,
        BenchEvent.ReadStarted started, Func<ReaderNumber, LotCode?> cardIn)
    {
        var window = state.WindowOf(cartridge, cartridge.Reached);
        return Where(
            (window is null, Deviation.OutOfOrder),
            (window is { } early && started.Start < early.Opens, Deviation.EarlyRead),
            (window is { } late && started.Start > late.Closes, Deviation.LateRead),
            (TakenByAnother(state.InReader(started.Reader), cartridge), Deviation.ReaderBelievedTaken),
            (cardIn(started.Reader) != cartridge.Wanted.Request.Lot, Deviation.OtherCard),
            (started.Reader.Value > state.Setup.Readers, Deviation.OtherPlace),
            (cartridge.Reached is CartridgePhase.Reacting reacting && started.Start < reacting.LoadEnd.Earliest,
                Deviation.ReadBeforeLoad));
    }

    private static ImmutableArray<Deviation> OfClear(Cartridge cartridge, BenchEvent.Cleared cleared)
    {
        var byItself = cartridge.Reached is CartridgePhase.Reacting { Place: CartridgePlace.InReader } inside
            ? inside.LoadEnd.Latest + cartridge.Wanted.Assay.Incubation
            : (Instant?)null;
        var wasInReader = cartridge.Reached is CartridgePhase.Reading or CartridgePhase.Read || byItself is not null;
        return Where(
            (!wasInReader, Deviation.OutOfOrder),
            (byItself is { } start && cleared.End < start, Deviation.EarlyRead));
    }

    /// <summary>How each report of a story is judged now, where that differs from how it was judged before.</summary>
    /// <param name="state">The bench, for its setup and requests.</param>
    /// <param name="story">The reports as they stand now, in the order in which they were told.</param>
    /// <param name="now">The present: a step in progress may have emptied a slot that nobody has reported empty
    /// yet.</param>
    /// <param name="by">Who says now what changes the story.</param>
    /// <param name="answers">Whether that answers a question, and is no report of its own.</param>
    public static ImmutableArray<Verdict> JudgeAgain(BenchState state, ImmutableList<ReportedStep> story, Instant now,
        Provenance by, bool answers)
    {
        var leaves = Leaving(state, story, now);
        var loaded = new Dictionary<RequestId, Instant>();
        var verdicts = ImmutableArray.CreateBuilder<Verdict>();
        var believed = Retelling.Beginning(state);
        var inOrder = Retelling.InOrderOfTime(story).ToImmutableArray();
        for (var at = 0; at < inOrder.Length; at++)
        {
            var (told, position) = (inOrder[at], at);
            var judged = Kept(told,
                Judge(believed, told.Event, slot => StaysThen(slot, told), reader => CardThen(reader, position)));
            if (IsStatedInTime(believed, told, judged, by, answers))
                judged = judged.Add(Deviation.StatedInTime);
            if (!judged.SequenceEqual(told.Deviations))
                verdicts.Add(new Verdict(told.Id, judged));
            believed = ReportChanges.Apply(believed, told.Event.Judged(judged), told.Id);
            if (told.Event is BenchEvent.Loaded load)
                loaded[load.Request] = told.InOrder;
        }

        return verdicts.ToImmutable();

        // The move or discard that empties the slot may have begun by then, although it was reported later or is not
        // reported yet.
        Cartridge? StaysThen(SlotNumber slot, ReportedStep told) =>
            believed.InSlot(slot) is { } inside
                && !leaves[inside.Id].Any(left => left <= told.InOrder && left >= loaded[inside.Id]) ? inside : null;

        // A card seen later was in the reader since its card was last known. Where the card seen is another than the
        // one believed, nobody knows which was in.
        LotCode? CardThen(ReaderNumber reader, int position)
        {
            var known = believed.CardIn(reader);
            if (NextCard(inOrder, reader, position) is not BenchEvent.CardSeen seen)
                return known;
            var before = known ?? believed.DoubtOf(reader)?.Believed;
            return seen.Lot == before ? before : null;
        }
    }

    /// <summary>
    /// Whether a read that was told late, or of which only an answer tells, is in its window by what is said after that
    /// has closed: a word against the clock, however it is said.
    /// </summary>
    private static bool IsStatedInTime(BenchState believed, ReportedStep told, ImmutableArray<Deviation> judged,
        Provenance by, bool answers) => told.Event is BenchEvent.ReadStarted started
        && ((answers && told.Id == by.Id) || told.Deviations.Contains(Deviation.LateRead))
        && !ReportChanges.IsUntimed(judged)
        && !judged.Any(deviation => deviation is Deviation.LateRead or Deviation.EarlyRead or Deviation.OutOfOrder
            or Deviation.StatedInTime)
        && believed.Find(started.Request) is { } cartridge
        && believed.WindowOf(cartridge, cartridge.Reached) is { } window && window.Closes < by.Arrived;

    /// <summary>The next report that says which card is in a reader, after a position in the story; or null.</summary>
    private static BenchEvent? NextCard(ImmutableArray<ReportedStep> inOrder, ReaderNumber reader, int position)
    {
        for (var later = position + 1; later < inOrder.Length; later++)
            if (inOrder[later].Event is BenchEvent.CardSeen or BenchEvent.CardChanged
                && inOrder[later].Place is CartridgePlace.InReader inside && inside.Reader == reader)
                return inOrder[later].Event;
        return null;
    }

    /// <summary>
    /// When hands began to take each cartridge out of its slot: as reported, and as they are at it now.
    /// </summary>
    private static ILookup<RequestId, Instant> Leaving(BenchState state, IEnumerable<ReportedStep> story,
        Instant now) => story
        .Where(told => told.Event is BenchEvent.ReadStarted or BenchEvent.Discarded)
        .Select(told => (Request: told.Subject!.Value, At: told.Step.Begun))
        .Concat(
            state.Cartridges.Select(cartridge =>
                (Request: cartridge.Id, Since: Progress.MovingSince(state, cartridge.Id, now)))
            .Where(moving => moving.Since is not null).Select(moving => (moving.Request, moving.Since!.Value)))
        .ToLookup(left => left.Item1, left => left.Item2);

    private static ImmutableArray<Deviation> Kept(ReportedStep told, ImmutableArray<Deviation> judged)
    {
        // Somebody has said since when it was.
        var timed = told.Claimed is null;
        return WithoutTime([.. judged, .. told.Deviations.Where(deviation => OfTheTelling.Contains(deviation)
            && !(timed && deviation == Deviation.TimeNotTaken))]);
    }

    /// <summary>Without verdicts on time, where nobody knows the time.</summary>
    public static ImmutableArray<Deviation> WithoutTime(ImmutableArray<Deviation> deviations) =>
        ReportChanges.IsUntimed(deviations) ? deviations.RemoveAll(RestsOnTime) : deviations;

    private static bool TakenByAnother(Cartridge? inside, Cartridge cartridge) => inside is not null
        && inside.Id != cartridge.Id;

    private static bool IsPlaceOf(BenchState state, Assay assay, CartridgePlace place) => place switch
    {
        CartridgePlace.InSlot at => at.Slot.Value <= state.Setup.Slots && assay.Place != IncubationPlace.Reader,
        CartridgePlace.InReader inside => inside.Reader.Value <= state.Setup.Readers
            && assay.Place != IncubationPlace.Incubator,
        _ => false,
    };

    private static ImmutableArray<Deviation> Where(params ReadOnlySpan<(bool Holds, Deviation Deviation)> cases)
    {
        var found = ImmutableArray.CreateBuilder<Deviation>();
        foreach (var (holds, deviation) in cases)
            if (holds)
                found.Add(deviation);
        return found.ToImmutable();
    }
}
