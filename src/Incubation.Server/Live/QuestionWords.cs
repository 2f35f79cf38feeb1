using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Server.Live;

/// <summary>The words of questions and of their answers.</summary>
public static class QuestionWords
{
    /// <summary>A question as screens show it.</summary>
    public static QuestionSnapshot Write(BenchState state, Question question)
    {
        var (title, text) = Say(state, question);
        var (slot, reader) = ReportWords.Place(question.Place);
        return new QuestionSnapshot(
            Code(question.Key.Kind) + "/" + question.Key.Of, Code(question.Key.Kind), title, text, question.Since, question.Report?.Value,
            question.Request?.Value, SpecimenOf(state, question.Request), question.Other?.Value, SpecimenOf(state, question.Other), slot, reader,
            [.. question.Answers.Select(option => new AnswerSnapshot(
                Code(option.Answer), AnswerText(state, question, option.Answer), [.. option.Slots.Select(number => number.Value)], option.TakesTime))]);
    }

    /// <summary>The question that an id names, or null.</summary>
    public static QuestionKey? Parse(string? id)
    {
        var slash = id?.IndexOf('/', StringComparison.Ordinal) ?? -1;
        return slash > 0 && TextId.IsValid(id![(slash + 1)..]) && ByCode<QuestionKind>(id[..slash]) is { } kind ? new QuestionKey(kind, id[(slash + 1)..]) : null;
    }

    /// <summary>The answer that a code names, or null.</summary>
    public static Answer? ParseAnswer(string? code) => ByCode<Answer>(code);

    private static (string Title, string Text) Say(BenchState state, Question question)
    {
        var specimen = SpecimenOf(state, question.Request) ?? "";
        if (question.Key.Kind == QuestionKind.WhenLoaded)
            return (Live.Say.Of(Words.QuestionWhenLoaded, specimen), Words.QuestionWhenLoadedText);
        var told = state.Story.Find(report => report.Id == question.Report) is { } report ? ReportWords.Told(state, report.Event) : "";
        if (question.Other is { } other)
        {
            var otherSpecimen = StepWords.Specimen(state, other);
            return (Live.Say.Of(Words.QuestionTaken, otherSpecimen), Live.Say.First(Live.Say.Of(Words.QuestionTakenText, told, otherSpecimen)));
        }

        var why = question.Deviations switch
        {
            var found when found.Contains(Deviation.ReadBeforeLoad) => Words.QuestionReadBeforeLoadText,
            var found when found.Contains(Deviation.OutOfOrder) => Words.QuestionOutOfOrderText,
            var found when found.Contains(Deviation.OtherPlace) => Words.QuestionOtherPlaceText,
            _ => Words.QuestionOtherCardText,
        };
        return (Live.Say.First(Live.Say.Of(Words.QuestionContradiction, told)), Live.Say.First(Live.Say.Of(why, told)));
    }

    private static string AnswerText(BenchState state, Question question, Answer answer)
    {
        var (specimen, other) = (SpecimenOf(state, question.Request), SpecimenOf(state, question.Other));
        return answer switch
        {
            Answer.Mistake => Words.AnswerMistake,
            Answer.Stands => Words.AnswerStands,
            Answer.AtThatTime => Words.AnswerAtThatTime,
            Answer.NotKnown => Words.AnswerNotKnown,
            Answer.WasMixed => Words.AnswerWasMixed,
            Answer.WasRead => Words.AnswerWasRead,
            Answer.CardWasRight => Words.AnswerCardWasRight,
            Answer.InSlot => Live.Say.Of(Words.AnswerInSlot, specimen),
            Answer.OtherCleared => Live.Say.Of(Words.AnswerOtherCleared, other),
            Answer.OtherDiscarded => Live.Say.Of(Words.AnswerOtherDiscarded, other),
            Answer.OtherInSlot => Live.Say.Of(Words.AnswerOtherInSlot, other),
            _ => throw new InvalidOperationException($"The answer {answer} has no words."),
        };
    }

    private static string? SpecimenOf(BenchState state, RequestId? request) => request is { } known ? StepWords.Specimen(state, known) : null;

    private static string Code<T>(T value)
        where T : struct, Enum => JsonNamingPolicy.KebabCaseLower.ConvertName(value.ToString());

    private static T? ByCode<T>(string? code)
        where T : struct, Enum => Enum.GetValues<T>().Where(value => Code(value) == code).Select(value => (T?)value).FirstOrDefault();
}
