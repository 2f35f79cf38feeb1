using System.Threading.Channels;
using Incubation.Clinic.Connections;
using Incubation.Model;
using Incubation.Records.Connections;
using Incubation.Records.Log;

namespace Incubation.Service.Connections;

/// <summary>
/// Writes down what became of messages, of all destinations together: one flush to the disk for many, so that no bench
/// waits for it. What could not be written is kept and tried again; a message whose mark is lost is sent again.
/// </summary>
public sealed class MarkBook(OutboxStore store, ILogger<MarkBook> logger)
{
    /// <summary>So many at most in one transaction, which is short so.</summary>
    private const int MostAtOnce = 200;

    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(5);

    private readonly Channel<Entry> entries = Channel.CreateUnbounded<Entry>(
        new UnboundedChannelOptions { SingleReader = true });

    private sealed record Entry(DestinationId Destination, Delivery? Mark, TaskCompletionSource? Written);

    /// <summary>Writes a mark soon, after those before it.</summary>
    public void Add(DestinationId destination, Delivery delivery) =>
        entries.Writer.TryWrite(new Entry(destination, delivery, null));

    /// <summary>Ends when everything that was added before is written, or could not be.</summary>
    public Task FlushAsync()
    {
        var written = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        entries.Writer.TryWrite(new Entry(default, null, written));
        return written.Task;
    }

    /// <summary>Writes until the server stops, and then what is left.</summary>
    public async Task RunAsync(CancellationToken stopping)
    {
        var kept = new List<Entry>();
        while (!stopping.IsCancellationRequested)
        {
            try
            {
                if (kept.Count == 0)
                    await entries.Reader.WaitToReadAsync(stopping);
                else
                    await Task.Delay(RetryAfter, stopping);
            }
            catch (OperationCanceledException)
            {
                // What is left is still written.
            }

            WriteAll(kept);
        }
    }

    private void WriteAll(List<Entry> kept)
    {
        bool isWritten;
        do
        {
            while (kept.Count < MostAtOnce && entries.Reader.TryRead(out var entry))
                kept.Add(entry);
            isWritten = Write(kept);
            foreach (var entry in kept)
                entry.Written?.TrySetResult();
            if (isWritten)
                kept.Clear();
            else
                kept.RemoveAll(entry => entry.Mark is null);
        }
        while (isWritten && entries.Reader.TryPeek(out _));
    }

    private bool Write(List<Entry> these)
    {
        try
        {
            store.Mark([.. these.Where(entry => entry.Mark is not null)
                .Select(entry => (entry.Destination, entry.Mark!))]);
            return true;
        }
        catch (AppendException fault)
        {
            logger.LogError(fault, "What became of messages to other systems could not be written.");
            return false;
        }
    }
}
