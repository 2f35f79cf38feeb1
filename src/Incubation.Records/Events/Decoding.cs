using Incubation.Records.Log;

namespace Incubation.Records.Events;

/// <summary>Decodes many rows on all cores; what is done with the events stays in order, one after the other.</summary>
internal static class Decoding
{
    private const int RowsAtATime = 1000;

    /// <summary>The decoded rows in order. The first that cannot be decoded throws where its turn comes, as if nothing ran beside it.</summary>
    public static IEnumerable<T> InOrder<T>(IEnumerable<LogRow> rows, Func<LogRow, T> decode)
    {
        foreach (var chunk in rows.Chunk(RowsAtATime))
        {
            var decoded = new (T? Value, Exception? Fault)[chunk.Length];
            Parallel.For(0, chunk.Length, at => decoded[at] = Try(chunk[at], decode));
            foreach (var (value, fault) in decoded)
            {
                if (fault is not null)
                    System.Runtime.ExceptionServices.ExceptionDispatchInfo.Throw(fault);
                yield return value!;
            }
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
