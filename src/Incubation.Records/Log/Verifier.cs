using System.Data.Common;
using System.Security.Cryptography;
using Incubation.Records.Seals;
using Incubation.Records.Storage;

namespace Incubation.Records.Log;

/// <summary>
/// Reads a whole record as it stands at one instant and holds every row against its hashes, and every stream against
/// its signed head.
/// </summary>
internal static class Verifier
{
    /// <summary>Everything; nothing is thrown for what is broken.</summary>
    /// <param name="connection">A connection to the file.</param>
    /// <param name="key">The record's key, or null: signatures are not looked at then.</param>
    public static RecordVerdict All(DbConnection connection, SigningKey? key)
    {
        // One instant: a stream and its head, which a running server writes together, are read together.
        Queries.Run(connection, "BEGIN");
        try
        {
            var signed = SignedHeads.Read(connection);
            // A stream whose headers were all cut off shows by the payloads that it leaves behind.
            var names = Queries.Texts(connection,
                "SELECT \"Stream\" FROM \"EventHeaders\" UNION SELECT \"Stream\" FROM \"EventPayloads\" ORDER BY 1");
            var ruled = new ErasedByRule();
            var secrets = new SecretsInLog();
            // What was erased stands in the clinic's stream: it comes first.
            var clinic = names.Contains(StreamName.Clinic.ToString())
                ? Of(connection, StreamName.Clinic.ToString(), signed, key, ruled, secrets) : null;
            List<StreamVerdict> verdicts =
                [.. names.Select(name => name == clinic?.Stream ? clinic
                    : Of(connection, name, signed, key, ruled, secrets))];
            return new RecordVerdict(verdicts,
                [.. signed?.FaultsOfList(key, names) ?? [], .. Form(connection),
                    .. key is null ? [] : SealCheck.Faults(connection, key, secrets.State)],
                signed is not null);
        }
        finally
        {
            Queries.Run(connection, "ROLLBACK");
        }
    }

    /// <summary>
    /// Holds the end of every stream against its signed head; throws <see cref="LogBrokenException"/> for the first
    /// that differs.
    /// </summary>
    public static void Ends(DbConnection connection, SigningKey key)
    {
        if (SignedHeads.Read(connection) is not { } signed)
            return;
        var names = RawRows.Streams(connection);
        foreach (var name in names)
            if (signed.Against(name, EndOf(connection, name), key) is { } fault)
                throw fault;
        if (signed.FaultsOfList(key, names).FirstOrDefault() is { } missing)
            throw missing;
    }

    /// <summary>
    /// The verified rows of a stream in order, those without a payload too: whether that was erased by rule is for
    /// <see cref="ErasedByRule"/> to say. After the last, payloads left without their header are a fault. Throws
    /// <see cref="LogBrokenException"/> at the first row that is not what was written.
    /// </summary>
    public static IEnumerable<LogRow> Rows(DbConnection connection, string stream)
    {
        var head = new LogHead(0, Chain.Beginning(stream));
        foreach (var (header, payload) in RawRows.Read(connection, stream, 0))
        {
            var row = Chain.Verify(header, payload, head, mayBeErased: true);
            head = new LogHead(row.Header.Sequence, row.Header.Hash);
            yield return row;
        }
        if (Queries.Scalar(
            connection,
            "SELECT 1 FROM \"EventPayloads\" WHERE \"Stream\" = @stream AND \"Sequence\" > @head",
            ("@stream", stream), ("@head", head.Sequence)) is not null)
            throw new LogBrokenException(stream, head.Sequence + 1, LogDifference.HeaderMissing);
    }

    /// <summary>
    /// The row that says what a bench knew after the last row that was erased, verified by its own hashes; null where
    /// none was.
    /// </summary>
    public static LogRow? Beginning(DbConnection connection, string stream)
    {
        if (Erasures.Of(connection, stream).Beginning is not { } beginning)
            return null;
        var (header, payload) = RawRows.Read(connection, stream, beginning.Standing - 1, 1).SingleOrDefault();
        return header is null || header.Sequence != beginning.Standing
            ? throw new LogBrokenException(stream, beginning.Standing, LogDifference.RowMissing)
            : Chain.Verify(header, payload, new LogHead(beginning.Standing - 1, Digest.FromBytes(header.PreviousHash)));
    }

