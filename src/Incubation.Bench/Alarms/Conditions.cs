using System.Collections.Immutable;

namespace Incubation.Bench;

/// <summary>What an aide can do about an alarm with one tap, or where a tap leads.</summary>
public enum AlarmAction
{
    /// <summary>The read has been started.</summary>
    ReadStarted,

    /// <summary>The well has been loaded.</summary>
    Loaded,

    /// <summary>The cartridge is thrown away, with a reason.</summary>
    Discard,

    /// <summary>The read was started in time, at the time that the reader shows.</summary>
    StartedInTime,

    /// <summary>To the page on which the time is confirmed.</summary>
    ConfirmTime,

    /// <summary>Somebody has seen it: it stands on without sound, and goes to nobody else.</summary>
    Acknowledge,
}

/// <summary>A row of the table of conditions.</summary>
/// <param name="Kind">Which alarm.</param>
/// <param name="Code">Its name in addresses, snapshots and messages.</param>
/// <param name="Priority">How urgent.</param>
/// <param name="IsLatching">Whether it stands on, after its cause has passed, until somebody acknowledges it: it may
/// have passed unseen.</param>
/// <param name="GoesOnAtOnce">Whether it goes to the wall and further without waiting for the bench: there is nobody to
/// wait for.</param>
/// <param name="Actions">What can be tapped, the best first.</param>
/// <param name="Name">In a few words, without a cartridge or a person in them.</param>
/// <param name="When">The condition.</param>
/// <param name="Do">What the aide must do.</param>
/// <param name="Ends">When it ends.</param>
/// <param name="Act">The one act that it asks for, in a few words; never empty.</param>
public sealed record Condition(
    AlarmKind Kind, string Code, AlarmPriority Priority, bool IsLatching, bool GoesOnAtOnce,
        ImmutableArray<AlarmAction> Actions,
    string Name, string When, string Do, string Ends, string Act)
{
    /// <summary>
    /// Whether it is a line on the screen and no alarm: nothing is at risk and nothing at the bench ends it, so that it
    /// makes no sound, goes to nobody else, and asks for no "seen".
    /// </summary>
    public bool IsLine => Actions.IsEmpty;
}

/// <summary>A planned step, which is prompted and is no alarm.</summary>
/// <param name="Code">The step.</param>
/// <param name="Do">What the aide must do.</param>
/// <param name="Ends">When the prompt ends.</param>
public sealed record PromptedStep(string Code, string Do, string Ends);

/// <summary>
/// The table of conditions: everything that makes a bench sound, in one place. Screens, sounds, the wall and messages
/// follow it; Conditions.md shows it to people, and a test keeps the two the same.
/// </summary>
public static class Conditions
{
    private static readonly ImmutableDictionary<AlarmKind, Condition> ByKind;

