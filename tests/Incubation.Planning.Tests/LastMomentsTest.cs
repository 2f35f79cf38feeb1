using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>The last useful moments, held against plain trial and against the planner.</summary>
public class LastMomentsTest
{
    public static TheoryData<string, ulong, int> Shapes => new()
    {
        { "one pair of hands, one reader", 1, CaseCount.Of(60, 1000) },
        { "two pairs of hands, two readers", 10_000, CaseCount.Of(40, 500) },
        { "mixtures", 20_000, CaseCount.Of(60, 1000) },
        { "calendar", 30_000, CaseCount.Of(60, 1000) },
    };

    [Theory]
    [MemberData(nameof(Shapes))]
    public void Of_SmallDay_IsWhatPlainTrialFinds(string name, ulong firstSeed, int days)
    {
        var timed = 0;
        for (var seed = firstSeed; seed < firstSeed + (ulong)days; seed++)
        {
            var day = SmallMoments.Make(seed, name);
            var found = LastMoments.Of(day);
            var why = $"{name}, seed {seed}";
            Assert.True(found.IsExact, why);
            var guarded = new TickedBench(day, guardIsUsed: false);
            var used = new TickedBench(day, guardIsUsed: true);
            var saved = SavedBy(day, found);
            AssertIsPreferred(day, guarded, used, saved, found, why);
            if (saved.Any(one => one) && !found.NeedsGuard)
            {
                timed++;
                Assert.True(guarded.LastTick(saved) == TickOf(guarded, found.BeginBy),
                    $"{why}: begin by {found.BeginBy}, by trial {guarded.LastTick(saved)}");
                Assert.Equal(found.BeginBy, found.Cartridges.Min(one => one.BeginBy));
                Assert.Equal(found.BeginBy, found.Cartridges.Single(one => one.Request == found.First).BeginBy);
            }

            AssertQuickest(day, found, why);
            AssertAlone(day, guarded, found, why);
        }

        Assert.True(timed > days / 3, $"only {timed} of {days} days had anything to save");
    }

    private static bool[] SavedBy(BenchDay day, LastMoments found) =>
        [.. day.Requests.Select(request => found.For(request.Id)?.IsSaved == true)];

    private static int? TickOf(TickedBench bench, Instant? at) => at is { } known ? bench.Ticks(known) : null;

    private static long LossOf(BenchDay day, bool[] saved) => new TinyDay(day).Jobs
        .Where((job, j) => !saved[j] && job.Stage is TinyStage.Mixed or TinyStage.Reacting).Sum(job => job.LossKey);

    private static IEnumerable<bool[]> Sets(BenchDay day)
    {
        var waiting = new TinyDay(day).Jobs.Select(job => job.Stage is TinyStage.Mixed or TinyStage.Reacting).ToList();
        for (var set = 0; set < 1 << waiting.Count; set++)
        {
            bool[] jobs = [.. waiting.Select((waits, j) => waits && (set >> j & 1) == 1)];
            if (waiting.Where((waits, j) => !waits && (set >> j & 1) == 1).Any())
                continue;
            yield return jobs;
        }
    }

    private static void AssertIsPreferred(BenchDay day, TickedBench guarded, TickedBench used, bool[] saved,
        LastMoments found, string why)
    {
        var best = Sets(day).Where(set => used.CanSave(set, used.Now)).Min(set => LossOf(day, set));
        Assert.True(best == LossOf(day, saved), $"{why}: another set is preferred");
        var isUntouched = Sets(day).Any(set => LossOf(day, set) == best && guarded.CanSave(set, guarded.Now));
        Assert.True(isUntouched == !found.NeedsGuard, $"{why}: needs the guard: {found.NeedsGuard}");
        Assert.True(used.CanSave(saved, used.Now), $"{why}: what is said to be saved cannot be");
    }

