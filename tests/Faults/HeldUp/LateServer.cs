using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Microsoft.Extensions.Logging;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>The server: the real turns of a bench on virtual time. It does not die here.</summary>
internal sealed class LateServer : ILogger
{
    private static readonly BenchId Bench = new("bench-1");
    private static readonly PersonId Aide = new("aide");

    private readonly LateWorld world;
    private readonly BenchLoop loop;
    private readonly BenchClock clock;
    private long sent;
    private int wake;
    private int ids;

    public LateServer(LateWorld world)
    {
        this.world = world;
        var paced = new PacedTimeProvider(world.Machine, ClockLine.RealTime(world.Machine.GetUtcNow()));
        clock = new BenchClock(paced, 1);
        var disk = new SimulatedDisk(Bench, () => WriteFate.Succeeds);
        var provenance = new Provenance(new ReportId("open"), world.Now, world.Now, Aide, new DeviceId("server"));
        var open = new BenchCommand.OpenBench(Bench, "Bench 1", world.Recipe.Bench, Duration.FromSeconds(20));
        var decided = (Decision.Accepted)LiveBench.Decide(null, open, provenance);
        disk.AppendAsync(Bench, 0, decided.Entries(provenance), CancellationToken.None).GetAwaiter().GetResult();
        loop = new BenchLoop(disk.From(0).Aggregate((BenchState?)null, LiveBench.Apply)!, disk, clock,
            () => new IterationBudget(world.Recipe.Iterations), () => new IterationBudget(64),
            () => new ReportId($"S{++ids}"), this, new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true),
            world.Recipe.Policy, StepPatience.Usual);
    }

    public BenchState State => loop.State;

    public CommandAnswer Hear(LateScreen screen, Said said)
    {
        var provenance = new Provenance(said.Id, said.At, clock.Now, Aide, screen.Device);
        var answer = loop.HearAsync(new CommandEnvelope(said.Command, provenance)).GetAwaiter().GetResult();
        Turn();
        return answer;
    }

    /// <summary>Plans where it is due, shows, and sets the next wake.</summary>
    public void Turn()
    {
        var look = loop.KeepTimeAsync().GetAwaiter().GetResult();
        world.Alarms.AreOnTheServer(look);
        if (loop.State.Revision != sent)
            Trace(look);
        if (loop.State.Revision != sent)
            foreach (var screen in world.Screens)
                screen.Send(loop.State);
        sent = loop.State.Revision;
        var of = ++wake;
        world.Agenda.In(Duration.FromMilliseconds(Math.Max(1, Math.Ceiling(loop.SleepAfter(look).TotalMilliseconds))),
            () =>
            {
                if (of == wake && !world.IsOver)
                    Turn();
            });
    }

    private void Trace(BenchView look)
    {
        if (!world.IsTraced)
            return;
        var rows = loop.State.Adopted?.Remaining.Take(8).Select(row => $"{Words.Of(row.Step.Action)} by "
            + $"{row.Step.Hands} at {Words.Of(row.Step.Start)}") ?? [];
        world.Trace($"  revision {loop.State.Revision}, {(loop.State.HasUnplanned ? "to plan" : "planned")}: now "
            + string.Join(", ", look.Offers.Select(offer => $"{Words.Of(offer.Action)} by {offer.Hands}"))
            + "; not known " + string.Join(", ", look.NotKnown.Select(step => Words.Of(step.Action)))
            + "; plan " + string.Join(", ", rows)
            + "; gives up " + string.Join(", ", loop.State.Adopted?.Plan.Lost.Select(left => left.Request) ?? [])
            + "; begin by " + string.Join(", ", look.LastMoments.Cartridges.Select(
                one => $"{one.Request} {(one.IsSaved ? one.BeginBy is { } by ? Words.Of(by) : "saved" : "lost")}")));
    }

    /// <inheritdoc/>
    public IDisposable? BeginScope<TState>(TState state)
        where TState : notnull => null;

    /// <inheritdoc/>
    public bool IsEnabled(LogLevel logLevel) => true;

    /// <inheritdoc/>
    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter)
    {
        world.Trace($"server logs: {formatter(state, exception)}");
        if (logLevel >= LogLevel.Error)
            world.Violated($"the bench's core throws nothing: {formatter(state, exception)} {exception}");
    }
}
