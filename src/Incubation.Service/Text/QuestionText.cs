using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>The words of questions and of their answers.</summary>
public static class QuestionText
{
    /// <summary>A question as screens show it.</summary>
    public static QuestionSnapshot Write(BenchState state, Question question, DateTimeZone zone)
    {
        var (title, text) = Say(state, question, zone);
        var (slot, reader) = StepReportText.Place(question.Place);
        return new QuestionSnapshot(
            IdOf(question.Key), KebabCase.Of(question.Key.Kind), title, text,
                question.Since, question.Report?.Value,
            question.Request?.Value, SpecimenOf(state, question.Request), question.Other?.Value,
                SpecimenOf(state, question.Other), slot, reader,
            [.. question.Answers.Select(option => new AnswerSnapshot(
                KebabCase.Of(option.Answer), AnswerText(state, question, option.Answer),
                    [.. option.Slots.Select(number => number.Value)], option.TakesTime, option.TakesLot))]);
    }

    /// <summary>
    /// The words of what a screen without its server asks by itself when a step comes to be not known, {0} where the
    /// specimen and {1} where the place stands.
    /// </summary>
    public static IReadOnlyList<AloneQuestion> Templates =>
    [
        Template("mix", TextWords.QuestionMixNotKnown, TextWords.AnswerMixedAt, true),
        Template("load", TextWords.QuestionLoadNotKnown, TextWords.AnswerLoadedAt, true),
        Template("move", TextWords.QuestionMoveNotKnown, TextWords.AnswerReadStartedAt, true),
        Template("clear", TextWords.QuestionClearNotKnown, TextWords.AnswerClearedAt, false),
        Template("discard", TextWords.QuestionDiscardNotKnown, TextWords.AnswerDiscardedAt, false),
    ];

    private static AloneQuestion Template(string kind, string title, string doneAt, bool canBeSpoilt) => new(
        kind, title, TextWords.QuestionNotKnownText, TextWords.QuestionPlaceNotKnownText,
        [
            new AnswerSnapshot(KebabCase.Of(Answer.AtThatTime), doneAt, [], true, false),
            new AnswerSnapshot(KebabCase.Of(Answer.NotBegun), TextWords.AnswerNotBegun, [], false, false),
            .. canBeSpoilt
                ? [new AnswerSnapshot(KebabCase.Of(Answer.Spoilt), TextWords.AnswerSpoilt, [], false, false)]
                : Array.Empty<AnswerSnapshot>(),
        ]);

    /// <summary>What screens call a question: "step-not-known/R01".</summary>
    public static string IdOf(QuestionKey key)
    {
        ArgumentNullException.ThrowIfNull(key);
        return KebabCase.Of(key.Kind) + "/" + key.Of;
    }

    /// <summary>The question that an id names, or null.</summary>
    public static QuestionKey? Parse(string? id)
    {
        var slash = id?.IndexOf('/', StringComparison.Ordinal) ?? -1;
        return slash > 0 && Bounds.IsIdentifier(id![(slash + 1)..])
            && KebabCase.Find<QuestionKind>(id[..slash]) is { } kind ? new QuestionKey(kind, id[(slash + 1)..]) : null;
    }

    private static (string Title, string Text) Say(BenchState state, Question question, DateTimeZone zone)
    {
        var specimen = SpecimenOf(state, question.Request) ?? "";
        var place = question.Place is { } known ? StepText.PlaceName(known, state.Setup) : "";
        return question.Key.Kind switch
        {
            QuestionKind.WhenLoaded =>
                (Text.Say.Of(TextWords.QuestionWhenLoaded, specimen), TextWords.QuestionWhenLoadedText),
            QuestionKind.WhenMixed =>
                (Text.Say.Of(TextWords.QuestionWhenMixed, specimen), TextWords.QuestionWhenMixedText),
            QuestionKind.WhenDone => WhenDone(state, question),
            QuestionKind.TooQuick => TooQuick(state, question),
            QuestionKind.CardInDoubt =>
                (Text.Say.Of(TextWords.QuestionCard, place),
                    Text.Say.Of(TextWords.QuestionCardText, ResourceText.Doubt(state, question.Place))),
            QuestionKind.ReaderStopped =>
                (Text.Say.Of(TextWords.QuestionReaderStopped, specimen, place), TextWords.QuestionReaderStoppedText),
            QuestionKind.PowerCut => PowerCut(state, state.Outage!, zone),
            QuestionKind.StepNotKnown => (NotKnown(StepOf(state, question), specimen, place), Text.Say.Of(
                question.Place is null ? TextWords.QuestionNotKnownText : TextWords.QuestionPlaceNotKnownText,
                specimen, place)),
            _ => Contradiction(state, question, zone),
        };
    }

