using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests;

public sealed class DispatchedDayTest
{
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>Hands that take exactly their allowed times.</summary>
    private static readonly RandomStepLengths Allowed = new(0);

    public static TheoryData<Dispatch> Dispatches => [Dispatch.Planned, Dispatch.OneAtATime, Dispatch.LoadAtOnce];

    [Theory]
    [MemberData(nameof(Dispatches))]
    public void Play_AnyDay_KeepsToPhysics(Dispatch dispatch)
    {
        foreach (var (seed, day) in Days(30))
        {
            var outcome = Play(day, dispatch, seed, new RandomStepLengths());
            Physics.Hold(day, outcome);
        }
    }

    [Fact]
    public void Play_HandsThatTakeTheirAllowedTimes_MissesNoWindow()
    {
        foreach (var (seed, day) in Days(30))
        {
            var outcome = Play(day, Dispatch.Planned, seed, Allowed);
            Assert.True(outcome.Cartridges.All(c => c.End == CartridgeEnd.ReadInWindow),
                $"The day of seed {seed} has a cartridge without a result.");
        }
    }

    [Theory]
    [MemberData(nameof(Dispatches))]
    public void Play_SameSeed_IsTheSameDay(Dispatch dispatch)
    {
        var day = Days(7).Last().Day;
        var (one, two) =
            (Play(day, dispatch, 3, new RandomStepLengths()), Play(day, dispatch, 3, new RandomStepLengths()));
        Assert.Equal(one.Cartridges, two.Cartridges);
        Assert.Equal(one.Steps, two.Steps);
    }

    [Fact]
    public void Play_SameSeed_GivesEachStepTheSameLengthUnderBothHabits()
    {
        var day = Day(8, 1, Assay("A", IncubationPlace.Incubator), 4);
        Dictionary<string, Duration> Lengths(Dispatch dispatch) => Play(day, dispatch, 5, new RandomStepLengths()).Steps
            .Where(s => s.Action is StepAction.Mix or StepAction.Load)
            .ToDictionary(s => $"{s.Action.GetType().Name} {s.Action.Subject}", s => s.End - s.Start);
        Assert.Equal(Lengths(Dispatch.OneAtATime), Lengths(Dispatch.LoadAtOnce));
    }

    /// <summary>
    /// By hand, in seconds: mix 0–50, load 50–75, the card 75–100 while it reacts until 555; move 555–570, read
    /// 570–610, clear
    /// 610–620. The second begins at 620 and needs no card: it is out at 1240.
    /// </summary>
    [Fact]
    public void OneAtATime_TwoCartridges_RunsThemOneAfterTheOther()
    {
        var outcome = Play(Day(8, 1, Assay("A", IncubationPlace.Incubator), 2), Dispatch.OneAtATime, 1, Allowed);
        Assert.Equal([Seconds(620), Seconds(1240)], outcome.Cartridges.Select(c => c.ToResult!.Value));
        Assert.Equal(Seconds(1240), outcome.Finish);
    }

    /// <summary>By hand: the card 0–25, mix 25–75, load 75–100, read by itself 580–620, clear 620–630.</summary>
    [Fact]
    public void OneAtATime_AssayThatMayReactInTheReader_ReactsThere()
    {
        var outcome = Play(Day(8, 1, Assay("A", IncubationPlace.Either), 1), Dispatch.OneAtATime, 1, Allowed);
        Assert.Equal(Seconds(630), outcome.Finish);
        Assert.DoesNotContain(outcome.Steps, s => s.Action is StepAction.Move);
    }

    /// <summary>
    /// By hand: loads end at 75, 150, 225, then the card 225–250. Windows open at 555, 630, 705 and close 90 s later:
    /// the first is moved 555–570, read until 610, cleared by 620; the second may be read from 630; the third from 705.
    /// All are kept.
    /// </summary>
    [Fact]
    public void LoadAtOnce_ThreeCartridges_LoadsThemFirstAndReadsWhatIsDue()
    {
        var outcome = Play(Day(8, 1, Assay("A", IncubationPlace.Incubator), 3), Dispatch.LoadAtOnce, 1, Allowed);
        Assert.Equal([Seconds(620), Seconds(695), Seconds(770)], outcome.Cartridges.Select(c => c.ToResult!.Value));
    }

    /// <summary>
    /// By hand: a read takes 240 s, so the reader is taken from 555 to 820. The second window, open from 630 to 720,
    /// closes meanwhile: that cartridge is thrown away. The third, 705 to 795, likewise.
    /// </summary>
    [Fact]
    public void LoadAtOnce_ReaderThatIsTaken_MissesWindows()
    {
        var slow = Assay("A", IncubationPlace.Incubator) with { Read = Seconds(240) };
        var outcome = Play(Day(8, 1, slow, 3), Dispatch.LoadAtOnce, 1, Allowed);
        Assert.Equal([CartridgeEnd.ReadInWindow, CartridgeEnd.Missed, CartridgeEnd.Missed],
            outcome.Cartridges.Select(c => c.End));
        Assert.Equal([720.0, 795.0], outcome.Steps.Where(s => s.Action is StepAction.Discard)
            .Select(s => Math.Floor((s.Start - Start).TotalSeconds)));
    }

