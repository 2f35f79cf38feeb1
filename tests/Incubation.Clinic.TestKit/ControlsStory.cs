using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.TestKit;

/// <summary>
/// Controls of an invented clinic: targets, rules, a warning, a rejection, what was done about it, and a good repeat.
/// </summary>
public static class ControlsStory
{
    public static LotCode Kit { get; } = LotCode.Of("A-L1");

    public static ControlMaterial One { get; } = new(LotCode.Of("CTRL-7"), 1);

    public static ControlMaterial Two { get; } = new(LotCode.Of("CTRL-7"), 2);

    /// <summary>The clinic's own story, and then this one.</summary>
    public static IReadOnlyList<StoryCommand> Commands { get; } = Told();

    /// <summary>
    /// After that story: a control's result is amended and rejected, another's is held, and a later program looks at
    /// them by its own rule.
    /// </summary>
    public static IReadOnlyList<StoryCommand> Anew { get; } = JudgedAnew();

    /// <summary>After that story: a target that was typed wrongly is removed.</summary>
    public static IReadOnlyList<StoryCommand> TargetRemoved { get; } = StoryCommand.Numbered(
        [[new ClinicEvent.ControlTargetRemoved(ClinicStory.A, Two, "Typed from another control's sheet.")]], 160);

    /// <summary>After that story: a target with a last day.</summary>
    public static IReadOnlyList<StoryCommand> TargetThatEnds { get; } = StoryCommand.Numbered(
        [[new ClinicEvent.ControlTargetSet(ClinicStory.A, One, new ControlTarget(201, 4), TargetSource.Sheet,
            new LocalDate(2026, 3, 2))]], 165);

    /// <summary>After that story: moving means of two assays, of which one goes.</summary>
    public static IReadOnlyList<StoryCommand> MovingMeans { get; } = StoryCommand.Numbered(
        [
            [new ClinicEvent.MovingMeanSet(ClinicStory.A, new MovingMeanRule(0.1m, 5, 4, 6.5m))],
            [new ClinicEvent.MovingMeanSet(ClinicStory.B, new MovingMeanRule(1, 5, 4, 6.5m))],
            [new ClinicEvent.MovingMeanSet(ClinicStory.B, null)],
        ], 170);

    /// <summary>A control that has not been judged.</summary>
    public static ControlRun Run(string id, ControlMaterial control, decimal value, int minute) => new(
        RequestId.Of(id), ClinicStory.Bench, 1, ClinicStory.A, Kit, control, 0, StoryProvenance.Morning
            + Duration.FromMinutes(minute), StoryProvenance.Morning + Duration.FromMinutes(minute + 1),
        value.ToString(System.Globalization.CultureInfo.InvariantCulture), value, null, [], ControlVerdict.NotJudged);

    private static IReadOnlyList<StoryCommand> JudgedAnew()
    {
        var lot = new MemoryClinic(Commands).Controls.Of(Kit);
        var amended = lot.Judged(lot.Present.Last() with
        {
            Value = 270,
            Shown = "270",
            JudgedAt = StoryProvenance.Morning + Duration.FromMinutes(60),
            Cause = JudgementCause.Amended,
        }, ControlRules.All);
        lot = lot with { Runs = lot.Runs.Add(amended) };
        var aside = lot.SetAside(lot.Present.First(run => run.Request == RequestId.Of("C03")),
            StoryProvenance.Morning + Duration.FromMinutes(61), JudgementCause.RuleChanged);
        return StoryCommand.Numbered(
            [
                [new ClinicEvent.ControlJudged(amended)],
                [new ClinicEvent.ControlJudged(aside)],
                [new ClinicEvent.JudgementRuleTaken(1)],
            ],
            150);
    }

    private static List<StoryCommand> Told()
    {
        var clinic = new MemoryClinic(ClinicStory.Commands);
        List<StoryCommand> commands = [.. ClinicStory.Commands];
        void Say(params ClinicEvent[] events)
        {
            commands.Add(
                new StoryCommand([.. events], StoryProvenance.Of(100 + commands.Count - ClinicStory.Commands.Count)));
            clinic.Record(events, commands[^1].Provenance);
        }

        ClinicEvent Judged(string id, ControlMaterial control, decimal value, int minute) =>
            new ClinicEvent.ControlJudged(clinic.Controls.Of(Kit).Judged(
            Run(id, control, value, minute) with { Target = clinic.Controls.Target(ClinicStory.A, control)?.Target },
            clinic.Controls.RulesOf(ClinicStory.A)));

        Say(
            new ClinicEvent.ControlTargetSet(ClinicStory.A, One, new ControlTarget(200, 4), TargetSource.Sheet),
            new ClinicEvent.ControlTargetSet(ClinicStory.A, Two, new ControlTarget(250, 5.5m), TargetSource.Sheet));
        Say(new ClinicEvent.ControlTargetSet(ClinicStory.A, Two, new ControlTarget(250, 5), TargetSource.OwnRuns));
        Say(new ClinicEvent.ControlRulesSet(ClinicStory.A, ControlRules.All with { TenX = false }));
        Say(Judged("C01", One, 209, 1));
        Say(Judged("C02", Two, 239, 2));
        Say(new ClinicEvent.CorrectiveActionTaken(Kit, [RequestId.Of("C02")], "The control had stood open overnight.",
            "A new vial was opened."));
        Say(new ClinicEvent.ReleasedReviewed(Kit, [new ReleasedResult(ClinicStory.Bench, RequestId.Of("R01"))],
            "Repeated; the same within 5 %."));
        Say(Judged("C03", One, 201, 40));
        Say(Judged("C04", Two, 250, 41));
        Say(new ClinicEvent.ReaderServiced(ClinicStory.Bench, ReaderNumber.Of(1), "Optics cleaned."));
        return commands;
    }
}
