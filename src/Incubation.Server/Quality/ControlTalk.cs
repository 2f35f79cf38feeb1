using System.Globalization;
using Incubation.Model.Quality;
using Incubation.Records.Clinic;
using Incubation.Server.Live;

namespace Incubation.Server.Quality;

/// <summary>The words of controls.</summary>
public static class ControlTalk
{
    /// <summary>What an event about controls says, in a sentence; null for any other event.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.ControlTargetSet set => Say.Of(
            QualityWords.LogTargetSet, set.Assay, set.Control.Lot, set.Control.Level, Number(set.Target.Mean), Number(set.Target.StandardDeviation), Of(set.Source)),
        ClinicEvent.ControlRulesSet set => Say.Of(QualityWords.LogRulesSet, set.Assay, Names(set.Rules)),
        // A value is a result: it stands on the page of controls, for those who may read it.
        ClinicEvent.ControlJudged { Run: var run } => Say.Of(
            QualityWords.LogControlJudged, run.Request, run.Lot, run.Control.Level, Verdict(run), string.Join(", ", run.Violations.Select(violation => Name(violation.Rule)))).TrimEnd(),
        ClinicEvent.CorrectiveActionTaken taken => Say.Of(QualityWords.LogCorrectiveAction, taken.Lot, taken.Found, taken.Done),
        ClinicEvent.ReleasedReviewed reviewed => Say.Of(QualityWords.LogReviewed, reviewed.Lot, reviewed.Results.Length, reviewed.Finding),
        ClinicEvent.ReaderServiced serviced => Say.Of(QualityWords.LogReaderServiced, serviced.Reader, serviced.Bench, serviced.What),
        _ => null,
    };

    /// <summary>Where a target comes from.</summary>
    public static string Of(TargetSource source) => source == TargetSource.Sheet ? QualityWords.SourceSheet : QualityWords.SourceOwnRuns;

    /// <summary>The rule as the literature writes it: "1-3s".</summary>
    public static string Name(ControlRule rule) => rule switch
    {
        ControlRule.OneTwoS => "1-2s",
        ControlRule.OneThreeS => "1-3s",
        ControlRule.TwoTwoS => "2-2s",
        ControlRule.RFourS => "R-4s",
        ControlRule.FourOneS => "4-1s",
        _ => "10x",
    };

    /// <summary>The rules that are on.</summary>
    public static string Names(ControlRules rules) => rules.On.Any() ? string.Join(", ", rules.On.Select(Name)) : QualityWords.RuleOff;

    /// <summary>What became of a control.</summary>
    public static string Verdict(ControlRun run) => run.Verdict switch
    {
        ControlVerdict.Accepted => run.Violations.IsEmpty ? QualityWords.VerdictAccepted : QualityWords.VerdictWarning,
        ControlVerdict.Rejected => QualityWords.VerdictRejected,
        _ => QualityWords.VerdictNotJudged,
    };

    /// <summary>A number as people read it, no zeros at its end.</summary>
    public static string Number(decimal value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}
