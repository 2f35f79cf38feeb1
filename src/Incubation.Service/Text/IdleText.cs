using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>What the card says when no step is offered.</summary>
public static class IdleText
{
    /// <summary>The card's words, or null while a step is offered.</summary>
    public static IdleSnapshot? Write(BenchMoment view, DateTimeZone zone)
    {
        var (state, look) = view;
        if (!look.Offers.IsEmpty)
            return null;
        var batchPage = $"batch/{Uri.EscapeDataString(state.Id.Value)}";
        if (state.Run.Trouble is { Works: false } && !IsFinished(state))
            return new IdleSnapshot(TextWords.IdleCannotPlan, TextWords.IdleCannotPlanText, batchPage,
                TextWords.OpenBatchPage);
        if (state.Phase == BatchPhase.Preparing)
            return BeforeStart(view, batchPage);
        if (IsFinished(state))
            return AfterEnd(look, Waiting(state), batchPage);
        // What keeps the rest back is perhaps only that nobody has typed what the reader shows.
        if (KeptBack(view) is not null && look.Totals.ResultsMissing is > 0 and var missing)
            return new IdleSnapshot(Say.Counted(missing, TextWords.IdleResultsOne, TextWords.IdleResultsMany),
                TextWords.IdleResultsFirstText, batchPage, TextWords.OpenBatchPage);
        if (KeptBack(view) is { } gated)
            return new IdleSnapshot(
                ResourceText.Gate(state, gated.Lot), gated.Gate == LotGate.Failed
                    ? TextWords.IdleFailedText : TextWords.IdleAwaitingText, batchPage, TextWords.OpenBatchPage);
        var next = look.Upcoming.IsEmpty ? null : look.Upcoming[0].Step;
        if (!look.Questions.IsEmpty && (next is null || next.Start <= look.At))
            return new IdleSnapshot(TextWords.IdleAsk,
                Say.Of(TextWords.IdleAskText, QuestionText.Write(state, look.Questions[0], zone).Title), null, null);
        if (next is not null)
        {
            var title = StepText.Title(state, next.Action);
            return new IdleSnapshot(TextWords.IdleWait, next.Start > look.At
                ? Say.Of(TextWords.IdleWaitText, title, Say.Clock(next.Start, zone))
                : Say.Of(TextWords.IdleNextText, title), null, null);
        }

        if (OutOfUse(state, look.At) is { } cause)
            return Standing(view, Say.Of(TextWords.IdleStands, cause), TextWords.IdleBack, zone);
        if (look.NotPlanned.Count(left => left.Cause == NotPlannedCause.SetAside) is > 0 and var aside)
            return new IdleSnapshot(TextWords.IdleStuck,
                Say.Counted(aside, TextWords.IdleSetAsideOne, TextWords.IdleSetAsideMany), batchPage,
                TextWords.OpenBatchPage);
        return state.Adopted is { Plan.Unplaced.Count: > 0 and var left }
            ? new IdleSnapshot(TextWords.IdleStuck,
                Say.Counted(left, TextWords.IdleStuckTextOne, TextWords.IdleStuckTextMany), batchPage,
                TextWords.OpenBatchPage)
            : Standing(view, TextWords.IdleStandsPlain, null, zone);
    }

    /// <summary>What keeps everything from going on: "the reader is out of use"; null where nothing does.</summary>
    private static string? OutOfUse(BenchState state, Instant at)
    {
        bool AreAllOut(IEnumerable<BenchResource> all) => all.All(one =>
            state.OutOfUse.Any(entry => entry.From <= at && at < entry.To
                && (entry.Resource == one
                    || (one is BenchResource.Slot && entry.Resource is BenchResource.Incubator))));
        if (AreAllOut(state.Readers.Select(number => new BenchResource.Reader(number))))
            return state.Setup.Readers == 1 ? TextWords.LossReaderOutOfUse : TextWords.NotPlannedNoReader;
        if (AreAllOut(state.Hands.Select(number => new BenchResource.Hands(number))))
            return TextWords.NotPlannedNoHands;
        return state.Setup.Slots > 0 && AreAllOut(state.Slots.Select(number => new BenchResource.Slot(number)))
            ? TextWords.NotPlannedNoSlot : null;
    }