    private static void AssertQuickest(BenchDay day, LastMoments found, string why)
    {
        var quick = new TickedBench(Quickest(day), guardIsUsed: true);
        var preferred = Sets(day).Where(set => quick.CanSave(set, quick.Now)).ToList();
        var best = preferred.Min(set => LossOf(day, set));
        var lasts = preferred.Where(set => LossOf(day, set) == best && set.Any(one => one)).Select(quick.LastTick)
            .ToList();
        Assert.True(lasts.Count == 0 ? found.TooLate is null : lasts.Contains(TickOf(quick, found.TooLate)),
            $"{why}: too late {found.TooLate}, by trial {string.Join(' ', lasts)}");
        foreach (var one in found.Cartridges.Where(one => one.TooLate is not null))
            Assert.True(quick.LastTick(Only(day, one.Request)) == TickOf(quick, one.TooLate),
                $"{why}: {one.Request} too late {one.TooLate}");
        foreach (var one in found.Cartridges.Where(one => one.TooLate is null))
            Assert.Contains(preferred, set => LossOf(day, set) == best && !set[IndexOf(day, one.Request)]);
    }

    private static void AssertAlone(BenchDay day, TickedBench guarded, LastMoments found, string why)
    {
        foreach (var one in found.Cartridges)
            Assert.True(guarded.LastTick(Only(day, one.Request)) == TickOf(guarded, one.AloneBy),
                $"{why}: {one.Request} alone by {one.AloneBy}");
    }

    private static int IndexOf(BenchDay day, RequestId id) =>
        day.Requests.ToList().FindIndex(request => request.Id == id);

    private static bool[] Only(BenchDay day, RequestId id) => [.. day.Requests.Select(request => request.Id == id)];

    private static BenchDay Quickest(BenchDay day) => day with
    {
        Bench = day.Bench with { CardChange = Duration.Zero, ReadGuard = Duration.Zero },
        Assays = [.. day.Assays.Select(assay => assay with
        {
            Mix = assay.MixShortest,
            Load = assay.LoadShortest,
            Move = Duration.Zero,
            Clear = Duration.Zero,
        })],
    };

    [Fact]
    public void Of_AnyRunningDay_ThePlannerSavesItByThenAndNoPlanAMomentLater()
    {
        var (held, missed) = (0, new List<ulong>());
        var shape = DayShape.Running with { MaxRequests = 6, ZeroLengths = 0 };
        for (var seed = 50_000UL; seed < 50_000UL + (ulong)CaseCount.Of(150, 3000); seed++)
        {
            var day = InWork(RandomDays.Make(seed, shape));
            var found = LastMoments.Of(day);
            Assert.True(found.IsExact, $"seed {seed}");
            if (found.BeginBy is not { } by)
                continue;
            held++;
            var saved = found.Cartridges.Where(one => one.IsSaved).Select(one => one.Request).ToHashSet();
            var lost = LossOf(day, SavedBy(day, found));
            var atLast = Planned(day, by, seed);
            if (atLast.GuardUsed.Any(id => !IsMovedNow(day, id)) || LossOf(day, SavedBy(day, atLast)) > lost)
                missed.Add(seed);
            var later = Planned(day, by + Duration.FromMilliseconds(1), seed);
            Assert.True(later.Lost.Any(left => saved.Contains(left.Request)) || later.GuardUsed.Any(saved.Contains),
                $"seed {seed}: a plan begun after {by} saves all");
        }

        Assert.True(held > 50, $"only {held} days had anything to save");
        Assert.True(missed.Count == 0, $"plans begun at the last moment lose more: {string.Join(' ', missed)}");
    }

