using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using NodaTime;

namespace Incubation.Faults;

/// <summary>Something said on a tablet that the server has not answered for good.</summary>
internal sealed class Said(ReportId id, BenchCommand command, Instant at, Instant since, Action<bool>? answered)
{
    /// <summary>Since when, in true time.</summary>
    public Instant Since { get; } = since;

    public ReportId Id { get; } = id;

    public BenchCommand Command { get; } = command;

    /// <summary>When it happened, in what the tablet takes to be the server's time.</summary>
    public Instant At { get; } = at;

    public bool IsAnswered { get; private set; }

    /// <summary>Whether the server has it; its answer may still be on its way.</summary>
    public bool IsHeard { get; set; }

    public void Answer(bool recorded)
    {
        if (IsAnswered)
            return;
        IsAnswered = true;
        answered?.Invoke(recorded);
    }
}

/// <summary>
/// One pair of hands' tablet: shows the newest snapshot that has reached it, and sends what is said until it is
/// answered.
/// </summary>
internal sealed class Tablet(World world, int number)
{
    private static readonly Duration Retry = Duration.FromSeconds(3);
    private static readonly Duration Heartbeat = Duration.FromSeconds(5);
    /// <summary>A tablet that has heard nothing for so long says that it is alone.</summary>
    public static readonly Duration AloneAfter = Duration.FromSeconds(10);

    private readonly List<Said> outbox = [];
    private int said;
    private long shownAtLeast;

    public DeviceId Device { get; } = new($"tablet-{number}");

    /// <summary>The bench as the tablet shows it.</summary>
    public BenchState? Shown { get; private set; }

    public Instant LastContact { get; private set; } = world.Now;

    /// <summary>What the tablet takes to be the server's time, less the true time.</summary>
    public Duration Offset { get; private set; }

    /// <summary>Until when its network is down.</summary>
    public Instant NetworkDownUntil { get; set; }

    public bool IsAlone => world.Now - LastContact > AloneAfter;

    public IReadOnlyList<Said> Outbox => outbox;

    /// <summary>Called when there is something new to see.</summary>
    public Action? News { get; set; }

    /// <summary>The server's time, as far as the tablet knows.</summary>
    public Instant Time => world.Now + Offset;

    /// <summary>The true instant of an instant of the server's time, as far as the tablet knows.</summary>
    public Instant ToTrue(Instant server) => server - Offset;

    /// <summary>Whether what was said is answered, and what is shown is at least as new as the answers.</summary>
    public bool IsCurrent => outbox.Count == 0 && Shown is { } state && state.Revision >= shownAtLeast;

    public void Begin()
    {
        if (world.IsOver)
            return;
        Ask();
        News?.Invoke();
        world.Agenda.In(Heartbeat, Begin);
    }

    /// <summary>What its own clock shows when a right one shows this.</summary>
    public Instant Shows(Instant right) =>
        world.Extremes.Clocks.GetValueOrDefault(number) is { } broken && broken.From <= world.Now
            && world.Now < broken.Until ? broken.Shows(right) : right;

    /// <summary>
    /// Says something. A touch has the time of the tablet's own clock, however wrong it is; a time that a person states
    /// is read from the clock on the wall, and what is no report is said elsewhere.
    /// </summary>
    public Said Say(BenchCommand command, Instant at, Action<bool>? answered = null)
    {
        if (command is BenchCommand.Report and not (BenchCommand.Mixed { TimeStated: true }
            or BenchCommand.Loaded { TimeStated: true } or BenchCommand.ReadStarted { StatedInTime: true })
            && Shows(at) is var shown && shown != at)
        {
            at = shown;
            world.Count("told by a broken clock");
        }

        var one = new Said(new ReportId($"T{number}-{++said}"), command, at, world.Now, answered);
        world.Trace($"tablet {number} says {Words.Of(command)} at {Words.Of(at - Offset)} [{one.Id}]");
        outbox.Add(one);
        Transmit(one);
        return one;
    }

    private void Transmit(Said one)
    {
        if (one.IsAnswered || world.IsOver)
            return;
        world.Send(this, () => world.Server.Hear(this, one));
        world.Agenda.In(Retry, () => Transmit(one));
    }

    /// <summary>The server's answer has come.</summary>
    public void Hear(Said one, CommandAnswer answer, Duration serverAhead)
    {
        NoteContact(serverAhead);
        if (one.IsAnswered)
            return;
        if (answer.Kind == AnswerKinds.NotNow)
            return;
        outbox.Remove(one);
        shownAtLeast = Math.Max(shownAtLeast, answer.Revision);
        one.Answer(answer.Recorded);
        News?.Invoke();
    }

    private void Ask() => world.Send(this, () =>
    {
        if (world.Server.Present is not { } view)
            return;
        world.Server.CompareTablet(this);
        var ahead = world.Server.Ahead;
        world.Send(this, () => Show(view, ahead));
    });

    /// <summary>A snapshot has come; one that is older than what is shown is left aside.</summary>
    public void Show(BenchState state, Duration serverAhead)
    {
        NoteContact(serverAhead);
        if (Shown is { } shown && state.Revision < shown.Revision)
            return;
        Shown = state;
        News?.Invoke();
    }

    /// <summary>
    /// As screens do, the tablet allows for the way of a message; what remains is an error of so much.
    /// </summary>
    private void NoteContact(Duration serverAhead)
    {
        LastContact = world.Now;
        Offset = serverAhead + world.Recipe.Failures.OffsetError;
    }
}
