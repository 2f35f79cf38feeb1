using Incubation.Model;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>Re-timing and spare time, by hand and against stepping second by second.</summary>
public class PlanTimingTest
{
    private static readonly DayShape Shape = DayShape.Any with { MaxRequests = 4 };

    /// <summary>
    /// A day whose requests are all not begun or in work, a valid plan, and its rows as the plain timetable has them.
    /// </summary>
    private static (BenchDay Day, Plan Plan, TinyDay Tiny, List<Entry> Entries, List<PlannedStep> Rows) Case(ulong seed)
    {
        var day = RandomDays.Make(seed, Shape);
        var plan = Planner.Plan(day, seed, new IterationBudget(200)).Plan;
        var tiny = new TinyDay(day);
        var rows = plan.Steps.Where(s => s.Start >= day.Now && s.Hands is not null && !IsInProgress(day, s)).ToList();
        return (day, plan, tiny, [.. rows.Select(r => EntryOf(tiny, plan, r))], rows);
    }

    /// <summary>Rows may be put together by what was reported: R1 is in the reader, and its clear comes late.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Retime_MoveIntoAReaderBeforeWhatIsInItIsCleared_IsNoOrderThatCanBeKept(bool isClearedFirst)
    {
        var hands = new HandsNumber(1);
        var reader = new ReaderNumber(1);
        RequestId Id(string id) => new(id);
        PlannedStep Row(StepAction action, double start) => new(action, hands, Days.At(start), Days.At(start + 10));
        var run = Days.Run(640,
            [
                new CartridgeInWork(Id("R1"), new CartridgePhase.Reading(reader, Days.At(600))),
                Days.Reacting("R2", 140, 1),
            ], null, (1, "A1-L1"));
        var day = Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1"), Days.Request("R2")], run);
        var plan = Days.PlanOf(day) with
        {
            Steps =
            [
                Row(new StepAction.Move(Id("R2"), reader), isClearedFirst ? 650 : 640),
                Row(new StepAction.Clear(Id("R1"), reader), isClearedFirst ? 640 : 655),
                Row(new StepAction.Clear(Id("R2"), reader), 700),
            ],
        };

        Assert.Equal(isClearedFirst, PlanTiming.Retime(day, plan) is not null);
    }

    private static bool IsInProgress(BenchDay day, PlannedStep step) =>
        day.MidRun?.Steps.Any(s => s.Hands == step.Hands && s.Start == step.Start && s.Action == step.Action) == true;

    private static Entry EntryOf(TinyDay tiny, Plan plan, PlannedStep row)
    {
        var reader = row.Action.NeedsReader?.Value - 1 ?? -1;
        if (row.Action is StepAction.CardChange)
        {
            var next = plan.Steps.Where(s => s.Action is StepAction.Move or StepAction.Load
                && s.Action.NeedsReader == row.Action.NeedsReader && s.Start >= row.End)
                .MinBy(s => s.Start)!;
            return new Entry(Job(next), Kind.Card, row.Hands!.Value.Value - 1, -1, reader);
        }

        var job = Job(row);
        var (kind, slot) = row.Action switch
        {
            StepAction.Mix => (Kind.Mix, -1),
            StepAction.Load { Place: CartridgePlace.InSlot s } => (Kind.Load, s.Slot.Value - 1),
            StepAction.Load => (Kind.Load, -1),
            StepAction.Move => (Kind.Move, SlotOf(job)),
            StepAction.Clear => (Kind.Clear, -1),
            _ => (Kind.Discard, SlotOf(job)),
        };
        if (kind == Kind.Discard)
            reader = Array.IndexOf(tiny.ReaderHolder, job);
        return new Entry(job, kind, row.Hands!.Value.Value - 1, slot, reader);

        int Job(PlannedStep step) => tiny.Jobs.FindIndex(j => j.Request.Id == step.Action.Subject);
        int SlotOf(int job) => Array.IndexOf(tiny.SlotHolder, job) is >= 0 and var held
            ? held
            : plan.Steps.Select(s => s.Action).OfType<StepAction.Load>()
            .Where(l => l.Request == tiny.Jobs[job].Request.Id)
                .Select(l => l.Place).OfType<CartridgePlace.InSlot>().Select(s => s.Slot.Value - 1).DefaultIfEmpty(-1)
                .First();
    }

