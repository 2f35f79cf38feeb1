using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Tests;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests;

/// <summary>An urgent request that comes while a batch runs, on benches that have been played up to then.</summary>
public sealed class UrgentFirstTest
{
    private const int OrdersMost = 400_000;
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly RequestId Urgent = new("URG");
    private static readonly PersonId Aide = new("aide");

    /// <summary>
    /// The routine requests that wait can always come later, so no plan without a loss can be asked to bring the urgent
    /// one sooner than the best of those without them: every order of their steps is tried.
    /// </summary>
    [Theory]
    [InlineData(1, 1)]
    [InlineData(2, 1000)]
    public void UrgentInMidBatch_EndsAsSoonAsInAnyPlanWithoutALoss(int hands, ulong firstSeed)
    {
        var days = CaseCount.Of(20, 60);
        var compared = 0;
        var late = new List<string>();
        for (var seed = firstSeed; seed < firstSeed + (ulong)days; seed++)
        {
            var bench = Played(seed, hands, routine: 3, until: 60 + (int)(seed * 97 % 600));
            var day = WithUrgent(bench, seed);
            var small = WithoutWaitingRoutine(day);
            if (small.Requests.Count > 4 || Enumerator.SoonestClear(small, Urgent, OrdersMost) is not { } soonest)
                continue;
            compared++;
            var plan = Proposed(bench, 2_000);
            Assert.Empty(plan.Lost);
            var end = (EndOf(plan) - day.Start).TotalSeconds;
            if (end > soonest + 0.001)
                late.Add($"seed {seed}: {end - soonest} s late, {day.Requests.Count} requests");
        }

        Assert.True(compared >= days / 2, $"only {compared} of {days} could be enumerated");
        Assert.True(late.Count == 0, string.Join("; ", late));
    }

    /// <summary>
    /// Scenes in which the reserve that plans keep, or a short search, made an urgent request wait for minutes: with
    /// the card in, slots free and routine mixes before it. It ends no later than in what a long search without both
    /// finds.
    /// </summary>
    [Theory]
    [InlineData(4, 2)]
    [InlineData(5, 1)]
    [InlineData(9, 1)]
    [InlineData(27, 1)]
    [InlineData(49, 1)]
    [InlineData(79, 1)]
    [InlineData(94, 2)]
    [InlineData(101, 1)]
    public void UrgentOnABusyBench_WaitsForNeitherTheMarginNorTheSearch(ulong seed, int hands)
    {
        var bench = Played(seed, hands, routine: 10, until: 300 + (int)(seed * 61 % 700));
        var day = WithUrgent(bench, seed);
        var soonest = EndOf(Planner.Plan(WithoutWaitingRoutine(day), 1, new IterationBudget(60_000)).Plan);

        Assert.True(EndOf(Proposed(bench, 2_000)) <= soonest);
    }

    private static Plan Proposed(VirtualBench bench, int iterations) => PlanReplacement.Propose(bench.State, bench.Now,
        PlanCause.RequestsChanged, (ulong)bench.State.Revision, new IterationBudget(iterations))[0].Plan;

    private static Instant EndOf(Plan plan) =>
        plan.Steps.Single(step => step.Action is StepAction.Clear clear && clear.Request == Urgent).End;

    private static VirtualBench Played(ulong seed, int hands, int routine, int until)
    {
        var random = new SeededRandom(seed);
        var bench = new VirtualBench(Start, seed,
            new PlainHands(new HandsLengths(new RandomStepLengths(), seed), () => "1"),
            () => new IterationBudget(500));
        bench.Say(new BenchCommand.OpenBench(new BenchId("bench-1"), "Bench 1",
            new BenchSetup(hands, 8, 1, Seconds(25), Seconds(15), 0), Seconds(20)), Aide);
        bench.Say(new BenchCommand.AddRequests([.. Enumerable.Range(1, routine)
            .Select(i => Wanted(random, new RequestId($"R{i:00}"), Priority.Routine, Start))]), Aide);
        bench.Plan(PlanCause.RequestsChanged);
        bench.Tell(new BenchCommand.StartBatch(), Aide);
        bench.PlayUntil(Start + Seconds(until));
        return bench;
    }

    private static BenchDay WithUrgent(VirtualBench bench, ulong seed)
    {
        bench.Say(new BenchCommand.AddRequests(
            [Wanted(new SeededRandom(seed + 7), Urgent, Priority.Urgent, bench.Now)]), Aide);
        return LiveBench.Problem(bench.State, bench.Now);
    }

    private static BenchDay WithoutWaitingRoutine(BenchDay day)
    {
        bool HasBegun(RequestId id) => day.MidRun!.Cartridges.Any(cartridge => cartridge.Request == id)
            || day.MidRun.Steps.Any(step => step.Action.Subject == id);
        return day with { Requests = [.. day.Requests.Where(one => one.Id == Urgent || HasBegun(one.Id))] };
    }

    private static BenchRequest Wanted(SeededRandom random, RequestId id, Priority priority, Instant ready)
    {
        var (code, incubation, window) = random.Pick([("DA", 900, 150), ("DB", 480, 90), ("DC", 720, 120),
            ("DD", 180, 60)]);
        var assay = new Assay(new AssayCode(code), "Demo assay", IncubationPlace.Incubator, Seconds(50), Seconds(90),
            Seconds(25), Seconds(incubation), Seconds(window), Seconds(15), Seconds(40), Seconds(10), Seconds(35),
            Seconds(15));
        return new BenchRequest(new Request(id, new SpecimenId("SP-" + id), assay.Code, new LotCode(code + "-L1"),
            ready, RequestKind.Patient, true, priority, null, null, []), assay, 1, "mg/L");
    }

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);
}