    /// <summary>The step that is not known and that a question asks for, or null.</summary>
    private static StepAction? StepOf(BenchState state, Question question) =>
        state.NotKnown.FirstOrDefault(step => step.Action.Subject == question.Request)?.Action;

    private static string NotKnown(StepAction? step, string specimen, string place) => step switch
    {
        StepAction.Mix => Text.Say.Of(TextWords.QuestionMixNotKnown, specimen),
        StepAction.Load => Text.Say.Of(TextWords.QuestionLoadNotKnown, specimen, place),
        StepAction.Move => Text.Say.Of(TextWords.QuestionMoveNotKnown, specimen, place),
        StepAction.Clear => Text.Say.Of(TextWords.QuestionClearNotKnown, specimen, place),
        _ => Text.Say.Of(TextWords.QuestionDiscardNotKnown, specimen),
    };

    private static string DoneAt(StepAction? step) => step switch
    {
        StepAction.Mix => TextWords.AnswerMixedAt,
        StepAction.Load => TextWords.AnswerLoadedAt,
        StepAction.Move => TextWords.AnswerReadStartedAt,
        StepAction.Clear => TextWords.AnswerClearedAt,
        StepAction.Discard => TextWords.AnswerDiscardedAt,
        _ => TextWords.AnswerAtThatTime,
    };

    private static (string Title, string Text) WhenDone(BenchState state, Question question)
    {
        var told = state.Story.Find(report => report.Id == question.Report);
        return (
            Text.Say.First(Text.Say.Of(TextWords.QuestionWhenDone,
                told is null ? "" : StepReportText.Told(state, told.Event))),
            Text.Say.Of(TextWords.QuestionWhenDoneText, told?.Claimed));
    }

    private static (string Title, string Text) TooQuick(BenchState state, Question question)
    {
        var told = state.Story.Find(report => report.Id == question.Report);
        return (
            Text.Say.First(Text.Say.Of(TextWords.QuestionWhenDone,
                told is null ? "" : StepReportText.Told(state, told.Event))),
            Text.Say.Of(TextWords.QuestionTooQuickText, told?.Event is BenchEvent.StepEvent step
                ? (long)Math.Max(0, Math.Floor((told.At - step.Begun).TotalSeconds)) : 0));
    }

    private static (string Title, string Text) PowerCut(BenchState state, Outage outage, DateTimeZone zone)
    {
        string Names(IEnumerable<RequestId> requests) =>
            string.Join(", ", requests.Select(request => StepText.Specimen(state, request))
                .DefaultIfEmpty(TextWords.PowerCutNone));
        var (from, to) = (Text.Say.DateAndTime(outage.Since, zone), Text.Say.DateAndTime(outage.Until, zone));
        return (
            Text.Say.Of(TextWords.QuestionPowerCut, Text.Say.Length(outage.Until - outage.Since)),
            outage.ClockBelieved
                ? Text.Say.Of(TextWords.QuestionPowerCutText, from, to, Names(outage.Good), Names(outage.Lost))
                : Text.Say.Of(TextWords.QuestionPowerCutClockText, from, to));
    }

