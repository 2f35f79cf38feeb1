using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// The server's process: the real turns of a bench, the real clock and its guard, on a machine that can stop at any
/// step. Each start makes everything anew from what is on the disk.
/// </summary>
internal sealed class ServerModel(World world)
{
    private static readonly Duration ClockWatchEvery = Duration.FromSeconds(5);
    private static readonly PersonId Aide = new("aide");

    private int incarnation;
    private int wake;
    private int ids;
    private BenchLoop? loop;
    private BenchClock? clock;
    private PacedTimeProvider? paced;
    private ClockConfirmed? confirmed;

    private sealed record ClockConfirmed(Instant Shown, Instant? LogAhead);

    public bool IsUp => loop is not null;

    public ClockGuard? Guard { get; private set; }

    /// <summary>The bench as the process knows it; null while it is down.</summary>
    public BenchState? Present => loop?.State;

    /// <summary>What it shows now.</summary>
    public BenchView? Shown => loop?.View(Time);

    public Instant Time => clock!.Now;

    /// <summary>How far the server's time is ahead of the true time.</summary>
    public Duration Ahead => Time - world.Now;

    /// <summary>How far the machine's wall clock is ahead of the server's time.</summary>
    public Duration MachineAhead => paced is null ? Duration.Zero : Duration.FromTimeSpan(paced.MachineAhead);

    /// <summary>When the present process started, in true time.</summary>
    public Instant StartedAt { get; private set; }

    /// <summary>How far the wall clock was set ahead when the process started, and so how wrong its time is.</summary>
    public Duration SetAheadAtStart { get; private set; }

