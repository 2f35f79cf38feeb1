using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>
/// The form of a plan, counted as rule 0: its rows name what exists and account for every request, once.
/// </summary>
internal static class FormRules
{
    private const int Rule = 0;

    /// <summary>
    /// Rows and lists name requests of the day, and hands, slots and readers that the bench has; every row but the read
    /// has hands.
    /// </summary>
    public static IEnumerable<PlanFault> RowsNameWhatExists(PlanReading plan)
    {
        var bench = plan.Day.Bench;
        foreach (var row in plan.Rows)
        {
            var name = Say.Row(row.Step);
            if (row.Step.Action.Subject is { } id && !plan.ById.ContainsKey(id))
                yield return Say.Fault(Rule, row, Words.UnknownRequest, name, id);
            if (row.Step.Action is StepAction.Read != row.Step.Hands is null)
                yield return Say.Fault(Rule, row, row.Step.Hands is null
                    ? Words.HandsMissing : Words.HandsInRead, name);
            if (row.Step.Hands is { } hands && hands.Value > bench.Hands)
                yield return Say.Fault(Rule, row, Words.HandsOutOfRange, name, hands, bench.Hands);
            if (row.Step.Action.NeedsReader is { } reader && reader.Value > bench.Readers)
                yield return Say.Fault(Rule, row, Words.ReaderOutOfRange, name, reader, bench.Readers);
            if (row.Step.Action is StepAction.Load { Place: CartridgePlace.InSlot place }
                && place.Slot.Value > bench.Slots)
                yield return Say.Fault(Rule, row, Words.SlotOutOfRange, name, place.Slot, bench.Slots);
        }
        foreach (var id in plan.Plan.GuardUsed.Concat(plan.Plan.Unplaced.Concat(plan.Plan.Lost)
            .Select(left => left.Request)))
        {
            if (!plan.ById.ContainsKey(id))
                yield return Say.Fault(Rule, null, Words.UnknownInList, id);
        }
    }

    /// <summary>No row ends before it starts, and no instant is finer than a millisecond.</summary>
    public static IEnumerable<PlanFault> TimesAreWellFormed(PlanReading plan)
    {
        foreach (var row in plan.Rows)
        {
            if (row.End < row.Start)
                yield return Say.Fault(Rule, row, Words.EndsBeforeStart, Say.Row(row.Step), row.Start, row.End);
            if (!IsWhole(row.Start) || !IsWhole(row.End))
                yield return Say.Fault(Rule, row, Words.FinerThanMillisecond, Say.Row(row.Step));
        }

        static bool IsWhole(Instant instant) => instant.ToUnixTimeTicks() % NodaConstants.TicksPerMillisecond == 0
            && Instant.FromUnixTimeTicks(instant.ToUnixTimeTicks()) == instant;
    }

    /// <summary>
    /// Each request is complete, unplaced or lost, and only one of these. Only one not begun can be unplaced; only a
    /// cartridge in work that has not reached a reader's hold can be lost. Both are named once, with a reason.
    /// </summary>
    public static IEnumerable<PlanFault> EveryRequestIsPlacedOrNamed(PlanReading plan)
    {
        foreach (var list in new[] { plan.Plan.Unplaced, plan.Plan.Lost })
        {
            foreach (var twice in list.GroupBy(left => left.Request).Where(group => group.Count() > 1))
                yield return Say.Fault(Rule, null, Words.NamedTwice, twice.Key);
            foreach (var bare in list.Where(left => left.Why is LeftOutReason.InWords words
                && string.IsNullOrWhiteSpace(words.Text)))
                yield return Say.Fault(Rule, null, Words.ReasonMissing, bare.Request);
        }
        foreach (var course in plan.Courses)
        {
            if (course.Stage == Stage.NotKnown)
            {
                if (course.IsUnplaced || course.IsLost)
                    yield return Say.Fault(Rule, null, Words.NotKnownNamed, course.Request.Id);
                continue;
            }
            if (course.IsUnplaced && course.IsLost)
                yield return Say.Fault(Rule, null, Words.UnplacedAndLost, course.Request.Id);
            if (course.IsUnplaced && course.Stage != Stage.NotBegun)
                yield return Say.Fault(Rule, null, Words.UnplacedInWork, course.Request.Id);
            if (course.IsLost && !CanBeLost(course))
                yield return Say.Fault(Rule, null, Words.CannotBeLost, course.Request.Id);
            if (course.MustDiscard && !course.IsLost && CanBeLost(course))
                yield return Say.Fault(Rule, null, Words.MustBeLost, course.Request.Id);
            if (course.Stage == Stage.BeingDiscarded && !course.IsLost)
                yield return Say.Fault(Rule, null, Words.DiscardedNotLost, course.Request.Id);
        }
    }

