using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Exchange.Lis;
using Incubation.Service.Text;

namespace Incubation.Service.Instruments;

/// <summary>The words of what came by wire.</summary>
public static class WireText
{
    /// <summary>So many of a reader's remarks are shown with a result.</summary>
    private const int MostRemarks = 5;

    /// <summary>A result as the reader said it, with what it remarks: "T-1003 · CRP · 12.4 mg/L".</summary>
    public static string Of(ReaderResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        return Say.Dotted(result.Specimen ?? (result.IsSpecimenUnreadable ? InstrumentWords.SpecimenUnreadable
                : InstrumentWords.NoSpecimenNamed), result.Test,
            result.Value.Text.Length > 0 ? $"{result.Value.Text} {result.Unit}".Trim() : InstrumentWords.NoValueGiven,
            string.Join("; ", result.Warnings.Concat(result.Comments).Distinct().Take(MostRemarks)));
    }

    /// <summary>What became of it.</summary>
    public static string Of(WireFate fate)
    {
        ArgumentNullException.ThrowIfNull(fate);
        return fate.Verdict switch
        {
            WireVerdict.Entered => Say.Of(InstrumentWords.VerdictEntered, fate.Request),
            WireVerdict.AlreadyThere => Say.Of(InstrumentWords.VerdictThere, fate.Request),
            WireVerdict.Proposed => Say.Of(InstrumentWords.VerdictProposed, fate.Request),
            WireVerdict.Shown => InstrumentWords.VerdictShown,
            _ => Say.Of(InstrumentWords.VerdictAsked, fate.Question is { } why ? Of(why) : ""),
        };
    }

    /// <summary>What was decided about it later.</summary>
    /// <param name="settled">That.</param>
    /// <param name="name">Who said so.</param>
    public static string Of(WireSettled settled, string name)
    {
        ArgumentNullException.ThrowIfNull(settled);
        return settled.Settling switch
        {
            WireSettling.Entered => Say.Of(InstrumentWords.SettledEntered, settled.Request, name, settled.Why),
            WireSettling.Matched => Say.Of(InstrumentWords.SettledMatched, settled.Request),
            _ => Say.Of(InstrumentWords.SettledAside, name, settled.Why),
        };
    }

    /// <summary>Why a person must say.</summary>
    public static string Of(MatchQuestion why) => why switch
    {
        MatchQuestion.NotMeant => InstrumentWords.AskNotMeant,
        MatchQuestion.NotUnderstood => InstrumentWords.AskNotUnderstood,
        MatchQuestion.NotFinal => InstrumentWords.AskNotFinal,
        MatchQuestion.Correction => InstrumentWords.AskCorrection,
        MatchQuestion.OtherUnit => InstrumentWords.AskOtherUnit,
        MatchQuestion.NoSpecimen => InstrumentWords.AskNoSpecimen,
        MatchQuestion.OtherSpecimen => InstrumentWords.AskOtherSpecimen,
        MatchQuestion.OtherAssay => InstrumentWords.AskOtherAssay,
        MatchQuestion.OtherKind => InstrumentWords.AskOtherKind,
        MatchQuestion.OtherTime => InstrumentWords.AskOtherTime,
        MatchQuestion.SeveralCartridges => InstrumentWords.AskSeveral,
        MatchQuestion.OtherValue => InstrumentWords.AskOtherValue,
        MatchQuestion.Discarded => InstrumentWords.AskDiscarded,
        MatchQuestion.UnknownTest => InstrumentWords.AskUnknownTest,
        MatchQuestion.SentBefore => InstrumentWords.AskSentBefore,
        MatchQuestion.NotTaken => InstrumentWords.AskNotTaken,
        MatchQuestion.ReaderRemarks => InstrumentWords.AskReaderRemarks,
        MatchQuestion.SeveralValues => InstrumentWords.AskSeveralValues,
        _ => throw new ArgumentOutOfRangeException(nameof(why), why, "This question has no words."),
    };

    /// <summary>How its line is.</summary>
    public static string Of(LineFigures figures, WireTransport transport)
    {
        ArgumentNullException.ThrowIfNull(figures);
        return figures.Trouble is { } trouble ? trouble
            : figures.Connections > 0 ? InstrumentWords.LineConnected
            : transport is WireTransport.Tcp ? InstrumentWords.LineListening : InstrumentWords.LineClosed;
    }
}
