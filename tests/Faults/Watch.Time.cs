using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults;

/// <summary>Invariants on time: windows, alarms, clocks.</summary>
internal sealed partial class Watch
{
    /// <summary>Reading and rounding of clocks beside what is modelled.</summary>
    private static readonly Duration Rounding = Duration.FromSeconds(1);

    private static readonly Duration ClockTolerance = Duration.FromSeconds(5);

    /// <summary>
    /// What makes a loss nobody's fault but the day's: after these, losses prove nothing of the plan.
    /// </summary>
    private static readonly HashSet<string> Excuses =
    [
        "tap taken back", "not begun", "load into another slot", "wrong slot told", "early tap", "second tap",
            "cartridge spoilt",
        "difference settled", "card in doubt", "hands away, announced", "out of use: Slot", "out of use: Reader",
            "out of use: Incubator",
        "incubator outside its tolerance", "hands leave and come back", "specimen not ready after all",
            "report corrected", "clock doubt", "thrown away untold", "forgotten tap", "told by a broken clock",
            "wrong card put in", "extreme wish",
    ];

    private readonly Dictionary<RequestId, (Instant Earliest, Instant Latest)> toldLoads = [];
    private readonly Dictionary<RequestId, Instant> toldReads = [];
    private readonly HashSet<AlarmKey> standing = [];
    private readonly List<(StepAction Action, Instant Latest)> takenOut = [];
    private bool allInTime = true;
    private int alarms;
    private int lost;

    /// <summary>Something that is counted has happened.</summary>
    public void Happened(string what)
    {
        if (Excuses.Contains(what))
            allInTime = false;
    }

    /// <summary>A step is not begun by its latest start.</summary>
    public void IsLate() => allInTime = false;

    /// <summary>A step is truly begun.</summary>
    public void Began(StepAction action, Instant tabletTime, Instant? latestStart)
    {
        if (latestStart is { } latest && tabletTime > latest)
        {
            allInTime = false;
            world.Trace($"  {Words.Of(action)} is begun after its latest start");
        }

        NoteLateSteps();
        if (allInTime && action is StepAction.Discard discard && !IsWithdrawn(discard.Request))
            Violated("no window is lost while every step is in time", $"{action.Subject} is thrown away");
    }

    /// <summary>A step is told as done.</summary>
    public void Told(Duration length, Duration shortest, Duration allowed)
    {
        if (length > allowed || length < shortest)
            allInTime = false;
    }

    /// <summary>A cartridge is truly loaded: its window will close.</summary>
    public void Loaded(TrueCartridge c)
    {
        if (!c.ReadByItself)
            world.Agenda.At(c.Closes!.Value + Duration.FromMilliseconds(1), () => WindowClosed(c));
    }

    /// <summary>
    /// While every step began by its latest start and stayed within its allowed time, no plan gives a begun cartridge
    /// up.
    /// </summary>
    private void NoLossWithoutCause(BenchEvent.PlanAdopted adopted)
    {
        NoteLateSteps();
        if (!allInTime || !world.Server.IsUp)
            return;
        // What is done and not yet heard of is nothing that a plan could know.
        if (world.Tablets.Any(tablet => tablet.Outbox.Count > 0))
            return;
        foreach (var loss in adopted.Plan.Lost)
            if (world.Truth.Find(loss.Request) is { MixEnd: not null } c && !c.IsGone && !IsWithdrawn(loss.Request))
                Violated("no window is lost while every step is in time", $"{loss.Request} is given up: {loss.Why}");
    }

    /// <summary>What nobody wants any more is thrown away though its window is open: that is no loss.</summary>
    private bool IsWithdrawn(RequestId request) => replayed?.Find(request)?.MustGo == DiscardReason.Withdrawn;

    /// <summary>
    /// A step that has outlasted its allowed time, or was not begun by its latest start, for whatever reason.
    /// </summary>
    private void NoteLateSteps()
    {
        if (world.Aides.Any(aide => aide.Doing is { } doing && doing.AllowedUntil < world.Now))
            allInTime = false;
        if (!world.Server.IsUp || replayed?.Adopted is not { } adopted)
            return;
        var time = world.Server.Time;
        if (takenOut.Any(step => step.Latest + Rounding < time && !IsBegun(step.Action)))
            allInTime = false;
        if (adopted.Remaining.Any(row => row.Spare is { } spare && row.Step.Start + spare + Rounding < time
            && row.Step.Hands is not null && !IsBegun(row.Step.Action)))
            allInTime = false;
    }

