using System.Globalization;
using Incubation.Clinic;
using Incubation.Model.Controls;
using Incubation.Service.Text;

namespace Incubation.Service.Controls;

/// <summary>The words of controls.</summary>
public static class ControlText
{
    /// <summary>What an event about controls says, in a sentence; null for any other event.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.ControlTargetSet set => Say.Of(
            ControlsWords.LogTargetSet, set.Assay, set.Control.Lot, set.Control.Level, Number(set.Target.Mean),
                Number(set.Target.StandardDeviation), Of(set.Source))
            + (set.LastDay is { } day ? Say.Of(ControlsWords.LogTargetUntil, Say.Day(day)) : ""),
        ClinicEvent.ControlTargetRemoved removed => Say.Of(ControlsWords.LogTargetRemoved, removed.Assay,
            removed.Control.Lot, removed.Control.Level, removed.Why),
        ClinicEvent.MovingMeanSet { Rule: { } rule } set => Say.Of(ControlsWords.LogMeanSet, set.Assay,
            Number(rule.Center), Number(rule.Low), Number(rule.High), Number(rule.Weight)),
        ClinicEvent.MovingMeanSet set => Say.Of(ControlsWords.LogMeanRemoved, set.Assay),
        ClinicEvent.ControlRulesSet set => Say.Of(ControlsWords.LogRulesSet, set.Assay, Names(set.Rules)),
        // A value is a result: it stands on the page of controls, for those who may read it.
        ClinicEvent.ControlJudged { Run: var run } => Say.Of(
            ControlsWords.LogControlJudged, run.Request, run.Lot, run.Control.Level, Verdict(run),
                string.Join(", ", run.Violations.Select(violation => Name(violation.Rule)))).TrimEnd(),
        ClinicEvent.JudgementRuleTaken => ControlsWords.LogRuleTaken,
        ClinicEvent.CorrectiveActionTaken taken =>
            Say.Of(ControlsWords.LogCorrectiveAction, taken.Lot, taken.Found, taken.Done),
        ClinicEvent.ReleasedReviewed reviewed =>
            Say.Of(ControlsWords.LogReviewed, reviewed.Lot, reviewed.Results.Length, reviewed.Finding),
        ClinicEvent.ReaderServiced serviced =>
            Say.Of(ControlsWords.LogReaderServiced, serviced.Reader, serviced.Bench, serviced.What),
        _ => null,
    };

    /// <summary>Levels, each once: "level 1", "levels 1 and 2", "levels 1, 2 and 3".</summary>
    public static string Levels(IEnumerable<int> levels) => levels.Distinct().Order().ToList() switch
    {
        [var one] => Say.Of(ControlsWords.LevelOne, one),
        [.. var others, var last] => Say.Of(ControlsWords.LevelMany, string.Join(", ", others), last),
        [] => "",
    };

    /// <summary>Where a target comes from.</summary>
    public static string Of(TargetSource source) => source == TargetSource.Sheet
        ? ControlsWords.SourceSheet : ControlsWords.SourceOwnRuns;

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
    public static string Names(ControlRules rules) => rules.On.Any()
        ? string.Join(", ", rules.On.Select(Name)) : ControlsWords.RuleOff;

    /// <summary>What became of a control.</summary>
    public static string Verdict(ControlRun run) => run.Verdict switch
    {
        ControlVerdict.Accepted => run.Violations.IsEmpty
            ? ControlsWords.VerdictAccepted : ControlsWords.VerdictWarning,
        ControlVerdict.Rejected => ControlsWords.VerdictRejected,
        ControlVerdict.SetAside => run.Cause == JudgementCause.RuleChanged
            ? ControlsWords.VerdictSetAsideByRule : ControlsWords.VerdictSetAside,
        _ => ControlsWords.VerdictNotJudged,
    };

    /// <summary>What became of a control, and whether that still stands.</summary>
    public static string Standing(ControlRun run, LotHistory lot)
    {
        ArgumentNullException.ThrowIfNull(lot);
        return Say.Dotted(Verdict(run), lot.IsSuperseded(run) ? ControlsWords.Superseded : null,
            run.Cause switch
            {
                JudgementCause.Amended => ControlsWords.JudgedAmended,
                JudgementCause.TimeCorrected => ControlsWords.JudgedTimeCorrected,
                _ => null,
            });
    }

    /// <summary>What a rule says, in a few words.</summary>
    public static string Explain(ControlRule rule) => rule switch
    {
        ControlRule.OneTwoS => ControlsWords.ExplainOneTwoS,
        ControlRule.OneThreeS => ControlsWords.ExplainOneThreeS,
        ControlRule.TwoTwoS => ControlsWords.ExplainTwoTwoS,
        ControlRule.RFourS => ControlsWords.ExplainRFourS,
        ControlRule.FourOneS => ControlsWords.ExplainFourOneS,
        _ => ControlsWords.ExplainTenX,
    };

    /// <summary>
    /// The rules that a control breaks, each with the earlier controls by which it does; "–" where it breaks none.
    /// </summary>
    public static string Broken(ControlRun run)
    {
        if (run.Verdict == ControlVerdict.Rejected && run.Violations.IsEmpty)
            return ControlsWords.BeyondRange;
        return run.Violations.IsEmpty
            ? "–" : string.Join("; ", run.Violations.Select(violation => violation.With.IsEmpty
            ? Name(violation.Rule)
            : Say.Of(ControlsWords.With, Name(violation.Rule), string.Join(", ", violation.With))));
    }

    /// <summary>How many standard deviations a control lies above its mean; "–" where it cannot be compared.</summary>
    public static string Z(ControlRun run) => run.Z is { } z
        ? z.ToString("+0.00;−0.00;0.00", CultureInfo.InvariantCulture) : "–";

    /// <summary>A control as it is said beside its mark: "209 mg/L, z +2.25, accepted, with a warning".</summary>
    public static string Spoken(ControlRun run, string unit, LotHistory lot) => Say.Dotted(
        Say.Of(ControlsWords.Spoken, run.Shown, unit, Z(run), Standing(run, lot)), run.Violations.IsEmpty
            ? null : string.Join(", ", run.Violations.Select(violation => Name(violation.Rule))));

    /// <summary>A number as people read it, no zeros at its end.</summary>
    public static string Number(decimal value) => value.ToString("0.######", CultureInfo.InvariantCulture);
}