    [Fact]
    public void Retime_PlanWithEveryStepLaterByAnHour_IsPulledBackToTheEarliest()
    {
        for (var seed = 1UL; seed <= 150; seed++)
        {
            var (day, plan, _, _, rows) = Case(seed);
            var later = plan with
            {
                Steps = [.. plan.Steps.Select(s => rows.Contains(s) || (s.Hands is null && s.Start >= day.Now)
                    ? s with { Start = s.Start + Duration.FromHours(1), End = s.End + Duration.FromHours(1) }
                    : s)],
            };
            var retimed = PlanTiming.Retime(day, later);
            Assert.NotNull(retimed);
            Assert.Empty(PlanChecker.Check(day, retimed));
            Assert.Equal(PlanTiming.Retime(day, plan)!.Steps, retimed.Steps);
        }
    }

    /// <summary>
    /// What was put aside comes back to a screen without its server while another step of the same hands is planned.
    /// </summary>
    [Fact]
    public void Retime_RowsOfOnePairOfHandsAtOneTime_AreDoneOneAfterTheOther()
    {
        var compared = 0;
        for (var seed = 1UL; seed <= 150; seed++)
        {
            var (day, plan, _, _, rows) = Case(seed);
            if (rows.GroupBy(row => row.Hands).FirstOrDefault(its => its.Count() > 1)?.ToList() is not { } order)
                continue;
            var (first, next) = (order[0], order[1]);
            var atOnce = plan with
            {
                Steps = [.. plan.Steps.Select(step => step == next
                    ? step with { Start = first.Start + (first.End - first.Start) / 2 } : step)],
            };
            if (PlanTiming.Retime(day, atOnce) is not { } retimed)
                continue;
            compared++;
            foreach (var its in retimed.Steps.Where(step => step.Hands is not null && step.End > step.Start)
                .GroupBy(step => step.Hands))
                Assert.All(its.Zip(its.Skip(1)), pair => Assert.True(pair.First.End <= pair.Second.Start,
                    $"seed {seed}: {pair.First.Action} and {pair.Second.Action}"));
        }

        Assert.True(compared > 20, $"only {compared} plans compared");
    }

    /// <summary>
    /// A discard has no end by which it must be done, so its order would be kept: for as long as the hands are away.
    /// </summary>
    [Fact]
    public void Retime_HandsAwayForDays_OthersThere_TheirStepsAreNotWaitedFor()
    {
        var day = Days.Day(Days.Bench(hands: 2), [Days.Assay()], [Days.Request("R1"), Days.Request("R2")]);
        var plan = Days.PlanOf(day);
        Assert.Contains(plan.Steps, step => step.Hands == new HandsNumber(2));
        CalendarEntry Away(int hands, Duration length) =>
            new(new BenchResource.Hands(new HandsNumber(hands)), day.Now, day.Now + length, null);

        Assert.Null(PlanTiming.Retime(day with { Calendar = [Away(2, Duration.FromDays(14))] }, plan));
        Assert.NotNull(PlanTiming.Retime(day with { Calendar = [Away(2, Duration.FromMinutes(5))] }, plan));
        Assert.NotNull(PlanTiming.Retime(day with
        {
            Calendar = [Away(1, Duration.FromDays(14)), Away(2, Duration.FromDays(14))],
        }, plan));
    }

