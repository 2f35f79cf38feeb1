using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>Rules 1 to 5: when each step of a cartridge may start, and how long it takes.</summary>
internal static class StepRules
{
    /// <summary>
    /// Rule 1: a mix takes its length, and starts no earlier than the day's start, now and the request's ready time.
    /// </summary>
    public static IEnumerable<PlanFault> Mix(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Mix is not { Begun: false } mix)
                continue;
            if (mix.Length != course.Assay.Mix)
                yield return WrongLength(1, mix, course.Assay.Mix);
            var earliest = Instant.Max(plan.Now, course.Request.EffectiveReady(plan.Day.Start));
            if (mix.Start < earliest)
                yield return TooEarly(1, mix, earliest);
        }
    }

    /// <summary>
    /// Rule 2: a load takes its length; it starts once the mix has ended even when that takes its allowed time, and
    /// while the mixture still keeps even when the mix took its shortest; it ends no later than the request's last
    /// time.
    /// </summary>
    public static IEnumerable<PlanFault> Load(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Load is not { Begun: false } load)
                continue;
            if (load.Length != course.Assay.Load)
                yield return WrongLength(2, load, course.Assay.Load);
            if (course.MixEnd is { } mixed)
            {
                if (load.Start < mixed.Latest)
                    yield return TooEarly(2, load, mixed.Latest);
                if (load.Start > mixed.Earliest + course.Assay.MixToLoad)
                    yield return TooLate(2, load, mixed.Earliest + course.Assay.MixToLoad);
            }
            if (course.Request.LoadBy is { } loadBy && load.End > loadBy)
                yield return Say.Fault(2, load, Words.LoadedTooLate, Say.Row(load.Step), load.End, loadBy);
        }
    }

    /// <summary>
    /// Rule 3: from a slot, a move takes its length and ends as the read starts, in the same reader; the read starts
    /// inside the window for every length of the load, and before the read guard unless the load had begun by now.
    /// </summary>
    public static IEnumerable<PlanFault> MoveAndReadFromASlot(PlanReading plan)
    {
        foreach (var course in plan.Courses.Where(course => course.Place is CartridgePlace.InSlot && !course.IsLost))
        {
            if (course.Move is not { } move || course.Read is not { } read)
                continue;
            if (!move.Begun && move.Length != course.Assay.Move)
                yield return WrongLength(3, move, course.Assay.Move);
            if (move.Step.Action.NeedsReader != read.Step.Action.NeedsReader)
                yield return Say.Fault(3, read, Words.OtherReader, Say.Row(read.Step), read.Step.Action.NeedsReader!,
                    Say.Step(move.Step.Action), move.Step.Action.NeedsReader!);
            if (read.Start != move.End)
                yield return Say.Fault(3, read, Words.ReadNotAtMoveEnd, Say.Row(read.Step), read.Start, move.End);
            if (course.WindowOpens is { } opens && read.Start < opens)
                yield return Say.Fault(3, read, Words.WindowNotOpen, Say.Row(read.Step), read.Start, opens);
            if (course.WindowCloses is not { } closes)
                continue;
            if (course.LoadHasBegun && read.Start > closes)
                yield return Say.Fault(3, read, Words.WindowClosed, Say.Row(read.Step), read.Start, closes);
            if (!course.LoadHasBegun && read.Start > closes - plan.Day.Bench.ReadGuard)
                yield return Say.Fault(3, read, Words.InsideGuard, Say.Row(read.Step), read.Start,
                    closes - plan.Day.Bench.ReadGuard);
        }
    }

    /// <summary>
    /// Rule 3: the cartridges whose read starts inside the guard, their load having begun by now, are named, and no
    /// others.
    /// </summary>
    public static IEnumerable<PlanFault> GuardUseIsNamed(PlanReading plan)
    {
        foreach (var twice in plan.Plan.GuardUsed.GroupBy(id => id).Where(group => group.Count() > 1))
            yield return Say.Fault(3, null, Words.NamedTwice, twice.Key);
        foreach (var course in plan.Courses)
        {
            var uses = PlanFigures.GuardUseOf(course, plan.Day.Bench) > Duration.Zero;
            var isNamed = plan.Plan.GuardUsed.Contains(course.Request.Id);
            if (uses && !isNamed)
                yield return Say.Fault(3, course.Read, Words.GuardNotNamed, course.Request.Id);
            if (isNamed && !uses)
                yield return Say.Fault(3, course.Read, Words.GuardNotUsed, course.Request.Id);
        }
    }

    /// <summary>
    /// Rule 4: inside the reader, the read starts by itself when the reaction time has passed since the load's end, in
    /// the reader of the load.
    /// </summary>
    public static IEnumerable<PlanFault> ReadInsideTheReader(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Place is not CartridgePlace.InReader place || course.Read is not { } read)
                continue;
            if (read.Step.Action.NeedsReader != place.Reader)
                yield return Say.Fault(4, read, Words.OtherReader, Say.Row(read.Step), read.Step.Action.NeedsReader!,
                    Words.StepLoad, place.Reader);
            if (course.WindowOpens is { } opens && read.Start != opens)
                yield return Say.Fault(4, read, Words.ReadNotByItself, Say.Row(read.Step), read.Start, opens);
        }
    }

    /// <summary>
    /// Rule 5: a read takes its length; a clear takes its length, from the reader of the read, and starts once the read
    /// has ended.
    /// </summary>
    public static IEnumerable<PlanFault> ReadAndClear(PlanReading plan)
    {
        foreach (var course in plan.Courses)
        {
            if (course.Read is { } read && course.Stage != Stage.BeingRead)
            {
                var length = course.Stage == Stage.ReactsInReader
                    ? Duration.Max(course.Assay.Read, plan.Now - read.Start)
                    : course.Assay.Read;
                if (read.Length != length)
                    yield return WrongLength(5, read, length);
            }
            if (course.Clear is not { Begun: false } clear)
                continue;
            if (clear.Length != course.Assay.Clear)
                yield return WrongLength(5, clear, course.Assay.Clear);
            if (course.Read is { } before && clear.Start < before.End)
                yield return TooEarly(5, clear, before.End);
            var reader = course.Read?.Step.Action.NeedsReader ?? course.Phase?.FindReader();
            if (reader is { } holds && clear.Step.Action.NeedsReader != holds)
                yield return Say.Fault(5, clear, Words.OtherReader, Say.Row(clear.Step),
                    clear.Step.Action.NeedsReader!, Words.StepRead, holds);
        }
        foreach (var course in plan.Courses)
        {
            if (course is { Stage: Stage.BeingRead, Read: { } read }
                && read.Step.Action.NeedsReader != course.Phase?.FindReader())
                yield return Say.Fault(5, read, Words.BegunElsewhere, Say.Row(read.Step), course.Phase?.FindReader()!);
        }
    }

    private static PlanFault WrongLength(int rule, Row row, Duration length) =>
        Say.Fault(rule, row, Words.WrongLength, Say.Row(row.Step), row.Length, length);

    private static PlanFault TooEarly(int rule, Row row, Instant earliest) =>
        Say.Fault(rule, row, Words.TooEarly, Say.Row(row.Step), row.Start, earliest);

    private static PlanFault TooLate(int rule, Row row, Instant latest) =>
        Say.Fault(rule, row, Words.TooLate, Say.Row(row.Step), row.Start, latest);
}
