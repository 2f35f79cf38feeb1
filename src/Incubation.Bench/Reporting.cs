using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What a bench makes of reports: facts are recorded, in whatever they differ from what was believed.</summary>
internal static class Reporting
{
    /// <summary>A time that a person states is trusted to so much on either side.</summary>
    public static readonly Duration StatedWithin = Duration.FromSeconds(5);

    public static Decision Decide(BenchState state, BenchCommand.Report report, Touch touch) => report switch
    {
        BenchCommand.Mixed mixed => Of(state, mixed.Request, c => Mixed(state, c, mixed, touch)),
        BenchCommand.Loaded loaded => Of(state, loaded.Request, c => Loaded(state, c, loaded, touch)),
        BenchCommand.ReadStarted started => Of(state, started.Request, c => ReadStarted(state, c, started, touch)),
        BenchCommand.Cleared cleared => Of(state, cleared.Request, c => Cleared(state, c, cleared, touch)),
        BenchCommand.CardChanged changed => CardChanged(state, changed, touch),
        BenchCommand.Discarded discarded => Of(state, discarded.Request, c => Discarded(state, c, discarded, touch)),
        BenchCommand.ResultEntered result => Of(state, result.Request, c => new BenchEvent.ResultEntered(c.Id, result.Result, !c.Deviations.IsEmpty)),
        BenchCommand.NotBegun notBegun => notBegun.Hands.Value <= state.Setup.Hands
            ? Deciding.Accept(new BenchEvent.StepNotBegun(notBegun.Hands, touch.At))
            : Deciding.Refuse(Refusal.UnknownHands, notBegun.Hands.ToString()),
        _ => throw new InvalidOperationException($"The report {report.GetType().Name} is not known."),
    };

    private static Decision Of(BenchState state, RequestId request, Func<Cartridge, BenchEvent> say) =>
        state.Find(request) is { } cartridge
            ? Deciding.Accept(say(cartridge))
            : Deciding.Refuse(Refusal.UnknownRequest, request.Value);

    private static BenchEvent.Mixed Mixed(BenchState state, Cartridge cartridge, BenchCommand.Mixed mixed, Touch touch)
    {
        var (hands, begun) = Doing(state, new StepAction.Mix(cartridge.Id), touch.At);
        var end = mixed.TimeStated ? Stated(touch) : Between(begun + cartridge.Wanted.Assay.MixShortest, touch.At);
        return new BenchEvent.Mixed(cartridge.Id, hands, Instant.Min(begun, end.Earliest), end, Where(
            (cartridge.Stage is not CartridgeStage.Waiting, Deviation.OutOfOrder)));
    }

    private static BenchEvent.Loaded Loaded(BenchState state, Cartridge cartridge, BenchCommand.Loaded loaded, Touch touch)
    {
        var (hands, begun) = Doing(state, new StepAction.Load(cartridge.Id, loaded.Place), touch.At);
        var (assay, request) = (cartridge.Wanted.Assay, cartridge.Wanted.Request);
        var end = loaded.TimeStated
            ? Stated(touch)
            : Between(begun + assay.LoadShortest, touch.At);
        var reader = (loaded.Place as CartridgePlace.InReader)?.Reader;
        return new BenchEvent.Loaded(cartridge.Id, hands, loaded.Place, Instant.Min(begun, end.Earliest), end, Where(
            (cartridge.Phase is not CartridgePhase.Mixed, Deviation.OutOfOrder),
            (cartridge.Phase is CartridgePhase.Mixed mixed && Instant.Min(begun, end.Earliest) > mixed.MixEnd.Earliest + assay.MixToLoad, Deviation.LateLoad),
            (request.LoadBy is { } by && end.Latest > by, Deviation.LoadedAfterLoadBy),
            (loaded.Place is CartridgePlace.InSlot at && TakenByAnother(Progress.Staying(state, at.Slot, touch.At), cartridge), Deviation.SlotBelievedTaken),
            (reader is { } inside && TakenByAnother(state.InReader(inside), cartridge), Deviation.ReaderBelievedTaken),
            (reader is { } carded && IsOtherCard(state, carded, cartridge), Deviation.OtherCard),
            (!IsPlaceOf(state, assay, loaded.Place), Deviation.OtherPlace)));
    }

