using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>The words of what else happened in a batch.</summary>
public sealed class BenchEventText(BenchState state, RecordClock clock, PeopleState people)
{
    /// <summary>Reports that were undone later, as they stood then.</summary>
    public IReadOnlyDictionary<ReportId, BenchEvent.StoryEvent> Undone { get; init; } =
        new Dictionary<ReportId, BenchEvent.StoryEvent>();

    /// <summary>What happened, in a sentence; of a report whose person is not known, which it was.</summary>
    public string Of(BenchEntry entry) => entry.Event switch
    {
        BenchEvent.IdentityNotChecked => Told(entry.Provenance.Id.Value) is { } told
            ? Say.Of(RecordWords.HappenUnchecked, told) : RecordWords.HappenUncheckedOther,
        BenchEvent.SentByAnother sent =>
            Say.Of(RecordWords.HappenSentBy, Name(sent.Sender), Name(entry.Provenance.Person)),
        BenchEvent.TimeNotTaken untimed =>
            Say.Of(RecordWords.HappenTimeNotTaken, Report(entry.Provenance.Id.Value), untimed.Claimed, Of(untimed.Why)),
        _ => Of(entry.Event),
    };

    /// <summary>What happened, in a sentence.</summary>
    public string Of(BenchEvent happened) => happened switch
    {
        BenchEvent.RequestsAdded added =>
            Say.Of(RecordWords.HappenRequests,
                string.Join(", ", added.Requests.Select(wanted => $"{wanted.Request.Specimen} ({wanted.Request.Id})"))),
        BenchEvent.RequestWithdrawn withdrawn => Say.Of(RecordWords.HappenWithdrawn, Specimen(withdrawn.Request)),
        BenchEvent.PriorityChanged { Priority: Priority.Urgent } changed =>
            Say.Of(RecordWords.HappenUrgent, Specimen(changed.Request)),
        BenchEvent.PriorityChanged changed => Say.Of(RecordWords.HappenRoutine, Specimen(changed.Request)),
        BenchEvent.DueChanged { Due: { } due } changed =>
            Say.Of(RecordWords.HappenDueAt, Specimen(changed.Request), clock.At(due)),
        BenchEvent.DueChanged changed => Say.Of(RecordWords.HappenNotDue, Specimen(changed.Request)),
        BenchEvent.RequestCommented { Comment: { } comment } commented =>
            Say.Of(RecordWords.HappenCommented, Specimen(commented.Request), comment),
        BenchEvent.RequestCommented commented =>
            Say.Of(RecordWords.HappenNotCommented, Specimen(commented.Request)),
        BenchEvent.RequestCarriedOver carried => Say.Of(RecordWords.HappenCarriedOver, Specimen(carried.Request)),
        BenchEvent.RequestGivenUp given =>
            Say.Of(RecordWords.HappenGivenUp, Specimen(given.Request), given.Why),
        BenchEvent.FateRevoked revoked => Say.Of(RecordWords.HappenFateRevoked, Specimen(revoked.Request)),
        BenchEvent.RepeatOrdered repeat =>
            Say.Of(RecordWords.HappenRepeatOrdered, Specimen(repeat.Of), repeat.Repeat),
        BenchEvent.RequestsCarriedOver carried =>
            Say.Of(RecordWords.HappenCameFrom, carried.From, string.Join(", ",
                carried.Requests.Select(one => $"{one.Wanted.Request.Specimen} ({one.Wanted.Request.Id})"))),
        BenchEvent.BatchStarted => RecordWords.HappenStarted,
        BenchEvent.ReportsRevised revised => Revised(revised),
        BenchEvent.ReportUndone => RecordWords.HappenUndone,
        BenchEvent.QuestionSettled settled =>
            Say.Of(RecordWords.HappenSettledOf, Of(settled.Question), Of(settled.Answer)),
        BenchEvent.DiscardAsked asked =>
            Say.Of(RecordWords.HappenDiscardAsked, Specimen(asked.Request), BatchText.Reason(asked.Reason)),
        BenchEvent.ReadyChanged { Ready: { } ready } changed =>
            Say.Of(RecordWords.HappenReadyAt, Specimen(changed.Request), clock.At(ready)),
        BenchEvent.ReadyChanged changed => Say.Of(RecordWords.HappenNotReady, Specimen(changed.Request)),
        BenchEvent.IdentityNotChecked => RecordWords.HappenUncheckedOther,
        BenchEvent.SentByAnother sent => Say.Of(RecordWords.HappenSentBy, Name(sent.Sender), RecordWords.Nothing),
        BenchEvent.TimeNotTaken untimed =>
            Say.Of(RecordWords.HappenTimeNotTaken, RecordWords.Nothing, untimed.Claimed, Of(untimed.Why)),
        BenchEvent.LabelScanned scanned => Say.Of(RecordWords.HappenLabelScanned, Specimen(scanned.Request)),
        BenchEvent.ResultNotChecked not => Say.Of(RecordWords.HappenResultNotChecked, Specimen(not.Request)),
        BenchEvent.ResultKeptHeld kept => Say.Of(RecordWords.HappenResultKeptHeld, Specimen(kept.Request)),
        BenchEvent.ReleaseEnded ended => Say.Of(RecordWords.HappenReleaseEnded, Specimen(ended.Request)),
        BenchEvent.ResultQuestioned questioned => Say.Of(RecordWords.HappenQuestioned, Specimen(questioned.Request),
            ResultSentence.Of(questioned.Question)),
        BenchEvent.IdentitySettled settled =>
            Say.Of(RecordWords.HappenIdentitySettled, Name(settled.Person), settled.Reports.Length),
        BenchEvent.Restarted restarted => Say.Of(
            RecordWords.HappenDown, clock.At(restarted.Outage.Since), clock.At(restarted.Outage.Until),
                Specimens(restarted.Outage.Good), Specimens(restarted.Outage.Lost)),
        BenchEvent.ClockDoubted doubted =>
            Say.Of(RecordWords.HappenClockDoubted, Say.Length(NodaTime.Duration.Max(doubted.Ahead, -doubted.Ahead))),
        BenchEvent.PlanningNoted { Works: false } => RecordWords.HappenCannotPlan,
        BenchEvent.PlanningNoted { SetAside: { IsEmpty: false } aside } =>
            Say.Of(RecordWords.HappenSetAside, Specimens(aside)),
        BenchEvent.PlanningNoted => RecordWords.HappenPlansAgain,
        BenchEvent.ClockAgreed => RecordWords.HappenClockAgreed,
        BenchEvent.StepNotKnown unknown =>
            Say.Of(RecordWords.HappenNotKnown, StepText.Title(state, unknown.Action), clock.At(unknown.Begun)),
        _ => Means(happened),
    };

