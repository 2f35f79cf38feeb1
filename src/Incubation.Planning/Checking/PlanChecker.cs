using Incubation.Model;

namespace Incubation.Planning.Checking;

/// <summary>A rule that a plan breaks.</summary>
/// <param name="Rule">Number of the rule, 1 to 8, as the planning room's README lists them; 0 for the form of the plan
/// itself.</param>
/// <param name="What">What is wrong, in words, with the request, the times and the limit.</param>
/// <param name="StepIndex">Place of the row in <see cref="Plan.Steps"/>, or null.</param>
public sealed record PlanFault(int Rule, string What, int? StepIndex);

/// <summary>Holds a plan against every rule, one rule a method, sharing no code with the planner.</summary>
/// <remarks>
/// It judges what a plan says, not how good it is. Where the rules leave room it takes the wider reading: a needless
/// card change, rows in any order and the row of a read that has just ended are all legal.
/// </remarks>
public static class PlanChecker
{
    /// <summary>The rules that the plan breaks; empty when it is valid.</summary>
    /// <param name="day">A day that does not contradict itself.</param>
    /// <param name="plan">Its plan, from whatever source.</param>
    public static IReadOnlyList<PlanFault> Check(BenchDay day, Plan plan)
    {
        ArgumentNullException.ThrowIfNull(day);
        ArgumentNullException.ThrowIfNull(plan);
        var reading = new PlanReading(day, plan);
        return [
            .. FormRules.RowsNameWhatExists(reading),
            .. FormRules.TimesAreWellFormed(reading),
            .. FormRules.EveryRequestIsPlacedOrNamed(reading),
            .. FormRules.EveryCartridgeHasItsRows(reading),
            .. FormRules.BegunStepsStandAsTheyBegan(reading),
            .. FormRules.NothingElseStartsBeforeNow(reading),
            .. FormRules.PlacesSuitTheAssay(reading),
            .. FormRules.LostCartridgesAreDiscarded(reading),
            .. StepRules.Mix(reading),
            .. StepRules.Load(reading),
            .. StepRules.MoveAndReadFromASlot(reading),
            .. StepRules.GuardUseIsNamed(reading),
            .. StepRules.ReadInsideTheReader(reading),
            .. StepRules.ReadAndClear(reading),
            .. ResourceRules.Cards(reading),
            .. ResourceRules.OneThingAtATime(reading),
            .. ResourceRules.Calendar(reading),
            .. ResourceRules.After(reading),
            .. CostRule.FiguresAgree(reading),
        ];
    }
}
