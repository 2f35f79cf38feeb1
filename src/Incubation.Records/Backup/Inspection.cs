using System.Data.Common;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Events;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.Records.Seals;
using Incubation.Records.Storage;
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
/// <param name="Signatures">Whether its signatures were held against its key.</param>
/// <param name="Signer">Name of the key by which it is signed; null where it is not.</param>
/// <param name="Tables">In what the tables differ that are made from the log.</param>
/// <param name="Seals">
/// Rows beside the log whose seal does not hold: they open nothing, and are no reason to be without a backup.
/// </param>
public sealed record DataFileReport(string Path, IReadOnlyList<StreamReport> Streams, SignatureCheck Signatures,
    string? Signer, ProjectionVerdict Tables, IReadOnlyList<LogBrokenException> Seals)
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
    /// Opens the file, verifies every row and replays every stream. Throws <see cref="DataFileException"/> for a file
    /// that this program cannot use and <see cref="BackupException"/> for one that does not replay.
    /// </summary>
    /// <param name="path">The file.</param>
    /// <param name="key">The record's key, or null: signatures are not looked at then.</param>
    public static DataFileReport Of(string path, SigningKey? key)
    {
        try
        {
            using var connection = StorageEngine.Present.OpenOwn(path, still: true);
            StorageEngine.Present.RefuseDamage(connection, path);
            var streams = Queries.Texts(connection,
                "SELECT \"Stream\" FROM \"EventHeaders\" UNION SELECT \"Stream\" FROM \"EventPayloads\" ORDER BY 1");
            var signed = SignedHeads.Read(connection);
            var name = signed is { KeyName.Length: > 0 } ? signed.KeyName : null;
            var signatures = KeySearch.Of(name, key);
            var signer = signatures == SignatureCheck.Checked ? key : null;
            var ruled = new ErasedByRule();
            var secrets = new SecretsInLog();
            var replayed = new Dictionary<string, StreamReport>(StringComparer.Ordinal);
            // The comparison replays every stream as it goes on; what it does not read is replayed after it.
            var tables = Compare(connection, path, ruled, secrets, replayed);
            // What was erased stands in the clinic's stream: it comes first.
            foreach (var stream in streams.OrderBy(stream => stream != StreamName.Clinic.ToString()))
                if (!replayed.ContainsKey(stream))
                    replayed[stream] = Replay(connection, stream, ruled, secrets);
            List<StreamReport> reports = [.. replayed.Values.OrderBy(report => report.Stream,
                StringComparer.Ordinal)];
            foreach (var report in reports)
                if (signed?.Against(report.Stream, report.Head, signer) is { } fault)
                    throw fault;
            var seals = signer is null ? [] : SealCheck.Faults(connection, signer, secrets.State);
            return signed?.FaultsOfList(signer, streams).FirstOrDefault() is { } missing
                ? throw missing : new DataFileReport(path, reports, signatures, name, tables, seals);
        }
        catch (DbException e)
        {
            throw RecordCheck.FormFault(path) is { } fault
                ? new BackupException(BackupProblem.Broken,
                    Sentence.Of(Words.BackupDoesNotReplay, path, fault.Message), e)
                : StorageEngine.Present.OpenFailure(path, e);
        }
        catch (Exception e) when (e is LogBrokenException or UnreadableEventException)
        {
            throw new BackupException(BackupProblem.Broken, Sentence.Of(Words.BackupDoesNotReplay, path, e.Message), e);
        }
    }

    private static ProjectionVerdict Compare(DbConnection connection, string path, ErasedByRule ruled,
        SecretsInLog secrets, Dictionary<string, StreamReport> replayed)
    {
        using var tables = Tables.Of(path, still: true);
        var comparison = new ProjectionComparison(tables, (stream, after) =>
            Verified(connection, stream.ToString(), ruled, secrets, report => replayed[report.Stream] = report)
                .Where(row => row.Header.Sequence > after), onAllCores: true,
            told: (_, _) => { });
        foreach (var _ in comparison.Pieces())
        {
            // Each piece adds what it finds.
        }

        return comparison.Found.Verdict;
    }

    private static StreamReport Replay(DbConnection connection, string name, ErasedByRule ruled, SecretsInLog secrets)
    {
        if (!StreamName.TryParse(name, out var stream))
            throw new LogBrokenException(name, 1, LogDifference.Unreadable);
        var read = new StreamReport(name, new LogHead(0, Chain.Beginning(name)), Instant.MinValue);
        Apply(stream, Verified(connection, name, ruled, secrets, report => read = report),
            stream.Bench is null ? null : Verifier.Beginning(connection, name));
        return read;
    }

    private static IEnumerable<LogRow> Verified(DbConnection connection, string name, ErasedByRule ruled,
        SecretsInLog secrets, Action<StreamReport> done)
    {
        var (head, arrived) = (new LogHead(0, Chain.Beginning(name)), Instant.MinValue);
        foreach (var row in Verifier.Rows(connection, name))
        {
            ruled.Take(row);
            secrets.Take(row);
            (head, arrived) = (new LogHead(row.Header.Sequence, row.Header.Hash), row.Header.Arrived);
            yield return row;
        }

        ruled.RefuseOthers(name);
        done(new StreamReport(name, head, arrived));
    }

    /// <summary>Takes a stream's rows in, one after the other; a stream of another kind is verified alone.</summary>
    private static void Apply(StreamName stream, IEnumerable<LogRow> rows, LogRow? beginning)
    {
        if (stream.Bench is not null)
            _ = Decoding.InOrder(rows.Where(row => row.Payload is not null), BenchStreams.EntryOf)
                .Aggregate(beginning is null ? null : LiveBench.Apply(null, BenchStreams.EntryOf(beginning)),
                    LiveBench.Apply);
        else if (stream == StreamName.Clinic)
            _ = Decoding.InOrder(rows, ClinicLog.EntryOf).Aggregate(ClinicState.Empty, LiveClinic.Apply);
        else
            _ = rows.Count();
    }
}