    private string Means(BenchEvent happened) => happened switch
    {
        BenchEvent.PutOutOfUse put => Say.Of(
            RecordWords.HappenOutOfUse, Thing(put.Entry.Resource), string.IsNullOrEmpty(put.Entry.Why)
                ? "" : Say.Of(RecordWords.HappenOutOfUseWhy, put.Entry.Why)),
        BenchEvent.PutBackInUse put => Say.Of(RecordWords.HappenBackInUse, Thing(put.Resource)),
        BenchEvent.HandsChanged changed =>
            Say.Of(RecordWords.HappenHands, Say.Counted(changed.Hands, RecordWords.HandsOne, RecordWords.HandsMany)),
        BenchEvent.IntakePaused => RecordWords.HappenPaused,
        BenchEvent.IntakeResumed => RecordWords.HappenResumed,
        BenchEvent.IncubatorSet set => Say.Of(RecordWords.HappenIncubatorSet, set.Rule.Set, set.Rule.Tolerance),
        BenchEvent.ProbeExpected { Every: { } every } expected => Say.Of(RecordWords.HappenProbeExpected,
            Names.Of(expected.Probe, people), every.TotalMinutes),
        BenchEvent.ProbeExpected expected =>
            Say.Of(RecordWords.HappenProbeNotExpected, Names.Of(expected.Probe, people)),
        BenchEvent.LabelsAsked asked => asked.Demand switch
        {
            LabelDemand.Asked => RecordWords.HappenLabelsAsked,
            LabelDemand.Demanded => RecordWords.HappenLabelsDemanded,
            _ => RecordWords.HappenLabelsOff,
        },
        BenchEvent.TemperatureMeasured { Outside: true } measured =>
            Say.Of(RecordWords.HappenTemperatureOutside, measured.Value, Specimens(measured.Marked)),
        BenchEvent.TemperatureMeasured measured => Say.Of(RecordWords.HappenTemperature, measured.Value),
        BenchEvent.CardDoubted doubted =>
            Say.Of(RecordWords.HappenCardDoubted, Say.Reader(doubted.Reader, state.Setup)),
        BenchEvent.CardSeen seen => Say.Of(RecordWords.HappenCardSeen, seen.Lot, Say.Reader(seen.Reader, state.Setup)),
        BenchEvent.SpecimenRejected rejected =>
            Say.Of(RecordWords.HappenRejected, rejected.Specimen, rejected.Assay, rejected.Why),
        BenchEvent.ReadinessConfirmed confirmed => Say.Of(confirmed.Key.Kind == ReadinessKind.ReaderCheck
            ? RecordWords.HappenReaderChecked : RecordWords.HappenMaterialsOut, confirmed.Key.Of,
            clock.At(confirmed.Since)),
        BenchEvent.ResultReleased released =>
            Say.Of(RecordWords.HappenReleased, Specimen(released.Request), released.Why),
        BenchEvent.ResultAmended amended =>
            Say.Dotted(Say.Of(RecordWords.HappenAmended, Specimen(amended.Request), ResultSentence.Of(amended.Before),
                ResultSentence.Of(amended.After), ResultSentence.Why(amended.Reason, amended.Why)),
                EnteredBy(amended) is { } by ? Say.Of(RecordWords.HappenAmendedBy, Name(by)) : null),
        BenchEvent.AmendmentProposed proposed => Say.Of(RecordWords.HappenAmendmentProposed,
            Specimen(proposed.Request), ResultSentence.Of(proposed.Before), ResultSentence.Of(proposed.After),
            ResultSentence.Why(proposed.Reason, proposed.Why)),
        BenchEvent.AmendmentConfirmed confirmed =>
            Say.Of(RecordWords.HappenAmendmentConfirmed, Specimen(confirmed.Request), confirmed.Why),
        BenchEvent.AmendmentDeclined declined =>
            Say.Of(RecordWords.HappenAmendmentDeclined, Specimen(declined.Request), declined.Why),
        BenchEvent.CriticalTold told =>
            Say.Dotted(Say.Of(told.ReadBack ? RecordWords.HappenToldReadBack : RecordWords.HappenTold,
                Specimen(told.Request), told.Whom),
                told.Why is { } why ? Say.Of(RecordWords.HappenToldWhy, why) : null),
        BenchEvent.TellingWaived waived => Say.Of(RecordWords.HappenWaived, Specimen(waived.Request), waived.Why),
        BenchEvent.LotGateSet set => Say.Of(Gate(set.Gate), set.Lot),
        BenchEvent.CardChanged changed =>
            Say.Of(RecordWords.HappenCardChanged, changed.Lot, Say.Reader(changed.Reader, state.Setup)),
        _ => happened.GetType().Name,
    };