    public void Start()
    {
        incarnation++;
        StartedAt = world.Now;
        SetAheadAtStart = world.Machine.SetAhead;
        world.Disk.Dead = false;
        paced = new PacedTimeProvider(world.Machine, ClockLine.RealTime(world.Machine.GetUtcNow()));
        clock = new BenchClock(paced, 1);
        Guard = new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true);
        var entries = world.Disk.From(0).ToList();
        var state = entries.Aggregate((BenchState?)null, LiveBench.Apply)!;
        CompareWithLog(entries);
        loop = new BenchLoop(state, world.Disk, clock, () => new IterationBudget(world.Recipe.Iterations),
            () => new IterationBudget(64), () => new ReportId($"S{++ids}"), world.Faults, Guard, world.Recipe.Policy,
            StepPatience.Usual);
        world.Trace(
            $"server starts, its clock {Words.Signed(Time - world.Now)} s"
            + $"{(Guard.Doubt is null ? "" : ", in doubt: the log is ahead")}");
        world.Watch.Restarted(state, entries);
        if (Guard.Doubt is not null)
            Doubted();
        var of = incarnation;
        world.Agenda.In(ClockWatchEvery, () => WatchClock(of));
        if (loop.RestartToNote() is { } note)
            loop.HearAsync(note).GetAwaiter().GetResult();
        Turn();
    }

    /// <summary>As ClockService: rows that were made by a clock that ran ahead are doubted once.</summary>
    private void CompareWithLog(List<BenchEntry> entries)
    {
        var last = entries.Select(entry => entry.Provenance.Arrived)
            .Where(arrived => confirmed is null || confirmed.LogAhead is not { } ahead || arrived > ahead
                || clock!.Now < confirmed.Shown)
            .DefaultIfEmpty(Instant.MinValue).Max();
        if (last > Instant.MinValue)
            Guard!.CompareWithLog(last);
    }

    /// <summary>The process dies, at whatever step it is, and is started again after so long.</summary>
    public void Die(string why, Duration down)
    {
        if (loop is not null)
            world.ProcessDied(why, down);
        DieWithTheProcess(why, down);
    }

    /// <summary>The process dies at a step of another bench.</summary>
    public void DieWithTheProcess(string why, Duration down)
    {
        world.Disk.Dead = true;
        if (loop is null || world.IsOver)
            return;
        world.Trace($"server dies ({why}), down for {down.TotalSeconds:0} s");
        world.Count(why);
        world.Watch.WentDown();
        loop = null;
        incarnation++;
        world.Agenda.In(down, world.StartServer);
    }

    /// <summary>A message has reached the machine.</summary>
    public void Hear(Tablet tablet, Said said)
    {
        if (loop is not { } present)
            return;
        CompareTablet(tablet);
        var provenance = new Provenance(said.Id, said.At, clock!.Now, Aide, tablet.Device);
        var answer = present.HearAsync(new CommandEnvelope(Readable(said.Command), provenance)).GetAwaiter()
            .GetResult();
        if (loop != present || MayDie("crash before the answer"))
            return;
        if (answer.Recorded)
            world.Watch.Acknowledged(said.Id);
        else
            world.Trace($"server answers {said.Id}: {answer.Sentence}");
        var ahead = Ahead;
        world.Send(tablet, () => tablet.Hear(said, answer, ahead));
        world.Watch.Look();
        if (!MayDie("crash before the plan"))
            Turn();
    }

    /// <summary>As the reader of commands: times inside a command have whole milliseconds too.</summary>
    private static BenchCommand Readable(BenchCommand command) => command switch
    {
        BenchCommand.CorrectReport { At: { } at } correct => correct with { At = BenchClock.ToMilliseconds(at) },
        BenchCommand.ChangeReady { Ready: { } ready } change =>
            change with { Ready = BenchClock.ToMilliseconds(ready) },
        _ => command,
    };

    /// <summary>A tablet says what its own clock shows.</summary>
    public void CompareTablet(Tablet tablet)
    {
        if (loop is null)
            return;
        var before = Guard!.Doubt;
        Guard.CompareWithTablet(tablet.Device.Value, tablet.Shows(world.Now + world.Recipe.Failures.TabletAhead));
        NoteDoubt(before);
    }

    /// <summary>A person has compared the server's time with a good clock and says that it is right.</summary>
    public void ConfirmTime()
    {
        if (loop is null || Guard!.Doubt is null)
            return;
        confirmed = new ClockConfirmed(clock!.Now, Guard.LogAhead);
        world.Trace("a person confirms the server's time");
        Guard.Confirm();
        Turn();
    }

    private void WatchClock(int of)
    {
        if (of != incarnation || world.IsOver)
            return;
        var before = Guard!.Doubt;
        Guard.CompareWithMachine(MachineAhead);
        NoteDoubt(before);
        world.Agenda.In(ClockWatchEvery, () => WatchClock(of));
    }

    private void NoteDoubt(ClockFault? before)
    {
        if ((before is null) == (Guard!.Doubt is null))
            return;
        world.Trace(Guard.Doubt is null
            ? "the server's time is agreed" : $"the server's time is in doubt ({Guard.Doubt.Key})");
        if (Guard.Doubt is not null)
            Doubted();
        Turn();
    }

    private void Doubted()
    {
        world.Count("clock doubt");
        Troubles.LookAtClock(world);
    }

    /// <summary>Plans where it is due, shows, and sets the next wake.</summary>
    private void Turn()
    {
        if (loop is not { } present)
            return;
        var look = present.KeepTimeAsync().GetAwaiter().GetResult();
        if (loop != present || MayDie("crash before publishing"))
            return;
        world.Watch.Look();
        foreach (var tablet in world.Tablets)
        {
            var (state, ahead) = (present.State, Ahead);
            world.Send(tablet, () => tablet.Show(state, ahead));
        }

        var (ofWake, of) = (++wake, incarnation);
        world.Agenda.In(
            Duration.FromMilliseconds(Math.Max(1, Math.Ceiling(present.SleepAfter(look).TotalMilliseconds))), () =>
        {
            if (ofWake == wake && of == incarnation && !world.IsOver)
                Turn();
        });
    }

    private bool MayDie(string why)
    {
        if (!world.Chance(world.Recipe.Failures.CrashBetween))
            return false;
        Die(why, world.DownTime());
        return true;
    }
}