    /// <summary>However little it searches.</summary>
    [Fact]
    public void Of_AnyRunningDay_APlanWithoutSearchLosesNoMore()
    {
        var (lossy, missed) = (0, new List<ulong>());
        for (var seed = 70_000UL; seed < 70_000UL + (ulong)CaseCount.Of(400, 20_000); seed++)
        {
            var day = RandomDays.Make(seed, DayShape.Running with { MaxRequests = 12 });
            var found = LastMoments.Of(day);
            if (!found.IsExact)
                continue;
            lossy += found.Cartridges.Any(one => !one.IsSaved) ? 1 : 0;
            var plan = Planner.Plan(day, seed, new IterationBudget(0)).Plan;
            Assert.Empty(PlanChecker.Check(day, plan));
            if (LossOf(day, SavedBy(day, plan)) > LossOf(day, SavedBy(day, found))
                || (!found.NeedsGuard && plan.GuardUsed.Any(id => !IsMovedNow(day, id))))
                missed.Add(seed);
        }

        Assert.True(lossy > 20, $"only {lossy} days had anything to lose");
        Assert.True(missed.Count == 0, $"{missed.Count} of {lossy} lose more: {string.Join(' ', missed)}");
    }

    /// <summary>A plan whose hands are away until an instant.</summary>
    private static Plan Planned(BenchDay day, Instant until, ulong seed)
    {
        var idle = day with
        {
            Calendar = [.. day.Calendar, .. Enumerable.Range(1, until <= day.Now ? 0 : day.Bench.Hands).Select(number =>
                new CalendarEntry(new BenchResource.Hands(new HandsNumber(number)), day.Now, until, null))],
        };
        var plan = Planner.Plan(idle, seed, new IterationBudget(4_000)).Plan;
        Assert.Empty(PlanChecker.Check(idle, plan));
        return plan;
    }

    /// <summary>What is being moved may use the guard: that is a fact.</summary>
    private static bool IsMovedNow(BenchDay day, RequestId id) =>
        day.MidRun!.Steps.Any(step => step.Action is StepAction.Move move && move.Request == id);

    private static bool[] SavedBy(BenchDay day, Plan plan) =>
        [.. day.Requests.Select(request => plan.Lost.All(left => left.Request != request.Id))];

    private static BenchDay InWork(BenchDay day)
    {
        var inWork = day.MidRun!.Cartridges.Select(cartridge => cartridge.Request)
            .Concat(day.MidRun.Steps.Select(step => step.Action.Subject).OfType<RequestId>()).ToHashSet();
        return day with { Requests = [.. day.Requests.Where(request => inWork.Contains(request.Id))] };
    }

    [Fact]
    public void Of_CardToBeChanged_CountsTheWholeChainAndNamesIt()
    {
        var (day, close) = SmallMoments.OneThatNeedsACard();
        var found = LastMoments.Of(day);
        // Clear 10 s, card change 25 s, move 15 s, and the guard of 15 s is left.
        Assert.Equal(close - Duration.FromSeconds(15 + 15 + 25 + 10), found.BeginBy);
        Assert.Equal(close, found.TooLate);
        var acts = found.Cartridges.Single(one => one.Request == found.First).Acts;
        Assert.Equal(["Clear", "CardChange", "Move"], acts.Select(act => act.Action.GetType().Name));
        Assert.Equal(found.BeginBy, acts[0].BeginBy);
        Assert.Equal(found.BeginBy + Duration.FromSeconds(10), acts[1].BeginBy);
        Assert.Equal(found.BeginBy + Duration.FromSeconds(35), acts[2].BeginBy);
    }

    [Fact]
    public void Of_NothingBegun_HasNoLastMoment()
    {
        var day = RandomDays.Make(1, DayShape.Morning);
        Assert.Same(LastMoments.None, LastMoments.Of(day));
    }

    [Fact]
    public void Of_PlaceNotKnown_SaysThatItMayStillBeSaved()
    {
        var (day, close) = SmallMoments.OneThatNeedsACard();
        var run = day.MidRun!;
        var notKnown = run.Cartridges.Single(cartridge => cartridge.Phase is CartridgePhase.Read).Request;
        day = day with
        {
            MidRun = run with
            {
                Steps = [new StepInProgress(new StepAction.Clear(notKnown, new ReaderNumber(1)), new HandsNumber(1),
                    run.Now - Duration.FromSeconds(60), Unknown: true)],
            },
        };
        var found = LastMoments.Of(day);
        Assert.Equal(close, found.TooLate);
        Assert.DoesNotContain(found.Cartridges, one => one.Request == notKnown);
    }
}