    /// <summary>Who entered an amendment that another confirmed; null where it counted at once.</summary>
    private PersonId? EnteredBy(BenchEvent.ResultAmended amended) => state.Find(amended.Request)?.Status?.Earlier
        .LastOrDefault(one => one.Was == amended.Before && one.Second is not null && one.Why == amended.Why)?.By;

    private static string Gate(LotGate gate) => gate switch
    {
        LotGate.AwaitingControls => RecordWords.HappenGateAwaiting,
        LotGate.ResultsHeld => RecordWords.HappenGateHeld,
        LotGate.AwaitingComparison => RecordWords.HappenGateComparison,
        LotGate.Failed => RecordWords.HappenGateFailed,
        _ => RecordWords.HappenGateOpen,
    };

    private string Revised(BenchEvent.ReportsRevised revised)
    {
        if (revised.Undone.IsEmpty && revised.Corrected.IsEmpty)
            return RecordWords.HappenJudgedAnew;
        var reports = revised.Undone.Concat(revised.Corrected.Select(correction => correction.Report)).Distinct()
            .Select(report => (state.Story.Find(told => told.Id == report)?.Event
                ?? Undone.GetValueOrDefault(report)) is { } told ? StepReportText.Told(state, told) : "")
            .Where(words => words.Length > 0).DefaultIfEmpty(RecordWords.Nothing);
        var what = Say.Of(RecordWords.HappenRevised, string.Join(", ", reports));
        return string.IsNullOrWhiteSpace(revised.Reason)
            ? what : Say.Of(RecordWords.HappenRevisedWhy, what, revised.Reason);
    }