    [Fact]
    public void Retime_AnyPlan_HasTheTimesOfThePlainTimetable()
    {
        var compared = 0;
        for (var seed = 1UL; seed <= 200; seed++)
        {
            var (day, plan, tiny, entries, rows) = Case(seed);
            if (HasNoLength(day))
                continue;
            var table = Timetable.Of(tiny, entries);
            Assert.NotNull(table);
            var retimed = PlanTiming.Retime(day, plan)!;
            for (var i = 0; i < rows.Count; i++)
            {
                var now = retimed.Steps.Single(s => s.Action == rows[i].Action
                    && (rows[i].Action is not StepAction.CardChange || s.End <= NextTaking(retimed, entries[i], tiny)
                    && s.End > PreviousTaking(retimed, entries[i], tiny, s)));
                Assert.True(table.Start[i] == tiny.Ms(now.Start),
                    $"seed {seed}, {now.Action}: {now.Start}, plain timetable {table.Start[i]} ms");
                compared++;
            }
        }

        Assert.True(compared > 500, $"only {compared} steps compared");
    }

    // The same card can be put in twice: the change meant is the last one before its cartridge takes the reader.
    private static Instant NextTaking(Plan plan, Entry card, TinyDay tiny) => plan.Steps
        .Single(s => s.Action is StepAction.Move or StepAction.Load { Place: CartridgePlace.InReader }
            && s.Action.Subject == tiny.Jobs[card.Job].Request.Id).Start;

    private static Instant PreviousTaking(Plan plan, Entry card, TinyDay tiny, PlannedStep change) => plan.Steps
        .Where(s => s.Action is StepAction.Move or StepAction.Load { Place: CartridgePlace.InReader }
            && s.Action.NeedsReader == change.Action.NeedsReader && s.Start < NextTaking(plan, card, tiny))
        .Select(s => s.Start).DefaultIfEmpty(Instant.MinValue).Max();

    private static bool HasNoLength(BenchDay day) => day.Bench.CardChange == Duration.Zero
        || day.Assays.Any(a => new[] { a.Mix, a.Load, a.Move, a.Read, a.Clear, a.Incubation }.Contains(Duration.Zero));

    [Fact]
    public void Retime_RequestThatThePlanDoesNotKnow_IsNull()
    {
        var day = Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")]);
        var plan = Days.PlanOf(day);
        Assert.Null(PlanTiming.Retime(day with { Requests = [.. day.Requests, Days.Request("R2")] }, plan));
    }

    [Fact]
    public void Retime_WindowWouldBeMissedInThisOrder_IsNull()
    {
        var day = Days.Day(Days.Bench(readers: 1), [Days.Assay()], [Days.Request("R1"), Days.Request("R2")]);
        var plan = Days.PlanOf(day);
        var first = plan.Step<StepAction.Move>("R1").Start < plan.Step<StepAction.Move>("R2").Start
            ? ("R1", "R2") : ("R2", "R1");

        // The second to be read was loaded long before the first: in the plan's order its window closes.
        var run = Days.Run(520, [Days.Reacting(first.Item1, 500, 1), Days.Reacting(first.Item2, 20, 2)]);
        Assert.Null(PlanTiming.Retime(day with { MidRun = run }, plan));
    }

    [Fact]
    public void Retime_LoadedIntoTheSlotPlannedForTheNext_IsNull()
    {
        var day = Days.Day(Days.Bench(slots: 2), [Days.Assay()], [Days.Request("R1"), Days.Request("R2")]);
        var plan = Days.PlanOf(day);
        var (first, next) = plan.Step<StepAction.Load>("R1").Start < plan.Step<StepAction.Load>("R2").Start
            ? ("R1", "R2") : ("R2", "R1");
        var taken =
            ((CartridgePlace.InSlot)((StepAction.Load)plan.Step<StepAction.Load>(next).Action).Place).Slot.Value;
        Assert.NotNull(PlanTiming.Retime(day with { MidRun = Days.Run(75, [Days.Reacting(first, 75, 3 - taken)]) },
            plan));

        // In the plan's order the second is loaded before the first is moved out, and its mixture would not keep until
        // then.
        Assert.Null(PlanTiming.Retime(day with { MidRun = Days.Run(75, [Days.Reacting(first, 75, taken)]) }, plan));
    }

