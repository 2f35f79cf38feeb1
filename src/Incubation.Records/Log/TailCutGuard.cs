using System.Data.Common;
using System.Security.Cryptography;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Log;

/// <summary>
/// Refuses to write to a stream whose last rows were cut off, or that does not end where it was last signed. The signed
/// head of each stream and the signed list of all streams stand in the data file beside the rows; every append first
/// compares the end of its stream with them, and then signs the new end.
/// </summary>
internal sealed class TailCutGuard(SigningKey key)
{
    /// <summary>Name of the lost key that this one took the place of as the file was opened, or null.</summary>
    public string? Replaced { get; private init; }

    private static readonly Func<RecordsContext, string, HeadRow?> Kept = EF.CompileQuery(
        (RecordsContext context, string stream) => context.Heads.FirstOrDefault(row => row.Stream == stream));

    /// <summary>The key.</summary>
    public SigningKey Key => key;

    /// <summary>
    /// The heads of a file: signed with the key at a path, which is made where neither key nor heads are there. Throws
    /// <see cref="DataFileException"/> where the key is missing or another's.
    /// </summary>
    public static TailCutGuard Open(RecordsContext context, string dataFile, string keyFile, bool replaceLostKey)
    {
        var key = SigningKey.Find(keyFile);
        var list = context.StreamLists.AsNoTracking().FirstOrDefault();
        if (list is not null)
        {
            if (key is null && replaceLostKey)
                return Signed(context, new TailCutGuard(SigningKey.Make(keyFile)) { Replaced = list.Key });
            return key is null
                ? throw new DataFileException(DataFileProblem.KeyMissing, dataFile, Words.KeyMissing, keyFile)
                : key.Name != list.Key
                ? throw new DataFileException(DataFileProblem.KeyMissing, dataFile, Words.KeyOther, keyFile)
                : new TailCutGuard(key);
        }

        return Signed(context, new TailCutGuard(key ?? SigningKey.Make(keyFile)));
    }

    /// <summary>
    /// Throws <see cref="DataFileException"/> for a file that holds events and no signatures: a program of before wrote
    /// it, or somebody took them away.
    /// </summary>
    public static void RefuseUnsigned(DbConnection connection, string dataFile, string keyFile)
    {
        if (StorageEngine.Present.HasTable(connection, "EventHeaders")
            && Queries.Scalar(connection, "SELECT 1 FROM \"EventHeaders\" LIMIT 1") is not null
            && (!StorageEngine.Present.HasTable(connection, "StreamLists")
                || Queries.Scalar(connection, "SELECT 1 FROM \"StreamLists\" LIMIT 1") is null))
            throw new DataFileException(DataFileProblem.HeadsMissing, dataFile, File.Exists(keyFile)
                ? Words.HeadsMissing : Words.RecordUnsigned, keyFile);
    }

    /// <summary>Signs every stream as it stands, in place of what was signed before.</summary>
    private static TailCutGuard Signed(RecordsContext context, TailCutGuard heads)
    {
        using var transaction = context.Database.BeginTransaction();
        context.Heads.ExecuteDelete();
        context.StreamLists.ExecuteDelete();
        var names = context.EventHeaders.Select(row => row.Stream).Distinct().ToList();
        foreach (var name in names)
        {
            var last = context.EventHeaders.AsNoTracking().Where(row => row.Stream == name)
                .OrderByDescending(row => row.Sequence).First();
            context.Heads.Add(heads.RowOf(name, EventLog.TrustedHead(last)));
        }
        context.StreamLists.Add(HeadSignatures.ListOf(heads.Key, names));
        context.SaveChanges();
        transaction.Commit();
        context.ChangeTracker.Clear();
        return heads;
    }

    /// <summary>Throws <see cref="LogBrokenException"/> where a stream does not end where it was last signed.</summary>
    public void RefuseIfCut(RecordsContext context, StreamName stream, LogHead end)
    {
        var name = stream.ToString();
        if (Kept(context, name) is { } row)
        {
            if (Against(row, key, end) is { } difference)
                throw difference;
        }
        else if (end.Sequence > 0 || IsListed(context, name))
        {
            throw end.Sequence == 0
                ? new LogBrokenException(name, 1, LogDifference.StreamMissing)
                : new LogBrokenException(name, end.Sequence, LogDifference.HeadMissing);
        }
    }

    /// <summary>Signs the new end of a stream, with the transaction that makes it.</summary>
    public void Sign(RecordsContext context, StreamName stream, LogHead end)
    {
        var name = stream.ToString();
        var signed = RowOf(name, end);
        if (Kept(context, name) is { } row)
        {
            (row.Sequence, row.Hash, row.Signature) = (signed.Sequence, signed.Hash, signed.Signature);
            return;
        }
        context.Heads.Add(signed);
        var list = context.StreamLists.Single();
        var longer = HeadSignatures.ListOf(key, [.. HeadSignatures.NamesOf(list.Streams) ?? [], name]);
        (list.Streams, list.Signature) = (longer.Streams, longer.Signature);
    }

    /// <summary>
    /// What speaks against a kept head where its stream ends so, or null. Without the key its signature is not looked
    /// at.
    /// </summary>
    public static LogBrokenException? Against(HeadRow row, SigningKey? key, LogHead end)
    {
        if (row.Hash is not { Length: Digest.Length } || (key is not null && !IsSignedBy(key, row)))
            return new LogBrokenException(row.Stream, row.Sequence, LogDifference.HeadDiffers);
        if (row.Sequence > end.Sequence)
            return new LogBrokenException(row.Stream, end.Sequence + 1, LogDifference.TailCut);
        if (row.Sequence < end.Sequence)
            return new LogBrokenException(row.Stream, row.Sequence + 1, LogDifference.RowsUnsigned);
        return Digest.FromBytes(row.Hash) == end.Hash
            ? null : new LogBrokenException(row.Stream, row.Sequence, LogDifference.ChainAnew);
    }

    private static bool IsSignedBy(SigningKey key, HeadRow row) =>
        CryptographicOperations.FixedTimeEquals(row.Signature,
            HeadSignatures.OfHead(key, row.Stream, new LogHead(row.Sequence, Digest.FromBytes(row.Hash))));

    private static bool IsListed(RecordsContext context, string name) =>
        context.StreamLists.AsNoTracking().FirstOrDefault() is not { } list
            || HeadSignatures.NamesOf(list.Streams) is not { } names || names.Contains(name);

    private HeadRow RowOf(string stream, LogHead head) =>
        new()
        {
            Stream = stream,
            Sequence = head.Sequence,
            Hash = head.Hash.ToBytes(),
            Signature = HeadSignatures.OfHead(key, stream, head)
        };
}
