using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

public sealed class PlanReplacementTest
{
    private static readonly SearchPolicy Cheap = new(SearchWhen.Needed, Duration.Zero);

    [Fact]
    public void Propose_ReportInTime_PullsTheAdoptedPlanWithoutASearch()
    {
        var scene = Running(Request("R1"), Request("R2"), Request("R3"));
        scene.Say(40, new BenchCommand.Mixed(First(scene)));
        var budget = new Asked();
        var proposed = Assert.Single(PlanReplacement.Propose(scene.Now, At(40), PlanCause.Report, 1, budget, Cheap));
        Assert.Equal((0L, 0L), (budget.Times, proposed.Origin.Iterations));
        Assert.Equal(At(40), proposed.Plan.Steps.Min(s => s.Start));
        Assert.Equal(scene.Now.Adopted!.AsItStands.Steps.Select(s => s.Action),
            proposed.Plan.Steps.Select(s => s.Action));
    }

    [Fact]
    public void Propose_NothingChanged_IsEmpty()
    {
        var scene = Running(Request("R1"), Request("R2"));
        Assert.Empty(PlanReplacement.Propose(scene.Now, At(0), PlanCause.Report, 1, new Asked(), Cheap));
    }

    [Fact]
    public void Propose_DemandChanged_Searches()
    {
        var scene = Running(Request("R1"), Request("R2"));
        scene.Say(10, new BenchCommand.AddRequests([Request("R3")]));
        var proposed = PlanReplacement.Propose(scene.Now, At(10), PlanCause.RequestsChanged, 1, new Asked(), Cheap);
        Assert.Contains(proposed[0].Plan.Steps, s => s.Action.Subject == R("R3"));
    }

    [Fact]
    public void Propose_StepHasLeftItsSpareTime_Searches()
    {
        // The window of R1 closes at 10:35; ten seconds before, its move has not begun, so the guard is in use.
        var scene = Running(Request("R1"), Request("R2"));
        var first = First(scene);
        scene.Say(50, new BenchCommand.Mixed(first));
        scene.Say(75, new BenchCommand.Loaded(first, Slot(1), false));
        var budget = new Asked();
        PlanReplacement.Propose(scene.Now, At(75), PlanCause.Report, 1, budget, Cheap);
        Assert.Equal(0, budget.Times);
        PlanReplacement.Propose(scene.Now, At(625), PlanCause.StepOverran, 1, budget, Cheap);
        Assert.True(budget.Times > 0);
    }

    [Fact]
    public void Propose_SearchAlways_SearchesAfterEveryReport()
    {
        // So many, some of them urgent, that the first plan cannot be known to be the best.
        var scene =
            Running(
                [.. Enumerable.Range(1, 9)
                    .Select(i => Request($"R{i}", priority: i % 3 == 0 ? Priority.Urgent : Priority.Routine))]);
        scene.Say(40, new BenchCommand.Mixed(First(scene)));
        foreach (var (policy, searches) in new[] { (Cheap, false), (Cheap with { Search = SearchWhen.Always }, true) })
        {
            var budget = new Asked();
            PlanReplacement.Propose(scene.Now, At(40), PlanCause.Report, 1, budget, policy);
            Assert.Equal(searches, budget.Times > 0);
        }
    }

    /// <summary>
    /// Here each window has room for 90 − 15 (guard) − 10 (spread of the load) = 65 s, so at most 32.5 s of margin.
    /// </summary>
    [Theory]
    [InlineData(0, 0)]
    [InlineData(20, 20)]
    [InlineData(500, 32.5)]
    public void Propose_WithAMargin_KeepsSoMuchMoreOfEachWindow(int margin, double kept)
    {
        var scene = Open();
        scene.Say(0, new BenchCommand.AddRequests([.. Enumerable.Range(1, 8).Select(i => Request($"R{i}"))]));
        scene.Say(0, new BenchCommand.StartBatch());
        var plan = PlanReplacement.Propose(scene.Now, At(0), PlanCause.BatchStarted, 1, new IterationBudget(300),
            new SearchPolicy(SearchWhen.Needed, Seconds(margin)))[0].Plan;
        var assay = Assay();
        foreach (var read in plan.Steps.Where(s => s.Action is StepAction.Read))
        {
            var load = plan.Steps.Single(s => s.Action is StepAction.Load && s.Action.Subject == read.Action.Subject);
            var mix = plan.Steps.Single(s => s.Action is StepAction.Mix && s.Action.Subject == read.Action.Subject);
            Assert.True(read.Start <= load.Start + assay.LoadShortest + assay.Incubation
                + assay.ReadWindow - Seconds(15) - Seconds(kept));
            Assert.True(load.Start <= mix.Start + assay.MixShortest
                + assay.MixToLoad - Seconds(Math.Min(margin, 52.5)));
        }
        Assert.Empty(plan.Unplaced);
        Assert.IsType<Decision.Accepted>(
            scene.Say(0,
                new BenchCommand.AdoptPlan(plan, new PlanOrigin(PlanCause.BatchStarted, 1, 0, Planner.Version))));
        Assert.True(plan.Bound <= plan.Cost);
    }

    [Fact]
    public void Propose_MarginThatWouldCostACartridge_IsGivenUp()
    {
        // Mixed at 50 s at the latest, by 35 s at the earliest; loads are free until 35 + 120 s, which no margin
        // shortens any more.
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        var plan = PlanReplacement.Propose(scene.Now, At(154), PlanCause.StepOverran, 1, new IterationBudget(50),
            new SearchPolicy(SearchWhen.Needed, Seconds(60)))[0].Plan;
        Assert.Empty(plan.Lost);
    }

    /// <summary>A code may be as long as an identifier may be, in every version and with a margin.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(62)]
    [InlineData(63)]
    [InlineData(64)]
    public void Propose_TwoVersionsOfAnAssayOfAnyCode_PlansBoth(int length)
    {
        var assay = Assay(new string('A', length));
        var second = Request("R2", assay) with { AssayVersion = 2, Assay = assay with { Incubation = Seconds(60) } };
        var scene = Running(Request("R1", assay), second);
        var day = LiveBench.Problem(scene.Now, At(0));
        Assert.Equal([1, 2], day.Assays.Select(one => one.Version));
        Assert.Equal([1, 2], day.Requests.Select(request => request.AssayVersion));
        Assert.Empty(scene.Now.Adopted!.Plan.Unplaced);
        Assert.Equal(2, scene.Now.Adopted.Plan.Steps.Count(step => step.Action is StepAction.Clear));
    }

    private static RequestId First(Scene scene) => scene.View(0).Offers[0].Action.Subject!.Value;

    /// <summary>A budget that counts how often it is asked, and allows a few iterations.</summary>
    private sealed class Asked : ISearchBudget
    {
        public long Times { get; private set; }

        public bool AllowsMore(long iterationsDone)
        {
            Times++;
            return iterationsDone < 50;
        }
    }
}