    /// <summary>
    /// A step that is not known leaves the plan, and with it its latest start: not begun by then it is late all the
    /// same, and so is what comes after one that was done and told and is not known since the network keeps it.
    /// </summary>
    private void NoteTakenOut(BenchEvent.StepNotKnown happened)
    {
        if (happened.Action.Subject is not { } id)
            return;
        var isBegun = IsBegun(happened.Action);
        if (isBegun && !world.IsBeingToldOf(id))
            return;
        foreach (var row in replayed!.Adopted!.Remaining)
            if (row.Step is { Hands: not null } step && row.Spare is { } spare
                && (isBegun ? step.Action.Subject == id && step.Action != happened.Action
                    : step.Action == happened.Action))
                takenOut.Add((step.Action, TrulyLatest(step.Action, step.Start + spare)));
    }

    /// <summary>
    /// The plan counts from when it takes the step before to end; what truly ended earlier, unheard, leaves less.
    /// </summary>
    private Instant TrulyLatest(StepAction action, Instant planned) =>
        action.Subject is { } id && world.Truth.Find(id) is { } c && action switch
        {
            StepAction.Load => c.MixEnd + c.Assay.MixToLoad - c.Assay.Load,
            StepAction.Move => c.Closes - c.Assay.Move,
            _ => null,
        } is { } latest ? Instant.Min(planned, latest) : planned;

    private bool IsBegun(StepAction action) =>
        world.Aides.Any(aide => aide.Doing?.Action == action)
        || (action.Subject is { } id && world.Truth.Find(id) is { } c && action switch
        {
            StepAction.Mix => c.MixEnd is not null,
            StepAction.Load => c.LoadEnd is not null,
            StepAction.Move => c.ReadStarted is not null,
            _ => c.IsGone,
        });

    /// <summary>
    /// A window that truly closes without a read was announced before, or the bench was down, or was told otherwise.
    /// </summary>
    private void WindowClosed(TrueCartridge c)
    {
        if (world.IsOver || c.IsGone || c.ReadStart is not null)
            return;
        lost++;
        if (!world.Server.IsUp || world.Now - world.Server.StartedAt < Duration.FromSeconds(5))
        {
            world.Count("window lost: the bench was down");
            return;
        }

        Take();
        NoteLateSteps();
        if (IsWithdrawn(c.Id))
        {
            world.Count("window lost: its request was withdrawn");
            return;
        }

        if (allInTime)
            Violated("no window is lost while every step is in time", $"{c.Id} has closed");
        if (world.Server.Guard!.Doubt is not null && Abs(world.Server.SetAheadAtStart) > ClockTolerance)
        {
            world.Count("window lost: the bench doubted its time, and said so");
            return;
        }

        var (state, time) = (world.Server.Present!, world.Server.Time);
        if (state.Find(c.Id) is { } doubted && doubted.Deviations.Contains(Deviation.ClockInDoubt))
        {
            world.Count("window lost: its times are in doubt, and marked");
            return;
        }

        if (state.Find(c.Id) is not { } cartridge || state.WindowOf(cartridge) is not { } window)
        {
            world.Count("window lost: the bench was told otherwise, or nothing");
            return;
        }

        if (window.Closes > time + Rounding)
        {
            world.Count("window lost: its load was told wrongly");
            // A restart can set the server's time by what nobody can notice, after a load or before it.
            var unknown = Unknown(c) + Duration.Min(Abs(world.Server.Ahead - c.OffsetAtLoad), ClockTolerance);
            if (window.Closes - time > unknown)
                Violated("every window lost is announced",
                    $"{c.Id} closes {Words.Signed(window.Closes - time)} s late by the bench, taps explain "
                    + $"{Words.Signed(unknown)} s");
            return;
        }

        world.Count(allInTime ? "window lost: hands did not come" : "window lost: steps late or wrong");
        if (!LiveBench.View(state, time).Alarms.Any(alarm => alarm.Key.Request == c.Id && alarm.From <= time
            && alarm.Key.Kind is not AlarmKind.WindowClosed)
            && !standing.Any(key => key.Request == c.Id) && window.Closes - time > -Rounding)
            Violated("every window lost is announced", $"{c.Id} closed without an alarm before");
    }