    /// <summary>
    /// Each cartridge has exactly the rows that are still to end: one of mix, load, read and clear, and a move where it
    /// reacts in a slot. A read in progress may be left out once its time has passed. One whose step is not known has
    /// none, nor has what comes after it.
    /// </summary>
    public static IEnumerable<PlanFault> EveryCartridgeHasItsRows(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            var (needed, optional) = ExpectedRows(course, plan.Now);
            foreach (var group in course.Rows.GroupBy(row => row.Step.Action.GetType()))
            {
                if (course.Stage == Stage.NotKnown)
                    yield return Say.Fault(Rule, group.First(), Words.NotKnownPlanned, Say.Row(group.First().Step),
                        course.Request.Id);
                else if (!needed.Contains(group.Key) && !optional.Contains(group.Key))
                    yield return Say.Fault(Rule, group.First(), Words.RowNotNeeded, Say.Row(group.First().Step));
                else if (group.Skip(1).FirstOrDefault() is { } second)
                    yield return Say.Fault(Rule, second, Words.RowTwice, Say.Row(second.Step));
            }
            foreach (var kind in needed.Where(kind => course.Rows.All(row => row.Step.Action.GetType() != kind)))
                yield return Say.Fault(Rule, null, Words.RowMissing, course.Request.Id, kind.Name.ToLowerInvariant());
        }
    }

    /// <summary>
    /// Each step in progress is a row with its true hands, place and start, and ends when it ends for planning; a read
    /// in progress too.
    /// </summary>
    public static IEnumerable<PlanFault> BegunStepsStandAsTheyBegan(PlanReading plan)
    {
        foreach (var step in (plan.Day.MidRun?.Steps ?? []).Where(step => !step.Unknown))
        {
            var expected = new PlannedStep(step.Action, step.Hands, step.Start, plan.PlannedEnd(step));
            var rows = plan.Rows.Where(row => row.Begun && row.Step.Action.GetType() == step.Action.GetType()
                && row.Step.Action.Subject == step.Action.Subject
                && row.Step.Action.NeedsReader == step.Action.NeedsReader).ToList();
            var row = rows.FirstOrDefault();
            if (rows.Count > 1 && step.Action is StepAction.CardChange)
                yield return Say.Fault(Rule, rows[1], Words.RowTwice, Say.Row(rows[1].Step));
            if (row is null || row.Step != expected)
                yield return Say.Fault(Rule, row, Words.BegunNotAsItBegan, Say.Row(expected), step.Hands, step.Start,
                    expected.End);
        }
        foreach (var course in plan.Courses.Where(course => course.Stage == Stage.BeingRead))
        {
            var phase = (CartridgePhase.Reading)course.Phase!;
            var end = Instant.Max(phase.Start + course.Assay.Read, plan.Now);
            if (course.Read is { } read && (read.Start != phase.Start || read.End != end))
                yield return Say.Fault(Rule, read, Words.BegunReadNotAsItBegan, Say.Row(read.Step), phase.Start, end);
        }
    }

    /// <summary>Nothing that has not begun starts before now. (A mix is held to this by rule 1.)</summary>
    public static IEnumerable<PlanFault> NothingElseStartsBeforeNow(PlanReading plan) =>
        plan.Rows.Where(row => !row.Begun && row.Step.Action is not StepAction.Mix && row.Start < plan.Now)
            .Select(row => Say.Fault(Rule, row, Words.BeforeNow, Say.Row(row.Step), row.Start, plan.Now));

    /// <summary>A cartridge is loaded where its assay lets it react.</summary>
    public static IEnumerable<PlanFault> PlacesSuitTheAssay(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Load is not { Step.Action: StepAction.Load load } row)
                continue;
            if (load.Place is CartridgePlace.InReader && course.Assay.Place == IncubationPlace.Incubator)
                yield return Say.Fault(Rule, row, Words.OnlyInIncubator, Say.Row(row.Step), course.Assay.Code);
            if (load.Place is CartridgePlace.InSlot && course.Assay.Place == IncubationPlace.Reader)
                yield return Say.Fault(Rule, row, Words.OnlyInReader, Say.Row(row.Step), course.Assay.Code);
        }
    }

    /// <summary>
    /// A discard takes the length of a clear, and starts neither before now nor before the end of that cartridge's step
    /// in progress.
    /// </summary>
    public static IEnumerable<PlanFault> LostCartridgesAreDiscarded(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Discard is not { Begun: false } discard)
                continue;
            if (discard.Length != course.Assay.Clear)
                yield return Say.Fault(Rule, discard, Words.WrongLength, Say.Row(discard.Step), discard.Length,
                    course.Assay.Clear);
            if (course.InProgress is { } step && discard.Start < course.PlannedEnd(step))
                yield return Say.Fault(Rule, discard, Words.DiscardTooEarly, Say.Row(discard.Step), discard.Start,
                    course.PlannedEnd(step));
        }
    }

    private static bool CanBeLost(Course course) => course.Stage switch
    {
        Stage.BeingMixed or Stage.Mixed or Stage.InSlot or Stage.BeingMoved or Stage.BeingDiscarded => true,
        Stage.BeingLoaded => course.Place is CartridgePlace.InSlot,
        _ => false,
    };

    private static (IReadOnlyList<Type> Needed, IReadOnlyList<Type> Optional) ExpectedRows(Course course, Instant now)
    {
        Type mix = typeof(StepAction.Mix), load = typeof(StepAction.Load), move = typeof(StepAction.Move);
        Type read = typeof(StepAction.Read), clear = typeof(StepAction.Clear), discard = typeof(StepAction.Discard);
        if (course.IsUnplaced || course.Stage == Stage.NotKnown)
            return ([], []);
        if (course.Stage == Stage.BeingDiscarded)
            return ([discard], []);
        if (course.IsLost)
            return (course.InProgress is { } step ? [step.Action.GetType(), discard] : [discard], []);
        Type[] toTheReader = course.Place is CartridgePlace.InReader ? [] : [move];
        return course.Stage switch
        {
            Stage.NotBegun or Stage.BeingMixed => ([mix, load, .. toTheReader, read, clear], []),
            Stage.Mixed or Stage.BeingLoaded => ([load, .. toTheReader, read, clear], []),
            Stage.InSlot or Stage.BeingMoved => ([move, read, clear], []),
            Stage.ReactsInReader or Stage.BeingRead when ReadHasEnded(course, now) => ([clear], [read]),
            Stage.ReactsInReader or Stage.BeingRead => ([read, clear], []),
            _ => ([clear], []),
        };
    }

    private static bool ReadHasEnded(Course course, Instant now)
    {
        var start = course.Phase is CartridgePhase.Reading reading ? reading.Start : course.WindowOpens!.Value;
        return start + course.Assay.Read <= now;
    }
}
