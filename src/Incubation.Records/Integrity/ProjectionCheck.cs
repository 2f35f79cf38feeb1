using Incubation.Records.Batches;
using Incubation.Records.Log;

namespace Incubation.Records.Integrity;

/// <summary>
/// Whether the tables of the projections say what the log says. A difference is said only where a second look finds it
/// again: reports go on meanwhile.
/// </summary>
public static class ProjectionCheck
{
    private const int RowsAtATime = 500;

    /// <summary>Compares the tables of a file that somebody else may have open.</summary>
    internal static ProjectionVerdict Of(string path, bool still)
    {
        using var tables = Tables.Of(path, still);
        using var log = Tables.Of(path, still);
        ProjectionVerdict Look()
        {
            var comparison = new ProjectionComparison(tables, (stream, after) => Rows(log, stream, after),
                onAllCores: true, told: (_, _) => { });
            foreach (var _ in comparison.Pieces())
            {
            }
            return comparison.Found.Verdict;
        }

        var first = Look();
        return first.Count == 0 || still ? first : Confirmed(first, Look());
    }

    /// <summary>
    /// Compares the tables of a file that this process has open, a piece each time that the next one is asked for; at
    /// the end the verdict is given. Throws <see cref="LogBrokenException"/> or
    /// <see cref="UnreadableEventException"/> where the log itself cannot be read.
    /// </summary>
    /// <param name="file">The file.</param>
    /// <param name="book">Its batches and cartridges; knows afterwards which of its rows the log bears out.</param>
    /// <param name="done">Is given the verdict.</param>
    public static IEnumerable<int> InPieces(DataFile file, CartridgeProjection book, Action<ProjectionVerdict> done)
    {
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(done);
        book.CatchUp();
        var first = Live(file, book);
        foreach (var piece in first.Pieces())
            yield return piece;
        var verdict = Strict(first.Found.Verdict);
        if (verdict.Count > 0)
        {
            book.CatchUp();
            var second = Live(file, book);
            foreach (var piece in second.Pieces())
                yield return piece;
            verdict = Confirmed(verdict, Strict(second.Found.Verdict));
        }

        book.TrustAll();
        done(verdict);
    }

    /// <summary>As <see cref="InPieces"/>, in one go.</summary>
    public static ProjectionVerdict Now(DataFile file, CartridgeProjection book)
    {
        var verdict = ProjectionVerdict.Empty;
        foreach (var _ in InPieces(file, book, found => verdict = found))
        {
            // Nobody is waited for between the pieces.
        }

        return verdict;
    }

    /// <summary>The comparison of a file that this process has open.</summary>
    internal static ProjectionComparison Live(DataFile file, CartridgeProjection book)
    {
        var tables = Tables.Of(file);
        return new ProjectionComparison(tables, (stream, after) => Rows(tables, stream, after), onAllCores: false,
            book.Trust);
    }

    /// <summary>In a file that is open nothing is behind: its program has made anew what was.</summary>
    internal static ProjectionVerdict Strict(ProjectionVerdict verdict) => verdict.Behind.Count == 0 ? verdict
        : verdict with
        {
            Differences = [.. verdict.Differences, .. verdict.Behind.Select(Positions.OtherVersion)],
            Count = verdict.Count + verdict.Behind.Count,
            Behind = [],
        };

    private static ProjectionVerdict Confirmed(ProjectionVerdict first, ProjectionVerdict second)
    {
        if (first.Count > ProjectionVerdict.MostNamed || second.Count > ProjectionVerdict.MostNamed)
            return second;
        var seen = first.Differences.ToHashSet();
        var both = second.Differences.Where(seen.Contains).ToList();
        return second with { Differences = both, Count = both.Count };
    }

    /// <summary>The verified rows of a stream after a sequence, a page at a time; nothing stays open between.</summary>
    private static IEnumerable<LogRow> Rows(Tables log, StreamName stream, long after)
    {
        var name = stream.ToString();
        var head = log.Read(connection => HeadAt(connection, name, after));
        while (true)
        {
            var page = log.Read(connection => RawRows.Read(connection, name, head.Sequence, RowsAtATime).ToList());
            foreach (var (header, payload) in page)
            {
                // Whether a payload may be gone is for the check of the log itself to say.
                var row = Chain.Verify(header, payload, head, mayBeErased: true);
                head = new LogHead(row.Header.Sequence, row.Header.Hash);
                yield return row;
            }
            if (page.Count < RowsAtATime)
                yield break;
        }
    }

    private static LogHead HeadAt(System.Data.Common.DbConnection connection, string stream, long sequence)
    {
        if (sequence == 0)
            return new LogHead(0, Chain.Beginning(stream));
        var row = RawRows.Read(connection, stream, sequence - 1, 1).Select(found => found.Header)
            .SingleOrDefault(header => header.Sequence == sequence);
        return row is null ? throw new LogBrokenException(stream, sequence, LogDifference.RowMissing)
            : EventLog.TrustedHead(row);
    }
}