    private static (string Title, string Text) Contradiction(BenchState state, Question question, DateTimeZone zone)
    {
        var told = state.Story.Find(report => report.Id == question.Report) is { } report
            ? StepReportText.Told(state, report.Event) : "";
        if (question.Other is { } other)
        {
            var otherSpecimen = StepText.Specimen(state, other);
            return (Text.Say.Of(TextWords.QuestionTaken, otherSpecimen),
                Text.Say.First(Text.Say.Of(TextWords.QuestionTakenText, told, otherSpecimen)));
        }

        if (Rival(state, question) is { } rival)
        {
            return (
                Text.Say.First(Text.Say.Of(TextWords.QuestionContradiction, told)),
                Text.Say.First(Text.Say.Of(TextWords.QuestionTwoAccountsText, StepReportText.Told(state, rival.Event),
                    Text.Say.ClockWithSeconds(rival.At, zone), told)));
        }

        var why = question.Deviations switch
        {
            var found when found.Contains(Deviation.ReadBeforeLoad) => TextWords.QuestionReadBeforeLoadText,
            var found when found.Contains(Deviation.OutOfOrder) => TextWords.QuestionOutOfOrderText,
            var found when found.Contains(Deviation.OtherPlace) => TextWords.QuestionOtherPlaceText,
            _ => TextWords.QuestionOtherCardText,
        };
        return (Text.Say.First(Text.Say.Of(TextWords.QuestionContradiction, told)),
            Text.Say.First(Text.Say.Of(why, told)));
    }

    /// <summary>Another report of the same step of the same cartridge that says otherwise, or null.</summary>
    private static ReportedStep? Rival(BenchState state, Question question) =>
        question.Deviations.Contains(Deviation.OutOfOrder)
            && state.Story.Find(report => report.Id == question.Report) is { } mine
            ? state.Story.FindLast(other => other.Id != mine.Id && other.Subject == mine.Subject
                && other.Event.GetType() == mine.Event.GetType())
            : null;

    private static string AnswerText(BenchState state, Question question, Answer answer)
    {
        var (specimen, other) = (SpecimenOf(state, question.Request), SpecimenOf(state, question.Other));
        return answer switch
        {
            Answer.Mistake when question.Key.Kind == QuestionKind.TooQuick => TextWords.AnswerTooQuickMistake,
            Answer.Stands when question.Key.Kind == QuestionKind.TooQuick => TextWords.AnswerTooQuickStands,
            Answer.Mistake => TextWords.AnswerMistake,
            Answer.Stands => TextWords.AnswerStands,
            Answer.AtThatTime when question.Key.Kind == QuestionKind.StepNotKnown => DoneAt(StepOf(state, question)),
            Answer.AtThatTime => TextWords.AnswerAtThatTime,
            Answer.NotBegun => TextWords.AnswerNotBegun,
            Answer.Spoilt => TextWords.AnswerSpoilt,
            Answer.NotKnown => TextWords.AnswerNotKnown,
            Answer.WasMixed => TextWords.AnswerWasMixed,
            Answer.WasRead => TextWords.AnswerWasRead,
            Answer.CardWasRight => TextWords.AnswerCardWasRight,
            Answer.InSlot => Text.Say.Of(TextWords.AnswerInSlot, specimen),
            Answer.OtherCleared => Text.Say.Of(TextWords.AnswerOtherCleared, other),
            Answer.OtherMoved => Text.Say.Of(TextWords.AnswerOtherMoved, other),
            Answer.OtherDiscarded => Text.Say.Of(TextWords.AnswerOtherDiscarded, other),
            Answer.CardIs => TextWords.AnswerCardIs,
            Answer.ReadToTheEnd => TextWords.AnswerReadToTheEnd,
            Answer.BackInSlot => TextWords.AnswerBackInSlot,
            Answer.ThrownAway => TextWords.AnswerThrownAway,
            Answer.Seen => TextWords.AnswerSeen,
            Answer.OtherInSlot => Text.Say.Of(TextWords.AnswerOtherInSlot, other),
            _ => throw new InvalidOperationException($"The answer {answer} has no words."),
        };
    }

    private static string? SpecimenOf(BenchState state, RequestId? request) => request is { } known
        ? StepText.Specimen(state, known) : null;
}