    private static StreamVerdict Of(DbConnection connection, string stream, SignedHeads? signed, SigningKey? key,
        ErasedByRule ruled, SecretsInLog secrets)
    {
        var head = new LogHead(0, Chain.Beginning(stream));
        try
        {
            foreach (var row in Rows(connection, stream))
            {
                ruled.Take(row);
                secrets.Take(row);
                head = new LogHead(row.Header.Sequence, row.Header.Hash);
            }
            ruled.RefuseOthers(stream);
            return new StreamVerdict(stream, head, signed?.Against(stream, head, key));
        }
        catch (LogBrokenException e)
        {
            return new StreamVerdict(stream, head, e);
        }
    }

    private static LogHead EndOf(DbConnection connection, string stream)
    {
        var last = (long)Queries.Scalar(connection,
            "SELECT MAX(\"Sequence\") FROM \"EventHeaders\" WHERE \"Stream\" = @stream", ("@stream", stream))!;
        return EventLog.TrustedHead(RawRows.Read(connection, stream, last - 1, 1).Single().Header);
    }

    /// <summary>The guards of the log, and what else of the file's form is not as the programs made it.</summary>
    private static IEnumerable<LogBrokenException> Form(DbConnection connection)
    {
        var guards = StorageEngine.Present.ChangedGuards(connection).ToList();
        var named = guards.Select(guard => $"trigger '{guard}'").ToHashSet(StringComparer.Ordinal);
        return guards.Select(name => new LogBrokenException(name, 0, LogDifference.TriggerDiffers))
            .Concat(StorageEngine.Present.ChangedForm(connection)
                .Where(name => !named.Contains(name))
                .Select(name => new LogBrokenException(name, 0, LogDifference.FormDiffers)));
    }
}

/// <summary>The signed heads of a file and the signed list of its streams, as they are stored.</summary>
internal sealed class SignedHeads
{
    private readonly Dictionary<string, HeadRow> heads = new(StringComparer.Ordinal);
    private IReadOnlyList<string>? names;
    private byte[] signature = [];

    private SignedHeads() { }

    /// <summary>Name of the key that signed them.</summary>
    public string KeyName { get; private set; } = "";

    /// <summary>The heads of a file; null where it has none, as a program wrote it that signed nothing.</summary>
    public static SignedHeads? Read(DbConnection connection)
    {
        if (!StorageEngine.Present.HasTable(connection, "StreamLists"))
            return null;
        var signed = new SignedHeads();
        using (var command = connection.CreateCommand())
        {
            command.CommandText = "SELECT \"Stream\", \"Sequence\", \"Hash\", \"Signature\" FROM \"Heads\"";
            using var reader = command.ExecuteReader();
            while (reader.Read())
                signed.heads[reader.GetString(0)] = new HeadRow
                {
                    Stream = reader.GetString(0),
                    Sequence = Number(reader, 1),
                    Hash = Bytes(reader, 2),
                    Signature = Bytes(reader, 3)
                };
        }
        using var list = connection.CreateCommand();
        list.CommandText = "SELECT \"Key\", \"Streams\", \"Signature\", \"Id\" FROM \"StreamLists\"";
        using var row = list.ExecuteReader();
        // One row, and that one: of another nobody signed that it is the list.
        if (row.Read() && Number(row, 3) == StreamListRow.Only)
            (signed.KeyName, signed.names, signed.signature) = (
                row.GetString(0), HeadSignatures.NamesOf(row.GetString(1)),
                Bytes(row, 2));
        return signed;
    }

    /// <summary>What speaks against a stream that ends so, or null.</summary>
    public LogBrokenException? Against(string stream, LogHead end, SigningKey? key) =>
        heads.TryGetValue(stream, out var head) ? TailCutGuard.Against(head, key, end)
        : names?.Contains(stream) == false ? new LogBrokenException(stream, 1, LogDifference.StreamUnlisted)
        : new LogBrokenException(stream, end.Sequence, LogDifference.HeadMissing);

    /// <summary>What is wrong with the list of streams, and which of them are gone.</summary>
    public IEnumerable<LogBrokenException> FaultsOfList(SigningKey? key, IReadOnlyList<string> present)
    {
        if (names is null
            || (key is not null
                && !CryptographicOperations.FixedTimeEquals(signature, HeadSignatures.OfStreams(key, names))))
            yield return new LogBrokenException("", 0, LogDifference.ListDiffers);
        foreach (var gone in (names ?? []).Concat(heads.Keys).Distinct().Except(present))
            yield return new LogBrokenException(gone, 1, LogDifference.StreamMissing);
    }

    private static byte[] Bytes(DbDataReader reader, int column) =>
        reader.GetFieldType(column) == typeof(byte[]) ? reader.GetFieldValue<byte[]>(column) : [];

    private static long Number(DbDataReader reader, int column) => reader.GetFieldType(column) == typeof(long)
        ? reader.GetInt64(column) : 0;
}
