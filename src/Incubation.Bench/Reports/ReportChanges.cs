using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// How each report of a step or a card changes what is believed: when it is told, and again when the story is told
/// anew.
/// </summary>
internal static class ReportChanges
{
    /// <summary>The state after a report of a step or a card.</summary>
    public static BenchState Apply(BenchState state, BenchEvent.StoryEvent step, ReportId report) => step switch
    {
        BenchEvent.Mixed mixed => Mixed(state, mixed),
        BenchEvent.Loaded loaded => Loaded(state, loaded, report),
        BenchEvent.ReadStarted started => ReadStarted(state, started, report),
        BenchEvent.Cleared cleared => Cleared(state, cleared),
        BenchEvent.CardChanged changed => CardChanged(state, changed),
        BenchEvent.CardSeen seen => Known(state, seen.Reader, seen.Lot),
        BenchEvent.CardDoubted doubted => state.InCheckpoint(bench => bench.With(new CardStatus(
            doubted.Reader, null, bench.DoubtOf(doubted.Reader)
                ?? new CardDoubt(bench.CardIn(doubted.Reader), doubted.Cause)))),
        BenchEvent.Discarded discarded => Discarded(state, discarded),
        _ => throw new InvalidOperationException($"The event {step.GetType().Name} tells of no step."),
    };

    /// <summary>Hands have reported.</summary>
    public static BenchState ReportedBy(BenchState state, HandsNumber hands, Instant at) =>
        UnknownSteps.Heard(state, hands, at).InCheckpoint(bench => bench.Reported(hands, at));

    private static BenchState Mixed(BenchState state, BenchEvent.Mixed mixed)
    {
        var next = Noted(state, mixed.Request, mixed.Deviations, cartridge => cartridge.Stage is CartridgeStage.Waiting
            ? cartridge with { Stage = new CartridgeStage.InWork(new CartridgePhase.Mixed(mixed.End)) }
            : cartridge);
        return DoneBy(next, new StepAction.Mix(mixed.Request), mixed.Hands, mixed.Begun, mixed.End.Latest);
    }

    private static BenchState Loaded(BenchState state, BenchEvent.Loaded loaded, ReportId report)
    {
        var phase = new CartridgePhase.Reacting(loaded.End, loaded.Place);
        var next = Noted(Displaced(state, loaded.Request, loaded.Place, loaded.Deviations, report, loaded.End.Latest),
            loaded.Request, loaded.Deviations,
            cartridge => cartridge.IsOver ? cartridge : cartridge with { Stage = new CartridgeStage.InWork(phase) });
        // A discard of this cartridge, planned or not known, falls away: its load was reported after all.
        next = UnknownSteps.Ended(next, loaded.Request);
        next = PlanChanges.WithoutRows(next, action => action is StepAction.Mix or StepAction.Discard
            && action.Subject == loaded.Request);
        return DoneBy(next, new StepAction.Load(loaded.Request, loaded.Place), loaded.Hands, loaded.Begun,
            loaded.End.Latest);
    }

    private static BenchState ReadStarted(BenchState state, BenchEvent.ReadStarted started, ReportId report)
    {
        var inside = new CartridgePlace.InReader(started.Reader);
        var inWindow = IsUntimed(started.Deviations)
            || state.Find(started.Request)?.Deviations.Contains(Deviation.TimeNotTaken) == true
            ? (bool?)null
            : !started.Deviations.Any(deviation => deviation is Deviation.EarlyRead or Deviation.LateRead
                or Deviation.StatedInTime
                or Deviation.OutOfOrder);
        var next = Noted(Displaced(state, started.Request, inside, started.Deviations, report, started.Start),
            started.Request, started.Deviations, cartridge => cartridge.IsOver ? cartridge : cartridge with
            {
                Stage = new CartridgeStage.InWork(new CartridgePhase.Reading(started.Reader, started.Start)),
                ReadInWindow = inWindow,
            });
        next = PlanChanges.WithoutRows(next, action => action is StepAction.Mix or StepAction.Load or StepAction.Move
            or StepAction.Discard && action.Subject == started.Request);
        return DoneBy(next, new StepAction.Move(started.Request, started.Reader), started.Hands, started.Begun,
            started.Start);
    }