    /// <summary>What stands still, until when that loses nothing, and what can be done.</summary>
    private static IdleSnapshot Standing(BenchMoment view, string title, string? todo, DateTimeZone zone)
    {
        var (state, look) = view;
        var inWork = state.Cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.InWork);
        var waiting = state.Cartridges.Count(cartridge => cartridge.Stage is CartridgeStage.Waiting);
        var first = look.Slots.Where(slot => slot.Window?.Closes > look.At).MinBy(slot => slot.Window!.Value.Closes);
        var sentences = new[]
        {
            inWork > 0 ? Say.Counted(inWork, TextWords.IdleInWorkOne, TextWords.IdleInWorkMany) : null,
            first is { Window: { } window }
                ? Say.Of(TextWords.IdleFirstClose, Say.Clock(window.Closes, zone),
                    StepText.PlaceName(new CartridgePlace.InSlot(first.Slot), state.Setup))
                : null,
            waiting > 0 ? Say.Counted(waiting, TextWords.IdleWaitingOne, TextWords.IdleWaitingMany) : null,
            todo,
        };
        return new IdleSnapshot(title, string.Join(" ", sentences.OfType<string>()),
            $"batch/{Uri.EscapeDataString(state.Id.Value)}", TextWords.OpenBatchPage);
    }

    /// <summary>Whether a running batch has nothing left to do but results and closing.</summary>
    public static bool IsFinished(BenchState state) =>
        state.Phase == BatchPhase.Running && state.Cartridges.All(cartridge => cartridge.IsOver);

    /// <summary>The kit lot whose controls keep back what would come next for a pair of hands, or null.</summary>
    private static GatedLot? KeptBack(BenchMoment view)
    {
        var (state, look) = view;
        IEnumerable<RequestId> next = look.Upcoming.IsEmpty
            ? look.NotPlanned.Where(left => left.Cause is NotPlannedCause.ControlsAwaited
                or NotPlannedCause.ControlsFailed)
                .Select(left => left.Request)
            : Enumerable.Range(1, state.Setup.Hands)
                .Select(number => state.Adopted?.NextOf(new HandsNumber(number))?.Step.Action)
                .OfType<StepAction.Mix>().Select(mix => mix.Request);
        return next.Select(request => state.Find(request)?.Wanted.Request)
            .Where(wanted => wanted?.Kind is not (null or RequestKind.Control))
            .Select(wanted => state.GateOf(wanted!.Lot))
            .FirstOrDefault(gate => gate is { Gate: LotGate.AwaitingControls or LotGate.Failed });
    }

    private static IdleSnapshot BeforeStart(BenchMoment view, string batchPage)
    {
        if (view.View.Totals.Total == 0)
            return new IdleSnapshot(TextWords.IdleEmpty, TextWords.IdleEmptyText, batchPage, TextWords.OpenBatchPage);
        var missing = Readiness.List(view.State, view.View.At).Where(item => item.From is null)
            .Select(item => ReadinessText.What(view.State, item.Key)).ToList();
        if (missing.Count > 0)
            return new IdleSnapshot(TextWords.IdleNotReady,
                Say.Of(TextWords.IdleNotReadyText, string.Join("; ", missing)), batchPage, TextWords.OpenBatchPage,
                Blocked: true);
        var count = Say.Counted(view.View.Totals.Total, TextWords.IdleReadyTextOne, TextWords.IdleReadyTextMany);
        var length = view.State.Adopted is { } adopted
            ? Say.Counted((int)Math.Ceiling(adopted.Plan.Finish.TotalMinutes), TextWords.IdleReadyLengthOne,
                TextWords.IdleReadyLengthMany)
            : null;
        return new IdleSnapshot(TextWords.IdleReady, length is null
            ? count : count + " " + length, batchPage, TextWords.OpenBatchPage);
    }

    /// <summary>How many results are entered, and wait for a person.</summary>
    private static int Waiting(BenchState state) =>
        state.Cartridges.Count(cartridge => cartridge is { Result: not null, IsHeld: true });

    private static IdleSnapshot AfterEnd(BenchView look, int held, string batchPage) =>
        look.Totals.ResultsMissing is > 0 and var missing
        ? new IdleSnapshot(Say.Counted(missing, TextWords.IdleResultsOne, TextWords.IdleResultsMany),
            TextWords.IdleResultsText, batchPage, TextWords.OpenBatchPage)
        : look.Totals.Open is > 0 and var open
        ? new IdleSnapshot(Say.Counted(open, TextWords.IdleOpenOne, TextWords.IdleOpenMany), TextWords.IdleOpenText,
            batchPage + "#close-batch", TextWords.IdleOpenLink)
        : held > 0
        ? new IdleSnapshot(TextWords.IdleFinished, Say.Counted(held, TextWords.IdleHeldTextOne,
            TextWords.IdleHeldTextMany), batchPage, TextWords.OpenBatchPage)
        : new IdleSnapshot(TextWords.IdleFinished, look.Totals is { CarriedOver: 0, GivenUp: 0 }
            ? TextWords.IdleFinishedText : TextWords.IdleSettledText, batchPage, TextWords.OpenBatchPage);
}
