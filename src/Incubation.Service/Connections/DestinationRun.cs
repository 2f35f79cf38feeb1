using System.Threading.Channels;
using Incubation.Clinic.Connections;
using Incubation.Records.Connections;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Service.Connections;

/// <summary>How a destination is, as its page shows it.</summary>
/// <param name="Waiting">How many messages wait to be sent, those on their way too.</param>
/// <param name="IsMore">Whether more wait than are counted.</param>
/// <param name="Failures">How many tries in a row have failed.</param>
/// <param name="Trouble">What came of the last try, where it failed; else null.</param>
/// <param name="FailingSince">Since when every try has failed; null where the last was taken.</param>
/// <param name="NextTry">When it is tried next; null where nothing waits for a time.</param>
/// <param name="First">The first messages that wait, in order.</param>
/// <param name="Parked">The first that were refused for good, in order.</param>
/// <param name="ParkedCount">How many were.</param>
public sealed record DestinationFigures(int Waiting, bool IsMore, int Failures, string? Trouble,
    Instant? FailingSince, Instant? NextTry, IReadOnlyList<Delivery> First, IReadOnlyList<Delivery> Parked,
    int ParkedCount)
{
    /// <summary>Of one of which nothing is known yet.</summary>
    public static DestinationFigures None { get; } = new(0, false, 0, null, null, null, [], [], 0);
}

/// <summary>
/// Sends to one destination what its queue says, a few at a time, until it is stopped. Everything that touches the
/// queue is done in its one loop.
/// </summary>
internal sealed class DestinationRun
{
    /// <summary>So many messages are on their way at a time: a destination is not flooded, nor this machine.</summary>
    public const int MostOnTheWay = 4;

    /// <summary>So many are held in memory; the rest is read as these go.</summary>
    private const int MostHeld = 5_000;

    private const int LeastHeld = 1_000;
    private const int MostShown = 20;

    private readonly OutboxStore store;
    private readonly OutgoingMessages messages;
    private readonly MarkBook marks;
    private readonly TimeProvider real;
    private readonly Func<double> chance;
    private readonly Action<Connection, string> gone;
    private readonly ILogger logger;
    private readonly DeliveryQueue queue = new();
    private readonly Channel<Action> doings = Channel.CreateUnbounded<Action>(
        new UnboundedChannelOptions { SingleReader = true });

    private Connection connection;
    private IDestinationWay way;
    private long readTo;
    private bool isAllRead;
    private bool isNews = true;
    private string? trouble;
    private Instant? failingSince;
    private volatile DestinationFigures figures = DestinationFigures.None;

    /// <summary>A run that has not begun.</summary>
    public DestinationRun(Connection connection, IDestinationWay way, OutboxStore store, OutgoingMessages messages,
        MarkBook marks, TimeProvider real, Func<double> chance, Action<Connection, string> gone, ILogger logger)
    {
        (this.connection, this.way, this.store, this.messages) = (connection, way, store, messages);
        (this.marks, this.real, this.chance, this.gone, this.logger) = (marks, real, chance, gone, logger);
    }

    /// <summary>Called when <see cref="Figures"/> have changed.</summary>
    public event Action? Changed;

    /// <summary>How it is.</summary>
    public DestinationFigures Figures => figures;

    private Instant Now => real.GetUtcNow().ToInstant();

    /// <summary>There may be something new.</summary>
    public void Tell() => doings.Writer.TryWrite(() => isNews = true);

    /// <summary>The destination is another than before.</summary>
    public void Take(Connection next, IDestinationWay nextWay) => doings.Writer.TryWrite(() =>
    {
        way.Dispose();
        if (next.AgainSince != connection.AgainSince)
            // It is told of what was read past, too; what is in the queue stays there.
            (readTo, isAllRead, isNews) = (0, false, true);
        (connection, way) = (next, nextWay);
        queue.TryNow(Now);
    });

    /// <summary>Does something with the queue, between two messages, and gives what came of it.</summary>
    public async Task<T> DoAsync<T>(Func<DeliveryQueue, Instant, T> what)
    {
        // What was learnt of a message before is on the disk before a person's word about it.
        await marks.FlushAsync();
        var done = new TaskCompletionSource<T>(TaskCreationOptions.RunContinuationsAsynchronously);
        if (!doings.Writer.TryWrite(() =>
        {
            try
            {
                done.SetResult(what(queue, Now));
            }
            catch (Exception fault) when (fault is not OutOfMemoryException)
            {
                done.SetException(fault);
            }
        }))
            done.SetCanceled();
        return await done.Task;
    }