    private static BenchState Cleared(BenchState state, BenchEvent.Cleared cleared)
    {
        var readStart = cleared.ReadStartedByItself
            ?? (state.Find(cleared.Request)?.Reached as CartridgePhase.Reading)?.Start;
        var next = Noted(state, cleared.Request, cleared.Deviations, cartridge => cartridge.IsOver
            ? cartridge : cartridge with
            {
                Stage = new CartridgeStage.Cleared(cleared.End),
                ReadInWindow = cartridge.ReadInWindow ?? (
                // A read whose time was in doubt was never judged by its window.
                IsUntimed(cleared.Deviations) || IsUntimed(cartridge.Deviations)
                    ? null
                    : cleared.ReadStartedByItself is not null
                        && cleared.Deviations.All(deviation => deviation is Deviation.TooQuick
                            or Deviation.NotScanned or Deviation.OtherThanPlanned)),
            });
        if (readStart is { } start)
            next =
                WithDone(next,
                    new DoneStep(new StepAction.Read(cleared.Request, cleared.Reader), null, start,
                        Instant.Max(start, cleared.Begun)));
        next = PlanChanges.WithoutRows(next, action => action.Subject == cleared.Request);
        return DoneBy(next, new StepAction.Clear(cleared.Request, cleared.Reader), cleared.Hands, cleared.Begun,
            cleared.End);
    }

    /// <summary>Whether nobody knows the time of what differs so.</summary>
    public static bool IsUntimed(ImmutableArray<Deviation> deviations) =>
        deviations.Contains(Deviation.ClockInDoubt) || deviations.Contains(Deviation.TimeNotTaken);

    private static BenchState CardChanged(BenchState state, BenchEvent.CardChanged changed) =>
        DoneBy(Known(state, changed.Reader, changed.Lot), new StepAction.CardChange(changed.Reader, changed.Lot),
            changed.Hands, changed.Begun, changed.End);

    private static BenchState Known(BenchState state, ReaderNumber reader, LotCode lot) =>
        state.InCheckpoint(bench => bench.With(new CardStatus(reader, lot, null)));

    private static BenchState Discarded(BenchState state, BenchEvent.Discarded discarded)
    {
        var next = BatchChanges.Ended(state, discarded.Request,
            new CartridgeStage.Discarded(discarded.End, discarded.Reason, discarded.InWords));
        return DoneBy(next, new StepAction.Discard(discarded.Request), discarded.Hands, discarded.Begun, discarded.End);
    }

    /// <summary>
    /// Whatever was believed to be where a cartridge was really put is astray until a person settles it.
    /// </summary>
    private static BenchState Displaced(BenchState state, RequestId newcomer, CartridgePlace place,
        ImmutableArray<Deviation> deviations, ReportId report, Instant at)
    {
        if (!deviations.Any(deviation => deviation is Deviation.SlotBelievedTaken or Deviation.ReaderBelievedTaken))
            return state;
        var other = place switch
        {
            CartridgePlace.InSlot slot => state.InSlot(slot.Slot),
            CartridgePlace.InReader inside => state.InReader(inside.Reader),
            _ => null,
        };
        return other is null || other.Id == newcomer
            ? state
            : PlanChanges.WithoutRows(BatchChanges.With(state, other.Id,
                cartridge => cartridge with { Stage = new CartridgeStage.Astray(report, cartridge.Phase!, at) }),
                    action => action.Subject == other.Id);
    }

    private static BenchState DoneBy(BenchState state, StepAction action, HandsNumber hands, Instant begun, Instant end)
    {
        var next = WithDone(state, new DoneStep(action, hands, begun, end));
        return ReportedBy(PlanChanges.WithoutFirstRow(next, action), hands, end);
    }

    private static BenchState WithDone(BenchState state, DoneStep done) =>
        state.InRun(run => run with { Done = run.Done.Add(done) });

    private static BenchState Noted(BenchState state, RequestId request, ImmutableArray<Deviation> deviations,
        Func<Cartridge, Cartridge> change) =>
        BatchChanges.With(state, request, cartridge =>
            change(cartridge) with { Deviations = cartridge.Deviations.AddRange(deviations) });
}
