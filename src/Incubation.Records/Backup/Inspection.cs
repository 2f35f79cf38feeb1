using Incubation.Bench;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.Data.Sqlite;
using NodaTime;

namespace Incubation.Records.Backup;

/// <summary>A stream in a data file that replays.</summary>
/// <param name="Stream">The stream, as it names itself.</param>
/// <param name="Head">Its last row. Noted elsewhere, it proves later that nothing was cut off.</param>
/// <param name="LastArrived">When its last event arrived.</param>
public sealed record StreamReport(string Stream, LogHead Head, Instant LastArrived);

/// <summary>What a data file holds; everything in it was read and replayed.</summary>
/// <param name="Path">Full path.</param>
/// <param name="Streams">Its streams, by name.</param>
public sealed record DataFileReport(string Path, IReadOnlyList<StreamReport> Streams)
{
    /// <summary>Events in all streams.</summary>
    public long Events => Streams.Sum(stream => stream.Head.Sequence);

    /// <summary>When the last event arrived, or null in an empty file.</summary>
    public Instant? LastArrived => Streams.Count == 0 ? null : Streams.Max(stream => stream.LastArrived);
}

/// <summary>Reads a data file that nobody writes, whole, and changes nothing in it or beside it.</summary>
internal static class Inspection
{
    /// <summary>
    /// Opens the file, verifies every row and replays every stream. Throws <see cref="DataFileException"/> for a file that
    /// this program cannot use and <see cref="BackupException"/> for one that does not replay.
    /// </summary>
    public static DataFileReport Of(string path)
    {
        try
        {
            using var connection = OpenOwn(path);
            RefuseDamage(connection, path);
            var streams = RawConnection.Texts(connection,
                "SELECT \"Stream\" FROM \"EventHeaders\" UNION SELECT \"Stream\" FROM \"EventPayloads\" ORDER BY 1");
            return new DataFileReport(path, [.. streams.Select(stream => Replay(connection, stream))]);
        }
        catch (SqliteException e)
        {
            throw DataFileException.From(path, e);
        }
        catch (Exception e) when (e is LogBrokenException or UnreadableEventException)
        {
            throw new BackupException(BackupProblem.Broken, Sentence.Of(Words.BackupDoesNotReplay, path, e.Message), e);
        }
    }

    /// <summary>Opens a file that is this program's and not newer than it; throws <see cref="DataFileException"/> for any other.</summary>
    public static SqliteConnection OpenOwn(string path)
    {
        FileIdentity.RefuseForeignHeader(path);
        var connection = RawConnection.OpenStill(path);
        try
        {
            if (RawConnection.Scalar(connection, "PRAGMA application_id") is not (long)FileIdentity.ApplicationId)
                throw new DataFileException(DataFileProblem.OtherProgram, path, Words.FileOtherProgram);
            Migrating.RefuseNewer(connection, path);
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    private static void RefuseDamage(SqliteConnection connection, string path)
    {
        var found = RawConnection.Texts(connection, "PRAGMA quick_check(1)");
        if (found is not ["ok"])
            throw new DataFileException(DataFileProblem.Damaged, path, Words.FileDamaged, string.Join("; ", found));
    }

    private static StreamReport Replay(SqliteConnection connection, string stream)
    {
        var apply = Applying(stream);
        var head = new LogHead(0, Chain.Beginning(stream));
        var arrived = Instant.MinValue;
        foreach (var (header, payload) in RawRows.Read(connection, stream, 0))
        {
            var row = Chain.Verify(header, payload, head);
            apply(row);
            head = new LogHead(row.Header.Sequence, row.Header.Hash);
            arrived = row.Header.Arrived;
        }
        if (RawConnection.Scalar(connection, "SELECT 1 FROM \"EventPayloads\" WHERE \"Stream\" = $stream AND \"Sequence\" > $head",
            ("$stream", stream), ("$head", head.Sequence)) is not null)
            throw new LogBrokenException(stream, head.Sequence + 1, LogDifference.HeaderMissing);
        return new StreamReport(stream, head, arrived);
    }

    /// <summary>What takes a stream's rows in, one after the other; a stream of another kind is verified alone.</summary>
    private static Action<LogRow> Applying(string name)
    {
        if (!StreamName.TryParse(name, out var stream))
            throw new LogBrokenException(name, 1, LogDifference.Unreadable);
        if (stream.Bench is not null)
        {
            BenchState? bench = null;
            return row => bench = LiveBench.Apply(bench, BenchStreams.EntryOf(row));
        }
        if (stream == StreamName.Clinic)
        {
            var clinic = ClinicState.Empty;
            return row => clinic = clinic.Apply(ClinicLog.EntryOf(row));
        }
        return _ => { };
    }
}
