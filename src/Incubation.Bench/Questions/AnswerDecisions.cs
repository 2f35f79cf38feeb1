using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What follows from the answer to a question.</summary>
internal static class AnswerDecisions
{
    private static readonly Duration JustBefore = Duration.FromMilliseconds(1);

    public static Decision Decide(BenchState state, BenchCommand.AnswerQuestion answer, Provenance provenance)
    {
        if (Questions.List(state).FirstOrDefault(question => question.Key == answer.Question) is not { } asked)
            return Decisions.Refuse(Refusal.NoSuchQuestion);
        var option = asked.Answers.FirstOrDefault(possible => possible.Answer == answer.Answer);
        if (option is null || (option.TakesTime && !answer.TimeStated) || (option.TakesLot && answer.Lot is null)
            || (!option.Slots.IsEmpty && (answer.Slot is not { } slot || !option.Slots.Contains(slot))))
            return Decisions.Refuse(Refusal.AnswerIncomplete);
        var settled = new BenchEvent.QuestionSettled(asked.Key, answer.Answer);
        switch (asked.Key.Kind)
        {
            case QuestionKind.CardInDoubt:
                return ReportDecisions.Decide(state,
                    new BenchCommand.CardSeen(((CartridgePlace.InReader)asked.Place!).Reader, answer.Lot!.Value),
                    provenance);
            case QuestionKind.StepNotKnown:
                return NotKnown(state, asked, answer, provenance) is { } report
                    ? ReportDecisions.Decide(state, report, provenance) : Decisions.Accept(settled);
            case QuestionKind.PowerCut:
                return Decisions.Accept(settled);
            case QuestionKind.ReaderStopped:
                return Revisions.Revise(state, provenance, Stopped(state, asked, answer, provenance) with
                { Before = [settled] });
            default:
                return state.Story.Find(report => report.Id == asked.Report) is { } told
                    ? Revisions.Revise(state, provenance, Follows(state, asked, told, answer, provenance) with
                    { Before = [settled] })
                    : Decisions.Refuse(Refusal.NoSuchQuestion);
        }
    }

    /// <summary>What an answer reports of a step that was not known; null where it was not begun.</summary>
    private static BenchCommand.Report? NotKnown(BenchState state, Question asked, BenchCommand.AnswerQuestion answer,
        Provenance provenance)
    {
        var request = asked.Request!.Value;
        return answer.Answer switch
        {
            Answer.AtThatTime => UnknownSteps.Of(state, request)!.Action switch
            {
                StepAction.Mix => new BenchCommand.Mixed(request, TimeStated: true),
                StepAction.Load load => new BenchCommand.Loaded(request, load.Place, TimeStated: true),
                StepAction.Move move => new BenchCommand.ReadStarted(request, move.Reader,
                    StatedInTime: ReportTimes.IsStatedInTime(state, request, provenance.At, provenance.Arrived)),
                StepAction.Clear clear => new BenchCommand.Cleared(request, clear.Reader),
                _ => new BenchCommand.Discarded(request,
                    Losses.ReasonFor(state, state.Find(request)!, provenance.At), null),
            },
            Answer.Spoilt => new BenchCommand.Discarded(request, DiscardReason.Dropped, null),
            _ => null,
        };
    }

    private static Revision Stopped(BenchState state, Question asked, BenchCommand.AnswerQuestion answer,
        Provenance provenance)
    {
        var request = asked.Request!.Value;
        return answer.Answer switch
        {
            Answer.BackInSlot => new Revision(
                Undone: [.. state.Story.Where(told => told.Event is BenchEvent.ReadStarted && told.Subject == request)
                    .Select(told => told.Id)],
                Corrected: [new Correction(Questions.LoadOf(state, request)!.Id, null,
                    new CartridgePlace.InSlot(answer.Slot!.Value), null)]),
            Answer.ThrownAway =>
                new Revision(Added: new BenchEvent.Discarded(request, new HandsNumber(1), provenance.At, provenance.At,
                    DiscardReason.ReaderFault, null)),
            _ => new Revision(),
        };
    }