    static Conditions()
    {
        All =
        [
            new(AlarmKind.WindowClosed, "window-closed", AlarmPriority.High, false, false,
                [AlarmAction.Discard, AlarmAction.StartedInTime, AlarmAction.Acknowledge],
                Words.WindowClosed, Words.WindowClosedWhen, Words.WindowClosedDo, Words.WindowClosedEnds,
                Words.WindowClosedAct),
            new(AlarmKind.CannotBeSaved, "cannot-be-saved", AlarmPriority.High, false, false,
                [AlarmAction.Discard, AlarmAction.Acknowledge],
                Words.CannotBeSaved, Words.CannotBeSavedWhen, Words.CannotBeSavedDo, Words.CannotBeSavedEnds,
                Words.CannotBeSavedAct),
            new(AlarmKind.MixtureTooOld, "mixture-too-old", AlarmPriority.High, false, false,
                [AlarmAction.Discard, AlarmAction.Acknowledge],
                Words.MixtureTooOld, Words.MixtureTooOldWhen, Words.MixtureTooOldDo, Words.MixtureTooOldEnds,
                Words.MixtureTooOldAct),
            new(AlarmKind.IncubatorSpoils, "incubator-spoils", AlarmPriority.High, false, false,
                [AlarmAction.Discard, AlarmAction.Acknowledge],
                Words.IncubatorSpoils, Words.IncubatorSpoilsWhen, Words.IncubatorSpoilsDo, Words.IncubatorSpoilsEnds,
                Words.IncubatorSpoilsAct),
            new(AlarmKind.ClockInDoubt, "clock", AlarmPriority.High, false, false,
                [AlarmAction.ConfirmTime, AlarmAction.Acknowledge],
                Words.ClockInDoubt, Words.ClockInDoubtWhen, Words.ClockInDoubtDo, Words.ClockInDoubtEnds,
                Words.ClockInDoubtAct),
            new(AlarmKind.NoScreen, "no-screen", AlarmPriority.High, true, true, [AlarmAction.Acknowledge],
                Words.NoScreen, Words.NoScreenWhen, Words.NoScreenDo, Words.NoScreenEnds,
                Words.NoScreenAct),
            new(AlarmKind.CannotPlan, "cannot-plan", AlarmPriority.High, false, false, [AlarmAction.Acknowledge],
                Words.CannotPlan, Words.CannotPlanWhen, Words.CannotPlanDo, Words.CannotPlanEnds,
                Words.CannotPlanAct),
            new(AlarmKind.WindowInDanger, "window-in-danger", AlarmPriority.Medium, false, false,
                [AlarmAction.ReadStarted, AlarmAction.Acknowledge],
                Words.WindowInDanger, Words.WindowInDangerWhen, Words.WindowInDangerDo, Words.WindowInDangerEnds,
                Words.WindowInDangerAct),
            new(AlarmKind.MixtureInDanger, "mixture-in-danger", AlarmPriority.Medium, false, false,
                [AlarmAction.Loaded, AlarmAction.Acknowledge],
                Words.MixtureInDanger, Words.MixtureInDangerWhen, Words.MixtureInDangerDo, Words.MixtureInDangerEnds,
                Words.MixtureInDangerAct),
            new(AlarmKind.CartridgeAstray, "astray", AlarmPriority.Medium, false, false,
                [AlarmAction.Discard, AlarmAction.Acknowledge],
                Words.Astray, Words.AstrayWhen, Words.AstrayDo, Words.AstrayEnds,
                Words.AstrayAct),
            new(AlarmKind.IncubatorOutside, "incubator-outside", AlarmPriority.Medium, false, false,
                [AlarmAction.Acknowledge],
                Words.IncubatorOutside, Words.IncubatorOutsideWhen, Words.IncubatorOutsideDo,
                    Words.IncubatorOutsideEnds,
                Words.IncubatorOutsideAct),
            new(AlarmKind.CannotPlanAtRest, "cannot-plan-at-rest", AlarmPriority.Low, false, false, [],
                Words.CannotPlanAtRest, Words.CannotPlanAtRestWhen, Words.CannotPlanAtRestDo, Words.CannotPlanEnds,
                Words.CannotPlanAtRestAct),
            new(AlarmKind.SetAside, "set-aside", AlarmPriority.Low, false, false, [],
                Words.SetAside, Words.SetAsideWhen, Words.SetAsideDo, Words.SetAsideEnds,
                Words.SetAsideAct),
            new(AlarmKind.ProbeSilent, "probe-silent", AlarmPriority.Low, false, false, [],
                Words.ProbeSilent, Words.ProbeSilentWhen, Words.ProbeSilentDo, Words.ProbeSilentEnds,
                Words.ProbeSilentAct),
            new(AlarmKind.NotSentOn, "not-sent-on", AlarmPriority.Low, true, false, [AlarmAction.Acknowledge],
                Words.NotSentOn, Words.NotSentOnWhen, Words.NotSentOnDo, Words.NotSentOnEnds,
                Words.NotSentOnAct),
        ];
        ByKind = All.ToImmutableDictionary(condition => condition.Kind);
    }

    /// <summary>Every condition, the most urgent first.</summary>
    public static ImmutableArray<Condition> All { get; }

    /// <summary>The steps that are prompted.</summary>
    public static ImmutableArray<PromptedStep> Prompts { get; } =
    [
        new("mix", Words.MixDo, Words.MixEnds),
        new("load", Words.LoadDo, Words.LoadEnds),
        new("move", Words.MoveDo, Words.MoveEnds),
        new("clear", Words.ClearDo, Words.ClearEnds),
        new("card-change", Words.CardChangeDo, Words.CardChangeEnds),
        new("discard", Words.DiscardDo, Words.DiscardEnds),
    ];

    /// <summary>The row of a kind of alarm.</summary>
    public static Condition Of(AlarmKind kind) => ByKind[kind];

    /// <summary>The condition of this code, or null.</summary>
    public static Condition? Find(string? code) => All.FirstOrDefault(condition => condition.Code == code);
}
