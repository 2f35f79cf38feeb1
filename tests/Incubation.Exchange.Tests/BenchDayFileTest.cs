using Incubation.Model;
using Incubation.Planning;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests;

public sealed class BenchDayFileTest
{
    [Fact]
    public void Parse_EveryMember_ReadsIt()
    {
        var day = Sample.Read(Sample.MidRunDay);
        Assert.Equal(Instant.FromUtc(2026, 3, 2, 8, 0), day.Start);
        Assert.Equal(new BenchSetup(2, 4, 2, Duration.FromSeconds(25), Duration.FromSeconds(15), 0.5), day.Bench);
        var assay = day.Assays[0];
        Assert.Equal(("A1", "Demo assay A", IncubationPlace.Incubator), (assay.Code.Value, assay.Name, assay.Place));
        Assert.Equal(
            [50, 120, 25, 480, 90, 15, 40, 10, 35, 15],
            new[] { assay.Mix, assay.MixToLoad, assay.Load, assay.Incubation, assay.ReadWindow, assay.Move, assay.Read,
                assay.Clear, assay.MixShortest, assay.LoadShortest }
                .Select(length => (int)length.TotalSeconds));
        Assert.Equal([IncubationPlace.Reader, IncubationPlace.Either], day.Assays.Skip(1).Select(other => other.Place));
        var request = day.Requests[5];
        Assert.Equal(("R06", "SP-006", "A1", "A1-L1"),
            (request.Id.Value, request.Specimen.Value, request.Assay.Value, request.Lot.Value));
        Assert.Equal((RequestKind.Control, false, Priority.Urgent),
            (request.Kind, request.RepeatLeft, request.Priority));
        Assert.Equal(Instant.FromUtc(2026, 3, 2, 8, 20) + Duration.FromMilliseconds(250), request.Ready);
        Assert.Equal((Instant.FromUtc(2026, 3, 2, 9, 0), Instant.FromUtc(2026, 3, 2, 10, 0)),
            (request.Due, request.LoadBy));
        Assert.Equal([new("R02"), new RequestId("R99")], request.After);
        Assert.Equal(
            [new CalendarEntry(new BenchResource.Hands(new HandsNumber(1)), Instant.FromUtc(2026, 3, 2, 9, 0),
                Instant.FromUtc(2026, 3, 2, 9, 10), "away"),
             new CalendarEntry(new BenchResource.Incubator(), Instant.FromUtc(2026, 3, 2, 11, 0),
                 Instant.FromUtc(2026, 3, 2, 12, 0), null)],
            day.Calendar);
    }

    [Fact]
    public void Parse_State_ReadsIt()
    {
        var run = Sample.Read(Sample.MidRunDay).MidRun!;
        Assert.Equal(At(12, 30), run.Now);
        Assert.Equal([new CardInReader(new(1), new("A1-L1"))], run.Cards);
        Assert.Equal(
            [new StepInProgress(new StepAction.Mix(new("R05")), new(1), At(12, 10)),
             new StepInProgress(new StepAction.Load(new("R04"), new CartridgePlace.InSlot(new(1))), new(2),
                 At(12, 20))],
            run.Steps);
        Assert.Equal(
            [new CartridgeInWork(new("R01"),
                new CartridgePhase.Reacting(new(At(6, 0), At(6, 10) + Duration.FromMilliseconds(500)),
                    new CartridgePlace.InSlot(new(3)))),
             new CartridgeInWork(new("R02"), new CartridgePhase.Reading(new(1), At(12, 0))),
             new CartridgeInWork(new("R03"),
                 new CartridgePhase.Reacting(new(At(11, 0), At(11, 10)), new CartridgePlace.InReader(new(2)))),
             new CartridgeInWork(new("R04"), new CartridgePhase.Mixed(new(At(11, 30), At(11, 40))))],
            run.Cartridges);

        static Instant At(int minutes, int seconds) => Instant.FromUtc(2026, 3, 2, 8, minutes, seconds);
    }

    [Fact]
    public void Parse_OptionalMembersAbsent_TakesTheirDefaults()
    {
        var day = Sample.Read(Sample.Change(Sample.MorningDay, root =>
        {
            root.Remove("calendar");
            root["bench"]!.AsObject().Remove("waitWeight");
        }));
        Assert.Null(day.MidRun);
        Assert.Empty(day.Calendar);
        Assert.Equal(0, day.Bench.WaitWeight);
        Assert.Equal(day.Assays[1].Mix, day.Assays[1].MixShortest);
        Assert.Equal(day.Assays[1].Load, day.Assays[1].LoadShortest);
        var request = day.Requests[0];
        Assert.Equal((RequestKind.Patient, true, Priority.Routine),
            (request.Kind, request.RepeatLeft, request.Priority));
        Assert.Null(request.Due);
        Assert.Null(request.LoadBy);
        Assert.Empty(request.After);
    }