    /// <summary>
    /// Slots that hold a cartridge for so long bound what a bench can do: six slots of 15 minutes give at most 24 an
    /// hour (check values, Little's law).
    /// </summary>
    [Fact]
    public void LoadAtOnce_ManyCartridges_StaysBelowWhatItsSlotsAllow()
    {
        var day = Day(6, 6, Assay("A", IncubationPlace.Incubator) with { Incubation = Seconds(900) }, 60);
        Assert.InRange(DispatchFigures.Of([Play(day, Dispatch.LoadAtOnce, 2, new RandomStepLengths())]).PerHour, 5, 24);
    }

    [Fact]
    public void OneAtATime_LastTimeToLoadPassed_IsNotRun()
    {
        var day = Day(8, 1, Assay("A", IncubationPlace.Incubator), 2);
        day = day with { Requests = [day.Requests[0], day.Requests[1] with { LoadBy = Start + Seconds(300) }] };
        var outcome = Play(day, Dispatch.OneAtATime, 1, Allowed);
        Assert.Equal([CartridgeEnd.ReadInWindow, CartridgeEnd.NotRun], outcome.Cartridges.Select(c => c.End));
        var figures = DispatchFigures.Of([outcome]);
        Assert.Equal((2, 1, 1, 0), (figures.Cartridges, figures.ReadInWindow, figures.NotRun, figures.Missed));
    }

    [Fact]
    public void CanPlay_MidRunOrCalendar_IsRefused()
    {
        var day = Day(8, 1, Assay("A", IncubationPlace.Incubator), 1);
        Assert.True(DispatchedDay.CanPlay(day));
        var away = day with
        {
            Calendar =
                [new CalendarEntry(new BenchResource.Hands(new HandsNumber(1)), Start, Start + Seconds(60), null)]
        };
        Assert.False(DispatchedDay.CanPlay(away));
        Assert.False(DispatchedDay.CanPlay(day with { MidRun = new MidRun(Start, [], [], []) }));
        Assert.Throws<ArgumentException>(() => Play(away, Dispatch.LoadAtOnce, 1, Allowed));
    }

    /// <summary>
    /// Wilson's interval for 0 of 10 is 0 to z²/(n + z²) = 3.8415/13.8415 = 0.2775, for 5 of 10 0.2366 to 0.7634
    /// (computed from the formula).
    /// </summary>
    [Theory]
    [InlineData(0, 10, 0, 0.2775)]
    [InlineData(5, 10, 0.2366, 0.7634)]
    [InlineData(10, 10, 0.7225, 1)]
    public void Wilson95_OfACount_AgreesWithTheFormula(int count, int of, double low, double high)
    {
        var interval = Statistics.Wilson95(count, of);
        Assert.Equal(low, interval.Low, 5e-5);
        Assert.Equal(high, interval.High, 5e-5);
    }

    private static DayOutcome Play(BenchDay day, Dispatch dispatch, ulong seed, RandomStepLengths times) =>
        DispatchedDay.Play(day, dispatch, seed, times, SearchPolicy.Frugal, () => new IterationBudget(200));

    /// <summary>The first so many random days on which something can be run.</summary>
    private static IEnumerable<(ulong Seed, BenchDay Day)> Days(int count) =>
        Enumerable.Range(1, int.MaxValue).Select(seed => ((ulong)seed, Day: Placed((ulong)seed)))
            .Where(d => d.Day.Requests.Count > 0).Take(count);

    /// <summary>A random day without the requests that no plan can place.</summary>
    private static BenchDay Placed(ulong seed)
    {
        var day = RandomDays.Make(seed,
            DayShape.Morning with { MidRun = 0, Calendar = 0, Impossible = 0, FewestRequests = 2 });
        var left = Planner.Plan(day, 1, new IterationBudget(0)).Plan.Unplaced.Select(l => l.Request).ToHashSet();
        return day with
        {
            Requests = [.. day.Requests.Where(r => !left.Contains(r.Id))
                .Select(r => r with { After = [.. r.After.Where(id => !left.Contains(id))] })]
        };
    }

    private static BenchDay Day(int slots, int readers, Assay assay, int count) => new(
        Start, new BenchSetup(1, slots, readers, Seconds(25), Seconds(15), 0), [assay],
        [.. Enumerable.Range(1, count).Select(i => new Request(
            new RequestId($"R{i}"), new SpecimenId($"SP{i}"), assay.Code, new LotCode("L1"), Start,
                RequestKind.Patient, true, Priority.Routine, null, null, []))],
        [], null);

    private static Assay Assay(string code, IncubationPlace place) => new(
        new AssayCode(code), "Demo assay", place, Seconds(50), Seconds(120), Seconds(25), Seconds(480), Seconds(90),
            Seconds(15), Seconds(40), Seconds(10), Seconds(35), Seconds(15));

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);
}
