using System.Data.Common;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Backup;

/// <summary>What became of a head that was noted outside the data file.</summary>
public enum NoteVerdict
{
    /// <summary>Its row stands, and the record's key signed it.</summary>
    Stands,

    /// <summary>Its row stands; who signed it was not looked at, for want of the key.</summary>
    StandsUnsigned,

    /// <summary>The stream has no such row: rows were cut off.</summary>
    RowMissing,

    /// <summary>Another row stands in its place.</summary>
    RowDiffers,

    /// <summary>The row stands, but the record's key did not sign the note.</summary>
    SignatureDiffers,
}

/// <summary>What a check of a whole data file found.</summary>
/// <param name="Path">Full path.</param>
/// <param name="Verdict">What was read, and what is broken.</param>
/// <param name="Key">Name of the key that signatures were held against, or null where none was there.</param>
/// <param name="Notes">What became of the heads that were given.</param>
/// <param name="Tables">
/// In what the tables differ that are made from the log; nothing was compared where the log itself is broken.
/// </param>
public sealed record RecordReport(string Path, RecordVerdict Verdict, string? Key,
    IReadOnlyList<(PrintedHead Note, NoteVerdict Verdict)> Notes, ProjectionVerdict Tables)
{
    /// <summary>Messages of instruments whose bytes are not as the log says; not looked at where the log itself is
    /// broken.</summary>
    public IReadOnlyList<WireDifference> Wire { get; init; } = [];

    /// <summary>Whether its signatures were held against its key.</summary>
    public SignatureCheck Signatures => !Verdict.IsSigned ? SignatureCheck.Unsigned
        : Key is null ? SignatureCheck.NoKey : SignatureCheck.Checked;

    /// <summary>Whether nothing is broken, nothing differs, and every note stands.</summary>
    public bool IsWhole => !Verdict.Faults.Any() && Tables.Count == 0 && Wire.Count == 0
        && Notes.All(note => note.Verdict is NoteVerdict.Stands or NoteVerdict.StandsUnsigned);
}

/// <summary>Verifies the record in a data file, also while its server runs. Changes nothing.</summary>
public static class RecordCheck
{
    /// <summary>
    /// Reads every row. Throws <see cref="DataFileException"/> for a file that this program cannot read, a key that is
    /// not there, or one that is not this record's, and <see cref="LogBrokenException"/> where a table or column that a
    /// check needs is gone.
    /// </summary>
    /// <param name="dataFile">The data file.</param>
    /// <param name="keyFile">The key's file; null looks beside the data file and does without where none is
    /// there.</param>
    /// <param name="notes">Heads noted elsewhere.</param>
    public static RecordReport Run(string dataFile, string? keyFile = null, IReadOnlyList<PrintedHead>? notes = null)
    {
        var path = Path.GetFullPath(dataFile);
        if (!File.Exists(path))
            throw new DataFileException(DataFileProblem.CannotOpen, path, Words.BackupSourceMissing);
        var key = SigningKey.Find(keyFile ?? SigningKey.PathBeside(path));
        if (key is null && keyFile is not null)
            throw new DataFileException(DataFileProblem.KeyMissing, path, Words.KeyNoFile, keyFile);
        try
        {
            // A file that lies still is left as it is.
            var still = !StorageEngine.Present.MayBeOpen(path);
            using var connection = StorageEngine.Present.OpenOwn(path, still);
            StorageEngine.Present.RefuseDamage(connection, path, whole: true);
            if (key is not null && SignedHeads.Read(connection) is { KeyName: { Length: > 0 } signer }
                && signer != key.Name)
                throw new DataFileException(DataFileProblem.KeyMissing, path, Words.KeyOther, keyFile
                    ?? SigningKey.PathBeside(path));
            var verdict = Verifier.All(connection, key);
            var isBroken = verdict.Streams.Any(stream => stream.Broken is not null);
            return new RecordReport(path, verdict, key?.Name,
                [.. (notes ?? []).Select(note => (note, Of(connection, note, key)))],
                isBroken ? ProjectionVerdict.Empty : ProjectionCheck.Of(path, still))
            {
                Wire = isBroken ? [] : WireCheck.Of(connection),
            };
        }
        catch (DbException e)
        {
            throw FormFault(path) ?? (Exception)StorageEngine.Present.OpenFailure(path, e);
        }
    }

    /// <summary>
    /// Why a data file could not be read, where that is because its tables are not as the programs made them that wrote
    /// it; null where it is something else.
    /// </summary>
    /// <param name="fault">What was thrown.</param>
    /// <param name="dataFile">The data file.</param>
    public static string? Explain(Exception fault, string dataFile) =>
        (fault is DbException || fault.InnerException is DbException) && FormFault(dataFile) is { } differs
            ? differs.Message : null;

    /// <summary>
    /// The first table, column, index or trigger that is not as the programs made it that wrote a file: why it could
    /// not be read; null where all are, or the file cannot be read at all.
    /// </summary>
    internal static LogBrokenException? FormFault(string path)
    {
        try
        {
            using var connection = StorageEngine.Present.OpenOwn(path, still: !StorageEngine.Present.MayBeOpen(path));
            return StorageEngine.Present.ChangedForm(connection)
                .Select(name => new LogBrokenException(name, 0, LogDifference.FormDiffers)).FirstOrDefault();
        }
        catch (Exception e) when (e is DbException or DataFileException)
        {
            return null;
        }
    }

    private static NoteVerdict Of(DbConnection connection, PrintedHead note, SigningKey? key)
    {
        if (Queries.Scalar(
            connection,
            "SELECT \"Hash\" FROM \"EventHeaders\" WHERE \"Stream\" = @stream AND \"Sequence\" = @sequence",
            ("@stream", note.Stream.ToString()), ("@sequence", note.Sequence)) is not byte[]
            {
                Length: Digest.Length
            } hash)
            return NoteVerdict.RowMissing;
        var head = new LogHead(note.Sequence, Digest.FromBytes(hash));
        if (!head.Hash.ToString().StartsWith(note.Hash, StringComparison.Ordinal))
            return NoteVerdict.RowDiffers;
        return key is null ? NoteVerdict.StandsUnsigned
            : PrintedHead.Of(note.Stream, head, key) == note ? NoteVerdict.Stands
            : NoteVerdict.SignatureDiffers;
    }
}
