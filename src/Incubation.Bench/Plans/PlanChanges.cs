using Incubation.Model;

namespace Incubation.Bench;

/// <summary>How adopting a plan changes the state, and what ends its rows.</summary>
internal static class PlanChanges
{
    public static BenchState Adopted(BenchState state, BenchEvent.PlanAdopted adopted, Provenance provenance)
    {
        var rows = adopted.Plan.Steps
            .Select((step, index) => new RemainingStep(step, adopted.Spares[index]))
            .OrderBy(row => row.Step.Start).ThenBy(row => row.Step.End);
        return PlanTroubleChanges.Works(state).InRun(run => run with
        {
            Adopted = new AdoptedPlan(adopted.Plan, adopted.Origin, provenance.At, [.. rows]),
            // A cartridge given up before keeps its time: another plan does not restart its alarm.
            GivenUp =
                [.. adopted.Plan.Lost.Select(left =>
                    new GivenUp(left.Request, state.GivenUpSince(left.Request) ?? provenance.At))],
        });
    }

    /// <summary>Ends the row that did this, wherever it was planned to be done.</summary>
    public static BenchState WithoutFirstRow(BenchState state, StepAction action)
    {
        if (state.Adopted is not { } adopted || adopted.RowAnywhereOf(action) is not { } row)
            return state;
        return state.InRun(run => run with
        {
            Adopted = adopted with { Remaining = adopted.Remaining.Remove(row) },
        });
    }

    public static BenchState WithoutRows(BenchState state, Func<StepAction, bool> which) =>
        state.Adopted is { } adopted
            ? state.InRun(run =>
                run with
                { Adopted = adopted with { Remaining = adopted.Remaining.RemoveAll(row => which(row.Step.Action)) } })
            : state;
}