    [Fact]
    public void Parse_NowWithoutState_IsMidRunOfAnEmptyBench()
    {
        var day = Sample.Read(Sample.Change(root => root.Remove("state")));
        Assert.Equal((0, 0, 0), (day.MidRun!.Cards.Count, day.MidRun.Steps.Count, day.MidRun.Cartridges.Count));
    }

    [Fact]
    public void Parse_ByteOrderMark_IsPassedOver() => Sample.Read("\uFEFF" + Sample.MidRunDay);

    [Fact]
    public void Write_Sample_ReadsBackTheSame()
    {
        foreach (var day in new[] { Sample.Read(Sample.MidRunDay), Sample.Read(Sample.MorningDay) })
            AssertSame(day, Sample.Read(BenchDayFile.Write(day)));
    }

    [Fact]
    public void Write_RandomDays_ReadBackTheSame()
    {
        // Also says that the days of the property tests are days that a file can hold.
        for (var seed = 0UL; seed < 500; seed++)
        {
            var day = RandomDays.Make(seed, DayShape.Any);
            var written = BenchDayFile.Write(day);
            var result = BenchDayFile.Parse(written);
            Assert.True(result.Value is not null, $"seed {seed}: {string.Join("; ", result.Faults)}");
            AssertSame(day, result.Value);
            Assert.Equal(written, BenchDayFile.Write(result.Value));
        }
    }

    [Fact]
    public void Write_RandomDaysWithStepsNotKnown_ReadBackTheSame()
    {
        var notKnown = 0;
        for (var seed = 0UL; seed < 300; seed++)
        {
            var day = RandomUnknown.In(RandomDays.Make(seed, DayShape.Running), seed);
            var result = BenchDayFile.Parse(BenchDayFile.Write(day));
            Assert.True(result.Value is not null, $"seed {seed}: {string.Join("; ", result.Faults)}");
            AssertSame(day, result.Value);
            notKnown += result.Value.MidRun!.Steps.Count(step => step.Unknown);
        }

        Assert.True(notKnown > 100, $"{notKnown} steps");
    }

    [Fact]
    public void Write_DaysThatAPlanWasPlayedTo_ReadBackTheSame()
    {
        for (var seed = 0UL; seed < 100; seed++)
        {
            var day = RandomDays.Make(seed, DayShape.Any);
            var plan = Planner.Plan(day, seed, new IterationBudget(0)).Plan;
            if (plan.Steps.Count == 0 || !PlanPlay.CanPlay(day, plan))
                continue;
            var now = Instant.Max(day.Now, plan.Steps[plan.Steps.Count / 2].Start + Duration.FromMilliseconds(1));
            var played = PlanPlay.Until(day, plan, now, new SeededRandom(seed));
            var result = BenchDayFile.Parse(BenchDayFile.Write(played.Day));
            Assert.True(result.Value is not null, $"seed {seed}: {string.Join("; ", result.Faults)}");
            AssertSame(played.Day, result.Value);
            Assert.Equal(played.Plan.Steps, PlanFile.Parse(PlanFile.Write(played.Plan)).Value!.Steps);
        }
    }

    [Fact]
    public void Write_LengthThatNoFileCanHold_Throws()
    {
        var day = Sample.Read(Sample.MorningDay);
        Assert.Throws<ArgumentException>(() =>
            BenchDayFile.Write(day with { Bench = day.Bench with { ReadGuard = Duration.FromMilliseconds(15_500) } }));
        Assert.Throws<ArgumentException>(() => BenchDayFile.Write(day with { Start = day.Start.PlusNanoseconds(1) }));
    }

    private static void AssertSame(BenchDay expected, BenchDay actual)
    {
        Assert.Equal((expected.Start, expected.Bench), (actual.Start, actual.Bench));
        Assert.Equal(expected.Assays, actual.Assays);
        Assert.Equal(expected.Requests.Select(request => request with { After = [] }),
            actual.Requests.Select(request => request with { After = [] }));
        Assert.Equal(expected.Requests.SelectMany(request => request.After),
            actual.Requests.SelectMany(request => request.After));
        Assert.Equal(expected.Calendar, actual.Calendar);
        Assert.Equal(expected.MidRun is null, actual.MidRun is null);
        if (expected.MidRun is not { } run)
            return;
        Assert.Equal(run.Now, actual.MidRun!.Now);
        Assert.Equal(run.Cards, actual.MidRun.Cards);
        Assert.Equal(run.Steps, actual.MidRun.Steps);
        Assert.Equal(run.Cartridges, actual.MidRun.Cartridges);
    }
}