    /// <summary>
    /// How far what the bench was told of a cartridge's load and read lies from the truth: late, early and wrongly
    /// stated taps, and what clocks within their tolerance may differ.
    /// </summary>
    private Duration Unknown(TrueCartridge c)
    {
        var unknown = Rounding;
        if (c.LoadEnd is { } end && toldLoads.TryGetValue(c.Id, out var load))
        {
            var at = end + c.OffsetAtLoad;
            unknown += Duration.Max(Duration.Zero, Duration.Max(load.Earliest - at, at - load.Latest));
        }

        if (c.ReadStarted is { } read && toldReads.TryGetValue(c.Id, out var start))
            unknown += Abs(read + c.OffsetAtRead - start);
        return unknown + Duration.Min(Abs(c.OffsetAtRead - c.OffsetAtLoad), ClockTolerance);
    }

    private static Duration Abs(Duration length) => length < Duration.Zero ? -length : length;

    /// <summary>A machine whose clock was set by more than the tolerance is noticed within two looks at it.</summary>
    private void ClockIsDoubted()
    {
        var server = world.Server;
        if (Abs(server.MachineAhead) > ClockTolerance + Rounding && server.Guard?.Doubt is null
            && world.Now - server.StartedAt > Duration.FromSeconds(11)
            && world.Now - clockSetAt > Duration.FromSeconds(11))
            Violated("a clock jump is detected",
                $"the machine is {Words.Signed(server.MachineAhead)} s ahead and nobody doubts it");
    }

    private Instant clockSetAt = Instant.MinValue;

    public void ClockSet() => clockSetAt = world.Now;

    /// <summary>
    /// What is judged by a clock that is known to be wrong is marked, and so is what any tablet disagrees with.
    /// </summary>
    private void DoubtIsMarked(BenchEvent happened)
    {
        if (!world.Server.IsUp || happened is not (BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted))
            return;
        var wrong = Abs(world.Server.SetAheadAtStart) > ClockTolerance + Rounding + Rounding
            && Abs(world.Recipe.Failures.TabletAhead) < Rounding;
        var marked = happened switch
        {
            BenchEvent.Mixed mixed => mixed.Deviations,
            BenchEvent.Loaded loaded => loaded.Deviations,
            BenchEvent.ReadStarted started => started.Deviations,
            _ => [],
        };
        if (wrong && !marked.Contains(Deviation.ClockInDoubt))
            Violated("a clock jump is marked",
                $"{happened.GetType().Name} is judged by a clock {Words.Signed(world.Server.SetAheadAtStart)} s wrong");
    }

    private void CountAlarms(BenchState state, BenchView look)
    {
        var now = look.Alarms.Where(alarm => alarm.StandsAt(look.At)).Select(alarm => alarm.Key).ToHashSet();
        standing.RemoveWhere(key => !now.Contains(key));
        foreach (var key in now.Where(key => standing.Add(key)))
        {
            alarms++;
            world.Count("alarm: " + key.Kind);
            world.Trace($"ALARM {key.Kind} {key.Request}");
            if (NeedsNoAction(key.Request))
                world.Count("alarm that needed no action");
        }
    }

    /// <summary>
    /// An alarm for a cartridge that hands are at already, or whose report is just on its way, asks for nothing. What
    /// was done and not told asks for its tap; what was told and is not heard asks for a look at the network, the disk
    /// or the server.
    /// </summary>
    private bool NeedsNoAction(RequestId id) => world.Truth.Find(id) is null || world.IsUnderWayOrSaid(id);

    private void DayWentToPlan()
    {
        if (alarms > 0)
            Violated("a day that goes to plan has no alarm", $"{alarms} alarms");
        if (lost > 0)
            Violated("a day that goes to plan loses no window", $"{lost} lost");
        foreach (var c in world.Truth.All)
            if (c.MixEnd is not null && (c.ClearEnd is null || c.ReadStart > c.Closes || c.ReadStart < c.Opens))
                Violated("a day that goes to plan reads every cartridge in its window", $"{c.Id}");
    }
}