    private static BenchEvent.ReadStarted ReadStarted(BenchState state, Cartridge cartridge, BenchCommand.ReadStarted started, Touch touch)
    {
        var (hands, begun) = Doing(state, new StepAction.Move(cartridge.Id, started.Reader), touch.At);
        var window = state.WindowOf(cartridge);
        return new BenchEvent.ReadStarted(cartridge.Id, hands, started.Reader, begun, touch.At, Where(
            (window is null, Deviation.OutOfOrder),
            (window is { } early && touch.At < early.Opens, Deviation.EarlyRead),
            (window is { } late && touch.At > late.Closes, Deviation.LateRead),
            (started.StatedInTime, Deviation.StatedInTime),
            (TakenByAnother(state.InReader(started.Reader), cartridge), Deviation.ReaderBelievedTaken),
            (IsOtherCard(state, started.Reader, cartridge), Deviation.OtherCard),
            (started.Reader.Value > state.Setup.Readers, Deviation.OtherPlace)));
    }

    private static BenchEvent.Cleared Cleared(BenchState state, Cartridge cartridge, BenchCommand.Cleared cleared, Touch touch)
    {
        var (hands, begun) = Doing(state, new StepAction.Clear(cartridge.Id, cleared.Reader), touch.At);
        var byItself = cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InReader } inside
            ? inside.LoadEnd.Latest + cartridge.Wanted.Assay.Incubation
            : (Instant?)null;
        var wasInReader = cartridge.Phase is CartridgePhase.Reading or CartridgePhase.Read || byItself is not null;
        return new BenchEvent.Cleared(cartridge.Id, hands, cleared.Reader, begun, touch.At, byItself, Where(
            (!wasInReader, Deviation.OutOfOrder),
            (byItself is { } start && touch.At < start, Deviation.EarlyRead)));
    }

    private static Decision CardChanged(BenchState state, BenchCommand.CardChanged changed, Touch touch)
    {
        if (changed.Reader.Value > state.Setup.Readers)
            return Deciding.Refuse(Refusal.UnknownRequest, changed.Reader.ToString());
        var (hands, begun) = Doing(state, new StepAction.CardChange(changed.Reader, changed.Lot), touch.At);
        return Deciding.Accept(new BenchEvent.CardChanged(changed.Reader, changed.Lot, hands, begun, touch.At, Where(
            (state.InReader(changed.Reader) is not null, Deviation.ReaderBelievedTaken))));
    }

    private static BenchEvent.Discarded Discarded(BenchState state, Cartridge cartridge, BenchCommand.Discarded discarded, Touch touch)
    {
        var (hands, begun) = Doing(state, new StepAction.Discard(cartridge.Id), touch.At);
        return new BenchEvent.Discarded(cartridge.Id, hands, begun, touch.At, discarded.Reason, discarded.InWords);
    }

    /// <summary>
    /// Whose hands did this, and since when: those of the adopted plan's row, from when it counts as begun. A step that
    /// was not planned counts as begun by the first pair of hands its allowed time ago, or at their previous report.
    /// </summary>
    private static (HandsNumber Hands, Instant Begun) Doing(BenchState state, StepAction action, Instant at)
    {
        if (state.Adopted?.RowOf(action) is { Step.Hands: { } planned } row)
            return (planned, Instant.Min(Progress.BegunAt(state, row), at));
        var hands = new HandsNumber(1);
        var begun = at - Progress.Allowed(state, action);
        return state.LastReport.TryGetValue(hands.Value, out var last) && last > begun
            ? (hands, Instant.Min(last, at))
            : (hands, begun);
    }

    private static InstantRange Stated(Touch touch) => new(touch.At - StatedWithin, Instant.Min(touch.At + StatedWithin, touch.Arrived));

    private static InstantRange Between(Instant earliest, Instant latest) => new(Instant.Min(earliest, latest), latest);

    private static bool TakenByAnother(Cartridge? inside, Cartridge cartridge) => inside is not null && inside.Id != cartridge.Id;

    private static bool IsOtherCard(BenchState state, ReaderNumber reader, Cartridge cartridge) =>
        !state.Cards.TryGetValue(reader.Value, out var card) || card != cartridge.Wanted.Request.Lot;

    private static bool IsPlaceOf(BenchState state, Assay assay, CartridgePlace place) => place switch
    {
        CartridgePlace.InSlot at => at.Slot.Value <= state.Setup.Slots && assay.Place != IncubationPlace.Reader,
        CartridgePlace.InReader inside => inside.Reader.Value <= state.Setup.Readers && assay.Place != IncubationPlace.Incubator,
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
