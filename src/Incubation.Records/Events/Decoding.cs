using System.Runtime.ExceptionServices;
using Incubation.Records.Log;

namespace Incubation.Records.Events;

/// <summary>Decodes many rows on all cores; what is done with the events stays in order, one after the other.</summary>
internal static class Decoding
{
    private const int RowsAtATime = 1000;

    /// <summary>
    /// The decoded rows in order. The first that cannot be decoded throws where its turn comes, as if nothing ran
    /// beside it.
    /// </summary>
    public static IEnumerable<T> InOrder<T>(IEnumerable<LogRow> rows, Func<LogRow, T> decode)
    {
        using var chunks = rows.Chunk(RowsAtATime).GetEnumerator();
        // The next rows are read and verified while these are decoded; one thread at a time reads.
        var next = Task.Run(() => chunks.MoveNext() ? chunks.Current : null);
        try
        {
            while (next.GetAwaiter().GetResult() is { } chunk)
            {
                next = Task.Run(() => chunks.MoveNext() ? chunks.Current : null);
                var decoded = new (T? Value, Exception? Fault)[chunk.Length];
                Parallel.For(0, chunk.Length, at => decoded[at] = Try(chunk[at], decode));
                foreach (var (value, fault) in decoded)
                {
                    if (fault is not null)
                        ExceptionDispatchInfo.Throw(fault);
                    yield return value!;
                }
            }
        }
        finally
        {
            // Whoever stops early closes the connection next: not under the reader's feet.
            next.ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.ExecuteSynchronously,
                TaskScheduler.Default).Wait();
        }
    }

    private static (T? Value, Exception? Fault) Try<T>(LogRow row, Func<LogRow, T> decode)
    {
        try
        {
            return (decode(row), null);
        }
        catch (UnreadableEventException e)
        {
            return (default, e);
        }
    }
}