    private static Revision Follows(BenchState state, Question asked, ReportedStep told,
        BenchCommand.AnswerQuestion answer, Provenance provenance) => answer.Answer switch
        {
            Answer.Mistake =>
                new Revision(Undone: [told.Id, .. Revisions.RestingOn(state, told.Id).Select(resting => resting.Id)
                .Distinct()]),
            Answer.Stands when asked.Key.Kind == QuestionKind.TooQuick => new Revision(Corrected: Confirmed(told)),
            Answer.Stands => new Revision(Undone: Contradicted(state, told)),
            Answer.AtThatTime => new Revision(Corrected: [new Correction(told.Id, provenance.At, null, null)]),
            Answer.InSlot =>
                new Revision(
                    Corrected: [new Correction(told.Id, null, new CartridgePlace.InSlot(answer.Slot!.Value), null)]),
            Answer.OtherInSlot => OtherInSlot(state, asked.Other!.Value, told, answer.Slot!.Value),
            Answer.OtherCleared => Before(told, Cleared(state, asked.Other!.Value, told, provenance)),
            Answer.OtherMoved => WasMoved(state, asked.Other!.Value, told, provenance),
            Answer.OtherDiscarded =>
                Before(told, new BenchEvent.Discarded(asked.Other!.Value, HandsOf(told), provenance.At, provenance.At,
                    DiscardReason.FoundGone, null)),
            Answer.WasMixed => WasMixed(state, told, provenance),
            Answer.WasRead => new Revision(Added: new BenchEvent.ReadStarted(
                told.Subject!.Value, HandsOf(told), ((BenchEvent.Cleared)told.Event).Reader, provenance.At,
                provenance.At, []), AddedAt: Instant.Min(provenance.At, told.At - JustBefore)),
            Answer.CardWasRight => Before(told, new BenchEvent.CardChanged(
                ((CartridgePlace.InReader)told.Place!).Reader, state.Find(told.Subject!.Value)!.Wanted.Request.Lot,
                    HandsOf(told), provenance.At, provenance.At, [])),
            _ => new Revision(),
        };

    /// <summary>
    /// The other cartridge is in a slot. Where that is the one into which this one was told to be loaded, this one was
    /// not: nobody knows any more where it was until it was thrown away.
    /// </summary>
    private static Revision OtherInSlot(BenchState state, RequestId other, ReportedStep told, SlotNumber slot) =>
        new CartridgePlace.InSlot(slot) is var place && place == told.Place
            ? new Revision(Undone: [told.Id])
            : new Revision(Corrected: [new Correction(Questions.LoadOf(state, other)!.Id, null, place, null)]);

    /// <summary>
    /// Quick hands that somebody confirms: a move or a clear is then as good as any other. A mixture or a well that was
    /// done with in no time stays marked, its result held.
    /// </summary>
    private static ImmutableArray<Correction> Confirmed(ReportedStep told) =>
        told.Event is BenchEvent.ReadStarted or BenchEvent.Cleared
            ? [new Correction(told.Id, told.At, null, null)] : [];

    /// <summary>
    /// The reports that say otherwise: the same step told a second time, or an end of the cartridge before it.
    /// </summary>
    private static ImmutableArray<ReportId> Contradicted(BenchState state, ReportedStep told) =>
        told.Deviations.Contains(Deviation.OutOfOrder)
        ?
        [
            .. state.Story.Where(other => other.Id != told.Id && other.Subject == told.Subject
                && other.Event.GetType() == told.Event.GetType())
                .Concat(state.Story.TakeWhile(earlier => earlier.Id != told.Id)
                    .Where(earlier => earlier.Subject == told.Subject && earlier.Event is BenchEvent.Discarded
                        or BenchEvent.Cleared))
                .Select(other => other.Id).Distinct(),
        ]
        : [];

    /// <summary>Something that had happened just before a report was begun.</summary>
    private static Revision Before(ReportedStep told, BenchEvent.StoryEvent happened) =>
        new(Added: happened, AddedAt: Instant.Min(told.Step.Begun, told.At - JustBefore));

    private static BenchEvent.Cleared Cleared(BenchState state, RequestId other, ReportedStep told,
        Provenance provenance)
    {
        var reader = (told.Place as CartridgePlace.InReader)?.Reader ?? new ReaderNumber(1);
        var byItself =
            Questions.LoadOf(state, other) is { Event: BenchEvent.Loaded { Place: CartridgePlace.InReader } loaded }
            ? loaded.End.Latest + state.Find(other)!.Wanted.Assay.Incubation
            : (Instant?)null;
        return new BenchEvent.Cleared(other, HandsOf(told), reader, provenance.At, provenance.At, byItself, []);
    }

    /// <summary>Its read was started at the time stated, and its slot was empty before the other's load.</summary>
    private static Revision WasMoved(BenchState state, RequestId other, ReportedStep told, Provenance provenance)
    {
        var reader = Questions.MovedTo(state, state.Find(other)!)!.Value;
        var hands = UnknownSteps.Of(state, other)?.Hands ?? HandsOf(told);
        return new Revision(
            Added: new BenchEvent.ReadStarted(other, hands, reader, provenance.At, provenance.At, []),
            AddedAt: Instant.Min(provenance.At, told.At - JustBefore));
    }

    /// <summary>Mixed at a time that nobody knows, but not longer before its load than its assay allows.</summary>
    private static Revision WasMixed(BenchState state, ReportedStep told, Provenance provenance)
    {
        var begun = Instant.Min(told.Step.Begun, told.At - JustBefore);
        var assay = state.Find(told.Subject!.Value)!.Wanted.Assay;
        var end = new InstantRange(begun - assay.MixToLoad, begun);
        return new Revision(Added: new BenchEvent.Mixed(told.Subject.Value, HandsOf(told), end.Earliest, end, []),
            AddedAt: begun);
    }

    private static HandsNumber HandsOf(ReportedStep told) => told.Step.Hands;
}
