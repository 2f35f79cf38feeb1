using System.Collections.Concurrent;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Connections;

/// <summary>
/// Sends what waits in the outbox, to each destination as it is set now. One destination's trouble is no other's, and
/// no bench waits for any: messages lie on the disk before anybody thinks of sending them.
/// </summary>
public sealed class OutboxSender(ClinicHost clinic, OutboxStore store, OutgoingMessages messages, MarkBook marks,
    IEnumerable<IDestinationKind> kinds, BenchClock clock,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real, ILogger<OutboxSender> logger) : BackgroundService
{
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(5);
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId Through = new("server");

    private readonly IReadOnlyList<IDestinationKind> kinds = [.. kinds];
    private readonly ConcurrentDictionary<DestinationId, Running> runs = [];
    private readonly SemaphoreSlim settings = new(0);
    private ConnectionsState? seen;

    private sealed record Running(DestinationRun Run, Connection Connection, long? SecretSetBy,
        CancellationTokenSource Stop, Task Runs);

    /// <summary>Called when something that a page shows has changed; often, from any thread.</summary>
    public event Action? Changed;

    /// <summary>How a destination is.</summary>
    public DestinationFigures FiguresOf(DestinationId id) =>
        runs.TryGetValue(id, out var running) ? running.Run.Figures : DestinationFigures.None;

    /// <summary>
    /// Does something with a destination's queue, between two messages; null where it is not used any more.
    /// </summary>
    public async Task<T?> DoAsync<T>(DestinationId id, Func<DeliveryQueue, NodaTime.Instant, T> what)
        where T : class
    {
        try
        {
            return runs.TryGetValue(id, out var running) ? await running.Run.DoAsync(what) : null;
        }
        catch (OperationCanceledException)
        {
            return null;
        }
    }

    /// <summary>Sends a message that says nothing, now, and says what came of it.</summary>
    public async Task<DeliveryOutcome> TestAsync(Connection connection, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(connection);
        using var way = Open(connection);
        return await way.SendAsync(OutgoingMessages.Test(NodaTime.Instant.FromDateTimeOffset(real.GetUtcNow())),
            cancellation);
    }

    /// <inheritdoc/>
    public override void Dispose()
    {
        base.Dispose();
        settings.Dispose();
    }

    /// <inheritdoc/>
    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        // The host's start does not wait for the first reading.
        await Task.Yield();
        clinic.Log.Changed += Note;
        store.Added += TellAll;
        using var allSent = new CancellationTokenSource();
        var marking = marks.RunAsync(allSent.Token);
        try
        {
            await KeepRunsAsync(stoppingToken);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
        finally
        {
            clinic.Log.Changed -= Note;
            store.Added -= TellAll;
            await Task.WhenAll(runs.Keys.ToList().Select(CloseAsync));
            await allSent.CancelAsync();
            await marking;
        }
    }

    private void Note()
    {
        if (!ReferenceEquals(clinic.Log.Connections.All, seen?.All))
            settings.Release();
    }

    private void TellAll()
    {
        foreach (var running in runs.Values)
            running.Run.Tell();
    }

    private async Task KeepRunsAsync(CancellationToken stop)
    {
        while (true)
        {
            var now = clinic.Log.Connections;
            seen = now;
            var inUse = now.InUse.ToDictionary(one => one.Id);
            foreach (var gone in runs.Keys.Where(id => !inUse.ContainsKey(id)).ToList())
                await CloseAsync(gone);
            foreach (var connection in inUse.Values)
                Bring(connection, stop);
            Changed?.Invoke();
            await settings.WaitAsync(stop);
        }
    }

    /// <summary>Begins a destination's run, or lets it know that the destination is another.</summary>
    private void Bring(Connection connection, CancellationToken stop)
    {
        var setBy = clinic.Log.Secrets.SetBy.TryGetValue(
            (connection.Id.Value, SecretKind.Signing), out var row) ? row : (long?)null;
        if (!runs.TryGetValue(connection.Id, out var running))
        {
            var closing = CancellationTokenSource.CreateLinkedTokenSource(stop);
            var run = new DestinationRun(connection, Open(connection), store, messages, marks, real,
                Random.Shared.NextDouble, SwitchOff, logger);
            run.Changed += () => Changed?.Invoke();
            runs[connection.Id] = new Running(run, connection, setBy, closing,
                Task.Run(() => run.RunAsync(closing.Token), CancellationToken.None));
        }
        else if (running.Connection != connection || running.SecretSetBy != setBy)
        {
            running.Run.Take(connection, Open(connection));
            runs[connection.Id] = running with { Connection = connection, SecretSetBy = setBy };
        }
    }

    private IDestinationWay Open(Connection connection) =>
        kinds.First(kind => kind.Is(connection.Destination.Way)).Open(connection);

    private async Task CloseAsync(DestinationId id)
    {
        if (!runs.TryRemove(id, out var running))
            return;
        await running.Stop.CancelAsync();
        await running.Runs;
        running.Stop.Dispose();
    }

    /// <summary>A destination wants no more messages: that stands in the log as soon as it can be written.</summary>
    private void SwitchOff(Connection connection, string answer) => _ = Task.Run(async () =>
    {
        while (true)
            try
            {
                clinic.Log.Record(new ClinicEvent.DestinationSwitched(connection.Id, false,
                    Say.Of(ConnectionsWords.SwitchedOffByAnswer, answer)), Provenances.Of(Itself, Through, clock));
                return;
            }
            catch (AppendException fault)
            {
                logger.LogError(fault, "It could not be written that {Destination} is switched off.", connection.Id);
                await Task.Delay(RetryAfter, real);
            }
            catch (ObjectDisposedException)
            {
                return;
            }
    });
}