    [Fact]
    public void Retime_ReadInAnotherReaderThanPlanned_IsNull()
    {
        var day = Days.Day(Days.Bench(readers: 2), [Days.Assay()], [Days.Request("R1")]);
        var plan = Days.PlanOf(day);
        var planned = plan.Step<StepAction.Move>("R1").Action.NeedsReader!.Value.Value;
        BenchDay ReadIn(int reader) =>
            day with
            {
                MidRun =
                Days.Run(560,
                    [new CartridgeInWork(new RequestId("R1"),
                        new CartridgePhase.Reading(new ReaderNumber(reader), Days.At(555)))])
            };
        Assert.NotNull(PlanTiming.Retime(ReadIn(planned), plan));
        Assert.Null(PlanTiming.Retime(ReadIn(3 - planned), plan));
    }

    [Fact]
    public void Retime_MixDoneSooner_PullsTheRestEarlier()
    {
        var day = Days.Day(Days.Bench(), [Days.Assay()], [Days.Request("R1")]);
        var plan = Days.PlanOf(day);
        var mixed = new CartridgeInWork(new RequestId("R1"),
            new CartridgePhase.Mixed(new InstantRange(Days.At(30), Days.At(35))));
        var retimed = PlanTiming.Retime(day with { MidRun = Days.Run(35, [mixed]) }, plan)!;
        Assert.Equal(Days.At(35), retimed.Step<StepAction.Load>("R1").Start);
        Assert.Equal(590, retimed.Cost);
    }

    [Fact]
    public void Spare_OneCartridge_IsTheTimeToTheGuardAndTheMixturesAge()
    {
        var day = Days.Day(Days.Bench(guard: 15), [Days.Assay()], [Days.Request("R1")]);
        var spare = PlanTiming.Spare(day, Days.PlanOf(day));

        Assert.Equal(Duration.FromSeconds(75), SpareOf<StepAction.Move>(spare).Spare); // window 90 less guard 15
        Assert.Equal(Duration.FromSeconds(90), SpareOf<StepAction.Move>(spare).ToWindowClose);
        Assert.Equal(Duration.FromSeconds(120), SpareOf<StepAction.Load>(spare).Spare); // mixToLoad
        Assert.Equal(StepSpare.Unlimited, SpareOf<StepAction.Mix>(spare).Spare);
        Assert.Equal(StepSpare.Unlimited, SpareOf<StepAction.Clear>(spare).Spare);
    }

    private static StepSpare SpareOf<T>(IReadOnlyList<StepSpare> spare) => spare.Single(s => s.Step.Action is T);

    [Fact]
    public void Spare_RandomPlans_AgreesWithSteppingSecondBySecond()
    {
        var compared = 0;
        for (var seed = 1UL; seed <= 120; seed++)
        {
            var (day, plan, tiny, entries, rows) = Case(seed);
            if (HasNoLength(day))
                continue;
            foreach (var spare in PlanTiming.Spare(day, plan).Where(s => rows.Contains(s.Step)))
            {
                var i = rows.IndexOf(spare.Step);
                var stepped = Stepped(tiny, entries, rows, i);
                var seconds = spare.Spare == StepSpare.Unlimited
                    ? long.MaxValue : (long)Math.Floor(spare.Spare.TotalSeconds);
                Assert.True(Math.Min(seconds, 900) == stepped,
                    $"seed {seed}, {spare.Step.Action}: {spare.Spare} against {stepped} s");
                compared++;
            }
        }

        Assert.True(compared > 300, $"only {compared} steps compared");
    }

    /// <summary>
    /// The greatest whole number of seconds, up to 900, by which a step can begin later, found by trying each.
    /// </summary>
    private static long Stepped(TinyDay tiny, List<Entry> entries, List<PlannedStep> rows, int step)
    {
        var planned = rows.Select(r => tiny.Ms(r.Start)).ToArray();
        var guard = Timetable.Of(tiny, entries, planned)!.GuardMs();
        var longest = 0L;
        for (var delay = 1; delay <= 900; delay++)
        {
            var floor = (long[])planned.Clone();
            floor[step] += delay * 1000;
            var table = Timetable.Of(tiny, entries, floor);
            if (table is null || table.GuardMs() != guard
                || planned.Where((p, k) => p < planned[step] && table.Start[k] != p).Any())
                break;
            longest = delay;
        }

        return longest;
    }
}
