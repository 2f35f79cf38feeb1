using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>
/// What a plan promises, on random days: it keeps every rule, and it goes on keeping them, as it stands, while every
/// step begins at its planned start and takes any length between its shortest and its allowed one.
/// </summary>
public sealed class PlansHoldTest
{
    private static readonly int Days = int.Parse(Environment.GetEnvironmentVariable("INCUBATION_RANDOM_DAYS")
        ?? "120", System.Globalization.CultureInfo.InvariantCulture);

    public static TheoryData<string, DayShape> Shapes => new()
    {
        { "any", DayShape.Any },
        { "tiny", DayShape.Tiny },
        { "running", DayShape.Running },
        { "clinic", DayShape.Clinic with { MidRun = 0.5 } },
        { "crowded", new DayShape(FewestRequests: 6, MaxRequests: 14, MaxHands: 3, MaxReaders: 3, MaxSlots: 4,
            Calendar: 0.6, ZeroLengths: 0.3, Impossible: 0.1) },
    };

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_RandomDay_KeepsEveryRule(string name, DayShape shape)
    {
        for (var seed = 0UL; seed < (ulong)Days; seed++)
        {
            var day = RandomDays.Make(seed, shape);
            var plan = Planner.Plan(day, seed, new IterationBudget((long)(seed % 40))).Plan;
            AssertValid(day, plan, $"shape {name}, seed {seed}");
        }
    }

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_PlayedWithAnyStepLengths_StaysValidAsItStands(string name, DayShape shape)
    {
        for (var seed = 0UL; seed < (ulong)Days; seed++)
        {
            var random = new SeededRandom(seed ^ 0xBE5EDu);
            var day = RandomDays.Make(seed, shape);
            var plan = Planner.Plan(day, seed, new IterationBudget(20)).Plan;
            for (var stop = 1; stop <= 4 && PlanPlay.CanPlay(day, plan); stop++)
            {
                var played = PlanPlay.Until(day, plan, Later(day, plan, random), random);
                AssertValid(played.Day, played.Plan, $"shape {name}, seed {seed}, as it stands at stop {stop}");
                (day, plan) = (played.Day, played.Plan);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Retime_PlayedWithAnyStepLengths_IsValidAndNowhereLater(string name, DayShape shape)
    {
        for (var seed = 0UL; seed < (ulong)Days; seed++)
        {
            var random = new SeededRandom(seed ^ 0x0D15Cu);
            var day = RandomDays.Make(seed, shape);
            var plan = Planner.Plan(day, seed, new IterationBudget(20)).Plan;
            for (var stop = 1; stop <= 3 && PlanPlay.CanPlay(day, plan); stop++)
            {
                var played = PlanPlay.Until(day, plan, Later(day, plan, random), random);
                var where = $"shape {name}, seed {seed}, stop {stop}";
                var pulled = PlanTiming.Retime(played.Day, plan);
                Assert.True(pulled is not null, $"{where}: the plan's order cannot be kept");
                AssertValid(played.Day, pulled, where);
                foreach (var row in played.Plan.Steps.Where(row => row.Action.Subject is not null))
                {
                    var now = pulled.Steps.SingleOrDefault(step => step.Action == row.Action);
                    Assert.True(now is null || now.Start <= row.Start,
                        $"{where}: {row.Action} was at {row.Start}, is pulled to {now?.Start}");
                }
                (day, plan) = (played.Day, pulled);
            }
        }
    }

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Plan_FromWhereThePlayedBenchStands_IsValidAndNoWorse(string name, DayShape shape)
    {
        for (var seed = 0UL; seed < (ulong)Days; seed++)
        {
            var random = new SeededRandom(seed ^ 0xCAFEu);
            var day = RandomDays.Make(seed, shape);
            var plan = Planner.Plan(day, seed, new IterationBudget(10)).Plan;
            if (!PlanPlay.CanPlay(day, plan))
                continue;
            var played = PlanPlay.Until(day, plan, Later(day, plan, random), random);
            var again = Planner.Plan(played.Day, seed, new IterationBudget(10), played.Plan).Plan;
            var where = $"shape {name}, seed {seed}";
            AssertValid(played.Day, again, where);
            Assert.True(Worth(played.Day, again).CompareTo(Worth(played.Day, played.Plan)) <= 0,
                $"{where}: {Worth(played.Day, again)} after {Worth(played.Day, played.Plan)}");
        }
    }

    private static void AssertValid(BenchDay day, Plan plan, string where)
    {
        var faults = PlanChecker.Check(day, plan);
        Assert.True(faults.Count == 0,
            $"{where}: {string.Join("; ", faults.Select(fault => $"rule {fault.Rule}: {fault.What}"))}");
    }

    /// <summary>An instant of interest: around the start or end of a row, or anywhere in the rest of the day.</summary>
    private static Instant Later(BenchDay day, Plan plan, SeededRandom random)
    {
        var instants = plan.Steps.SelectMany(step => new[] { step.Start, step.End })
            .Where(instant => instant >= day.Now).ToList();
        if (instants.Count == 0)
            return day.Now;
        var near = random.Pick(instants)
            + Duration.FromMilliseconds(random.Between(-3, 3) * random.Pick([0, 1, 1000, 5000]));
        return Instant.Max(day.Now, near);
    }

    /// <summary>How a mid-run plan is judged: losses in turn, guard, unplaced, cost. Smaller is better.</summary>
    private static (int, int, int, int, Duration, int, double) Worth(BenchDay day, Plan plan)
    {
        var lost = plan.Lost.Select(left => day.Requests.Single(request => request.Id == left.Request)).ToList();
        var figures = PlanFigures.Of(day, plan);
        return (lost.Count(request => !request.RepeatLeft), lost.Count(request => request.Priority == Priority.Urgent),
            lost.Count(request => request.Kind == RequestKind.Patient), lost.Count, figures.GuardUse,
                plan.Unplaced.Count, figures.Cost);
    }
}
