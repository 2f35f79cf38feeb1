using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>A bench in mid-run: steps in progress, the guard, losses.</summary>
public class PlannerMidRunTest
{
    private static RequestId Id(string id) => new(id);

    [Fact]
    public void Plan_MixInProgress_KeepsItsRowAndLoadsAfterIt()
    {
        var mixing = new StepInProgress(new StepAction.Mix(Id("R1")), new HandsNumber(1), Days.At(70));
        var plan =
            Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")], Days.Run(100, [], [mixing])));
        Assert.Equal(Days.At(70), plan.Step<StepAction.Mix>("R1").Start);
        Assert.Equal(Days.At(120), plan.Step<StepAction.Mix>("R1").End);
        Assert.Equal(Days.At(120), plan.Step<StepAction.Load>("R1").Start);
    }

    [Fact]
    public void Plan_MoveInProgressBeforeTheWindowOpens_HandsHold()
    {
        var moving = new StepInProgress(new StepAction.Move(Id("R1"), new ReaderNumber(1)), new HandsNumber(1),
            Days.At(540));
        var run = Days.Run(545, [Days.Reacting("R1", 100, 2)], [moving], (1, "A1-L1"));
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")], run));
        Assert.Equal(Days.At(580), plan.Step<StepAction.Move>("R1").End);
        Assert.Equal(Days.At(580), plan.Step<StepAction.Read>("R1").Start);
    }

    [Fact]
    public void Plan_ReactingAndLittleTimeLeft_UsesTheGuardAndSaysSo()
    {
        // Window 580 to 670, guard from 655; the move takes from 645 to 660.
        var run = Days.Run(645, [Days.Reacting("R1", 100, 1)], null, (1, "A1-L1"));
        var plan = Days.PlanOf(Days.Day(Days.Bench(guard: 15), [Days.Assay()], [Days.Request("R1")], run));
        Assert.Equal([Id("R1")], plan.GuardUsed);
        Assert.Empty(plan.Lost);
    }

    [Fact]
    public void Plan_WindowHasClosed_IsLostWithADiscard()
    {
        var run = Days.Run(700, [Days.Reacting("R1", 100, 1)], null, (1, "A1-L1"));
        var plan =
            Days.PlanOf(Days.Day(Days.Bench(slots: 1), [Days.Assay()], [Days.Request("R1"), Days.Request("R2")], run));
        Assert.Contains("2026-03-02T08:11:10Z", LeftOutText.Of(Assert.Single(plan.Lost).Why), StringComparison.Ordinal);

        // Its slot is taken until it has been discarded.
        Assert.True(plan.Step<StepAction.Load>("R2").Start >= plan.Step<StepAction.Discard>("R1").End);
        Assert.False(plan.Proved && plan.Cost < plan.Bound);
    }

    [Fact]
    public void Plan_MixtureTooOld_IsLostNotUnplaced()
    {
        var mixed = new CartridgeInWork(Id("R1"), new CartridgePhase.Mixed(new InstantRange(Days.At(10), Days.At(10))));
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")], Days.Run(200, [mixed])));
        Assert.Equal(Id("R1"), Assert.Single(plan.Lost).Request);
        Assert.Empty(plan.Unplaced);
    }

    [Theory]
    [InlineData("no specimen left", "R2")]
    [InlineData("urgent", "R2")]
    [InlineData("patient", "R2")]
    public void Plan_OneOfTwoMustBeLost_KeepsTheOneThatWeighsMore(string what, string kept)
    {
        // Both windows close at 670 and each read holds the reader for 65 s.
        var first = Days.Request("R1", kind: what == "patient" ? RequestKind.Control : RequestKind.Patient);
        var second = Days.Request("R2", repeatLeft: what != "no specimen left", urgent: what == "urgent");
        var run = Days.Run(640, [Days.Reacting("R1", 100, 1), Days.Reacting("R2", 100, 2)], null, (1, "A1-L1"));
        var plan = Days.PlanOf(Days.Day(Days.Bench(), [Days.Assay()], [first, second], run));
        Assert.Equal(kept == "R2" ? "R1" : "R2", Assert.Single(plan.Lost).Request.Value);
    }

    [Fact]
    public void Plan_UpToSixReacting_LosesWhatEnumerationLoses()
    {
        for (var seed = 1UL; seed <= 150; seed++)
        {
            var day = CrowdedReader(seed);
            var plan = Planner.Plan(day, seed, new IterationBudget(4000)).Plan;
            Assert.Empty(PlanChecker.Check(day, plan));
            var worth = PlanWorth.Of(day, plan);
            var best = CrowdedReaderBest(day);
            Assert.True((worth.Losses, worth.GuardMs) == best, $"seed {seed}: planned {worth}, best {best}");
        }
    }

    /// <summary>Two to six cartridges of one lot whose windows close together on one reader.</summary>
    private static BenchDay CrowdedReader(ulong seed)
    {
        var random = new SeededRandom(seed);
        var count = random.Between(2, 6);
        var assay = Days.Assay(incubation: 300, window: random.Between(60, 200), read: random.Between(20, 60));
        var requests = Enumerable.Range(1, count).Select(i => Days.Request(
            $"R{i}", repeatLeft: random.Chance(0.6), urgent: random.Chance(0.3), kind: random.Chance(0.3)
                ? RequestKind.Control : RequestKind.Patient)).ToList();
        var reacting = Enumerable.Range(1, count).Select(i => Days.Reacting($"R{i}", random.Between(0, 150), i))
            .ToList();
        return Days.Day(Days.Bench(slots: 6, guard: 10), [assay], requests,
            Days.Run(random.Between(280, 400), reacting, null, (1, "A1-L1")));
    }

    /// <summary>
    /// With one reader and one lot a plan is an order of those that are saved: all orders of all subsets.
    /// </summary>
    private static (long, long) CrowdedReaderBest(BenchDay day)
    {
        var tiny = new TinyDay(day);
        var best = (long.MaxValue, 0L);
        Follow([], tiny.Now, 0);
        return best;

        void Follow(List<int> saved, long free, long guard)
        {
            var losses = tiny.Jobs.Where((_, j) => !saved.Contains(j)).Sum(j => j.LossKey);
            if ((losses, guard).CompareTo(best) < 0)
                best = (losses, guard);
            for (var j = 0; j < tiny.Jobs.Count; j++)
            {
                if (saved.Contains(j))
                    continue;
                var job = tiny.Jobs[j];
                var opens = job.EndLatest + TinyDay.Ms(job.Assay.Incubation);
                var read = Math.Max(free + TinyDay.Ms(job.Assay.Move), opens);
                var close = opens + TinyDay.Ms(job.Assay.ReadWindow);
                if (read <= close)
                    Follow([.. saved, j], read + TinyDay.Ms(job.Assay.Read) + TinyDay.Ms(job.Assay.Clear),
                        guard + Math.Max(0, read - close + tiny.Guard));
            }
        }
    }
}