    /// <summary>Sends until it is stopped.</summary>
    public async Task RunAsync(CancellationToken stopping)
    {
        try
        {
            while (!stopping.IsCancellationRequested)
            {
                Read();
                while (connection.WhyOff is null && queue.OnTheWay < MostOnTheWay && queue.Next(Now) is { } next)
                    _ = SendAsync(next, way, stopping);
                Show();
                await WaitAsync(stopping);
                while (doings.Reader.TryRead(out var doing))
                    doing();
            }
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            // The server stops, or the destination has ended.
        }
        finally
        {
            doings.Writer.TryComplete();
            way.Dispose();
        }
    }

    /// <summary>Reads on while there is news, or what was left out for its number has room.</summary>
    private void Read()
    {
        // What is new is read when it is its turn.
        if (queue.Sendable > LeastHeld ? !isNews || !isAllRead : !isNews && isAllRead)
            return;
        try
        {
            var open = store.Open(connection, readTo, MostHeld, out readTo);
            isAllRead = open.Count < MostHeld;
            var latest = Now + RetryWaits.Longest;
            foreach (var delivery in open)
                // A clock that was set back must not keep anything for longer than any wait.
                queue.Add(delivery.NextTry > latest ? delivery with { NextTry = latest } : delivery);
            isNews = false;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            isNews = false;
            isAllRead = false;
            logger.LogError(fault, "What waits for {Destination} could not be read.", connection.Id);
        }
    }

    private async Task WaitAsync(CancellationToken stopping)
    {
        var due = connection.WhyOff is null && queue.OnTheWay < MostOnTheWay ? queue.DueAt : null;
        // Also now and then where nothing is due: whatever could not be read is read again.
        var wait = due is { } at ? Duration.Max(Duration.Zero, Duration.Min(at - Now, Duration.FromMinutes(1)))
            : Duration.FromMinutes(1);
        if (wait == Duration.Zero)
            return;
        using var timer = CancellationTokenSource.CreateLinkedTokenSource(stopping);
        var heard = doings.Reader.WaitToReadAsync(timer.Token).AsTask();
        var waited = Task.Delay(wait.ToTimeSpan(), real, timer.Token);
        await Task.WhenAny(heard, waited);
        await timer.CancelAsync();
        stopping.ThrowIfCancellationRequested();
        if (waited.IsCompletedSuccessfully && !isAllRead)
            isNews = true;
    }

    private async Task SendAsync(Delivery delivery, IDestinationWay through, CancellationToken stopping)
    {
        // Not in the loop: nothing waits for a message but those behind it.
        await Task.Yield();
        DeliveryOutcome? outcome;
        try
        {
            outcome = messages.Of(connection, delivery.Id) is { } message
                ? await through.SendAsync(message, stopping)
                // Its batch was erased: a person has seen to that.
                : new DeliveryOutcome.Taken(ConnectionsWords.GoneWithItsBatch);
        }
        catch (OperationCanceledException) when (stopping.IsCancellationRequested)
        {
            return;
        }
        catch (ObjectDisposedException)
        {
            // The destination was changed meanwhile.
            outcome = null;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "A message to {Destination} could not be made.", connection.Id);
            outcome = new DeliveryOutcome.NotNow(ConnectionsWords.FaultOfOurs);
        }

        doings.Writer.TryWrite(() => Settle(delivery, outcome));
    }

    private void Settle(Delivery delivery, DeliveryOutcome? outcome)
    {
        if (outcome is null)
        {
            queue.PutBack(delivery.Id);
            return;
        }

        var settled = queue.Settle(delivery.Id, outcome, Now, chance());
        marks.Add(connection.Id, settled);
        var hasFailed = outcome is DeliveryOutcome.NotNow or DeliveryOutcome.Gone;
        trouble = hasFailed ? settled.Answer : null;
        failingSince = hasFailed ? failingSince ?? Now : null;
        if (outcome is DeliveryOutcome.Gone && connection.WhyOff is null)
        {
            // At once: nothing more is sent, whenever the log can be written.
            connection = connection with { WhyOff = settled.Answer };
            gone(connection, settled.Answer!);
        }
    }

    private void Show()
    {
        IReadOnlyList<Delivery> first =
            [.. queue.All.Where(one => one.Status == DeliveryStatus.Waiting).Take(MostShown)];
        IReadOnlyList<Delivery> parked = [.. queue.Parked.Take(MostShown)];
        var next = new DestinationFigures(queue.Count - queue.ParkedCount, !isAllRead, queue.Failures, trouble,
            failingSince, connection.WhyOff is null ? queue.DueAt : null, first, parked,
            queue.ParkedCount);
        var isSame = figures with { First = first, Parked = parked } == next && figures.First.SequenceEqual(first)
            && figures.Parked.SequenceEqual(parked);
        figures = next;
        if (!isSame)
            Changed?.Invoke();
    }
}
