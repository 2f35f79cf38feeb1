using System.Data.Common;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.People;
using Incubation.Records.Seals;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Backup;

/// <summary>What a restore did.</summary>
/// <param name="Restored">What the data file holds now.</param>
/// <param name="Kept">Where the file that it replaced is kept, or null where there was none.</param>
public sealed record RestoreReport(DataFileReport Restored, string? Kept);

/// <summary>How a backup is put back.</summary>
/// <param name="KeyFiles">Where the record's key may lie, the likeliest first; null is beside the data file. Without it
/// signatures are not looked at, which the report says.</param>
/// <param name="SignAsItStands">Whether a backup with events and without signatures is put back.</param>
/// <param name="PrivateKey">File of the private key that an encrypted backup is opened with, or null.</param>
public sealed record RestoreOptions(IReadOnlyList<string>? KeyFiles = null, bool SignAsItStands = false,
    string? PrivateKey = null);

/// <summary>Puts a backup in the place of a data file whose server is stopped.</summary>
public static class DataRestore
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId AtConsole = new("console");

    /// <summary>
    /// Verifies and replays a backup, keeps the present data file under another name and puts the backup in its place.
    /// Throws
    /// <see cref="DataFileException"/> or <see cref="BackupException"/>; the present file is as it was then.
    /// </summary>
    /// <param name="backup">The backup; it stays.</param>
    /// <param name="dataFile">The data file, which may be missing or damaged.</param>
    /// <param name="force">Whether to go on where the present file holds more than the backup, another course of
    /// events, or cannot be read.</param>
    /// <param name="now">Names the file that is kept.</param>
    /// <param name="options">Where the key is, and what else is allowed.</param>
    public static RestoreReport Run(string backup, string dataFile, bool force, Instant now,
        RestoreOptions? options = null)
    {
        var from = Path.GetFullPath(backup);
        var to = Path.GetFullPath(dataFile);
        if (!File.Exists(from))
            throw new BackupException(BackupProblem.Missing, Sentence.Of(Words.BackupSourceMissing, from));
        if (from == to)
            throw new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.RestoreOntoItself, to));
        if (options?.PrivateKey is not { } privateKey)
        {
            if (from.EndsWith(EncryptedCopy.Ending, StringComparison.Ordinal))
                throw new BackupException(BackupProblem.PrivateKeyUnusable,
                    Sentence.Of(Words.PrivateKeyNeeded, from));
            StorageEngine.Present.RefuseForeign(from);
            using var present = DataFileLock.Take(to);
            return PutBack(from, to, force, now, options);
        }

        using var alone = DataFileLock.Take(to);
        // Beside the data file, which says the same.
        var decrypted = to + ".decrypted.part";
        File.Delete(decrypted);
        try
        {
            EncryptedCopy.Decrypt(from, decrypted, privateKey);
            StorageEngine.Present.RefuseForeign(decrypted);
            return PutBack(decrypted, to, force, now, options);
        }
        finally
        {
            File.Delete(decrypted);
        }
    }

    private static RestoreReport PutBack(string from, string to, bool force, Instant now, RestoreOptions? options)
    {
        var part = to + ".part";
        File.Delete(part);
        // A backup lies still, but for a copy of a killed server's file with what lay beside it.
        StorageEngine.Present.Copy(from, part, still: !StorageEngine.Present.HasMoreBeside(from));
        try
        {
            var keyFile = KeySearch.Choose(part, options?.KeyFiles ?? [SigningKey.PathBeside(to)]);
            var report = Inspection.Of(part, keyFile is null ? null : SigningKey.Find(keyFile));
            if (report is { Signatures: SignatureCheck.Unsigned, Events: > 0 } && options is not
                { SignAsItStands: true })
                throw new BackupException(BackupProblem.Unsigned, Sentence.Of(Words.RestoreUnsigned, from));
            PrepareForStart(part, report.Signatures == SignatureCheck.Checked ? keyFile : null, now,
                report.Tables.Count > 0);
            var kept = Path.Exists(to) ? Replace(part, to, force, now) : null;
            if (kept is null)
            {
                SetAsideLogOf(to, now);
                File.Move(part, to, overwrite: true);
            }

            return new RestoreReport(report with { Path = to }, kept);
        }
        finally
        {
            File.Delete(part);
        }
    }

    /// <summary>
    /// Who was signed in at the backup may have signed out, or lost a tablet, since. Tables that differ from the record
    /// are made anew at the next start.
    /// </summary>
    private static void PrepareForStart(string path, string? keyFile, Instant now, bool makeAnew)
    {
        if (keyFile is not null)
            SettleSealed(path, keyFile, now);
        using var connection = StorageEngine.Present.OpenForWriting(path);
        if (makeAnew)
            Queries.Run(connection, $"DELETE FROM \"{Integrity.Positions.Table}\"");
        if (!StorageEngine.Present.HasTable(connection, "Sessions"))
            return;
        Queries.Run(connection, "DELETE FROM \"Sessions\"");
        Queries.Run(connection, "DELETE FROM \"Snapshots\"");
        StorageEngine.Present.Settle(connection);
    }

    /// <summary>
    /// Each sealed sign-in ends in the log too, so that none comes alive that somebody puts back out of the backup.
    /// What is not sealed is left out: it opens nothing.
    /// </summary>
    private static void SettleSealed(string path, string keyFile, Instant now)
    {
        using (var connection = StorageEngine.Present.OpenForReading(path, still: true))
            if (!SealCheck.HasSealedSessions(connection))
                return;
        try
        {
            using var file = DataFile.Open(path, new DataFileOptions(KeyFile: keyFile));
            var clinic = ClinicLog.Open(file);
            var store = new PeopleStore(file, clinic);
            foreach (var session in store.Sessions())
                clinic.Record(new ClinicEvent.SignedOut(session.Person, SignOutCause.Withdrawn),
                    new Provenance(store.EndOf(session), now, now, Itself, AtConsole));
            store.LeaveOutUnsealed();
            if (file.KeptBeforeChange is { } copy)
                File.Delete(copy);
        }
        finally
        {
            File.Delete(path + DataFileLock.Ending);
        }
    }

    /// <summary>
    /// A write-ahead log whose file is gone: kept, for it may hold what was acknowledged last, but not beside the
    /// restored file, which would take it for its own.
    /// </summary>
    private static void SetAsideLogOf(string lost, Instant now)
    {
        var kept = OwnFile.FreeNameBeside(lost, OwnFile.Replaced + DataBackup.Stamp(now));
        foreach (var ending in StorageEngine.Present.EndingsBeside)
            if (File.Exists(lost + ending))
                File.Move(lost + ending, kept + ending);
    }

    private static string Replace(string part, string present, bool force, Instant now)
    {
        var objection = Settle(present) is { } unreadable
            ? new BackupException(BackupProblem.PresentUnreadable,
                Sentence.Of(Words.RestorePresentUnreadable, present, unreadable))
            : Compare(part, present);
        if (objection is not null && !force)
            throw objection;
        var kept = OwnFile.FreeNameBeside(present, OwnFile.Replaced + DataBackup.Stamp(now));
        foreach (var ending in StorageEngine.Present.EndingsBeside.Prepend(""))
            if (File.Exists(present + ending))
                CopyWhole(present + ending, kept + ending);
        // What a log left beside the present file says would otherwise be read into the new one.
        foreach (var ending in StorageEngine.Present.EndingsBeside)
            File.Delete(present + ending);
        File.Move(part, present, overwrite: true);
        return kept;
    }

    /// <summary>Brings the present file's write-ahead log into it; why that is not possible, or null.</summary>
    private static string? Settle(string present)
    {
        try
        {
            StorageEngine.Present.RefuseForeign(present);
            using var connection = StorageEngine.Present.OpenForWriting(present);
            StorageEngine.Present.Settle(connection);
            Queries.Scalar(connection, "SELECT COUNT(*) FROM \"EventHeaders\"");
            return null;
        }
        catch (Exception e) when (e is DbException or DataFileException)
        {
            return e.Message;
        }
    }

    /// <summary>What speaks against putting one file in the place of the other, or null.</summary>
    private static BackupException? Compare(string backup, string present)
    {
        using var old = StorageEngine.Present.OpenForReading(backup, still: true);
        using var here = StorageEngine.Present.OpenForReading(present, still: true);
        var oldHeads = StreamHeads.Of(old);
        var lost = 0L;
        foreach (var (stream, sequence) in StreamHeads.Of(here))
        {
            var copied = oldHeads.GetValueOrDefault(stream);
            var common = Math.Min(sequence, copied);
            if (common > 0 && StreamHeads.HashAt(old, stream, common) != StreamHeads.HashAt(here, stream, common))
                return new BackupException(BackupProblem.Foreign, Sentence.Of(Words.RestoreForeign, present, stream));
            lost += sequence - common;
        }
        return lost > 0 ? new BackupException(BackupProblem.Older, Sentence.Of(Words.RestoreOlder, present, lost))
            : null;
    }

    private static void CopyWhole(string from, string to)
    {
        File.Copy(from, to, overwrite: false);
        using var disk = new FileStream(to, FileMode.Open, FileAccess.ReadWrite);
        disk.Flush(flushToDisk: true);
    }
}