    /// <summary>A report as it stands now; a report that was taken back stands no more.</summary>
    private string Report(string id) => Told(id) ?? RecordWords.TakenBack;

    private string? Told(string id) => state.Story.Find(told => told.Id.Value == id) is { } told
        ? StepReportText.Told(state, told.Event) : null;

    private string Of(QuestionKey question) => question.Kind switch
    {
        QuestionKind.WhenLoaded => Say.Of(RecordWords.AskWhenLoaded, Report(question.Of)),
        QuestionKind.WhenMixed => Say.Of(RecordWords.AskWhenMixed, Report(question.Of)),
        QuestionKind.WhenDone => Say.Of(RecordWords.AskWhenDone, Report(question.Of)),
        QuestionKind.TooQuick => Say.Of(RecordWords.AskTooQuick, Report(question.Of)),
        QuestionKind.Contradiction => Say.Of(RecordWords.AskContradiction, Report(question.Of)),
        QuestionKind.CardInDoubt => Say.Of(RecordWords.AskCardInDoubt, question.Of),
        QuestionKind.ReaderStopped => Say.Of(RecordWords.AskReaderStopped, TextId.IsValid(question.Of)
            ? Specimen(new RequestId(question.Of)) : question.Of),
        QuestionKind.StepNotKnown => Say.Of(RecordWords.AskNotKnown, TextId.IsValid(question.Of)
            ? Specimen(new RequestId(question.Of)) : question.Of),
        _ => RecordWords.AskPowerCut,
    };

    private static string Of(TimeFault why) => why switch
    {
        TimeFault.Unreadable => RecordWords.TimeUnreadable,
        TimeFault.AfterArrival => RecordWords.TimeAfterArrival,
        _ => RecordWords.TimeTooEarly,
    };

    private static string Of(Answer answer) => answer switch
    {
        Answer.Mistake => RecordWords.AnswerMistake,
        Answer.Stands => RecordWords.AnswerStands,
        Answer.AtThatTime => RecordWords.AnswerAtThatTime,
        Answer.NotKnown => RecordWords.AnswerNotKnown,
        Answer.WasMixed => RecordWords.AnswerWasMixed,
        Answer.WasRead => RecordWords.AnswerWasRead,
        Answer.CardWasRight => RecordWords.AnswerCardWasRight,
        Answer.InSlot => RecordWords.AnswerInSlot,
        Answer.OtherCleared => RecordWords.AnswerOtherCleared,
        Answer.OtherMoved => RecordWords.AnswerOtherMoved,
        Answer.OtherDiscarded => RecordWords.AnswerOtherDiscarded,
        Answer.OtherInSlot => RecordWords.AnswerOtherInSlot,
        Answer.CardIs => RecordWords.AnswerCardIs,
        Answer.ReadToTheEnd => RecordWords.AnswerReadToTheEnd,
        Answer.BackInSlot => RecordWords.AnswerBackInSlot,
        Answer.ThrownAway => RecordWords.AnswerThrownAway,
        Answer.NotBegun => RecordWords.AnswerNotBegun,
        Answer.Spoilt => RecordWords.AnswerSpoilt,
        _ => RecordWords.AnswerSeen,
    };

    private static string Thing(BenchResource resource) => resource switch
    {
        BenchResource.Hands hands => Say.Of(RecordWords.ThingHands, hands.Number.Value),
        BenchResource.Slot slot => Say.Of(RecordWords.ThingSlot, slot.Number.Value),
        BenchResource.Reader reader => Say.Of(RecordWords.ThingReader, reader.Number.Value),
        _ => RecordWords.ThingIncubator,
    };

    private string Specimen(RequestId request) => StepText.Specimen(state, request);

    private string Specimens(IEnumerable<RequestId> requests) =>
        string.Join(", ", requests.Select(Specimen).DefaultIfEmpty(RecordWords.Nothing));

    private string Name(PersonId id) => Names.Of(id, people);
}
