using System.Data.Common;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Backup;

/// <summary>Why a copy of the data file was left.</summary>
public enum CopyCause
{
    /// <summary>The file as it was before a newer version changed its tables.</summary>
    BeforeUpgrade,

    /// <summary>The file that a restore replaced.</summary>
    Replaced,

    /// <summary>A command was interrupted while it copied.</summary>
    CutShort,
}

/// <summary>What becomes of a copy.</summary>
public enum CopyFate
{
    /// <summary>It is not old enough to be erased.</summary>
    Young,

    /// <summary>It is old enough, and the data file holds all that it holds.</summary>
    Due,

    /// <summary>
    /// It is old enough, but holds events that the data file lacks, or cannot be read: it may be the only copy, and
    /// only a person takes it away.
    /// </summary>
    MayBeOnly,
}

/// <summary>A copy of the data file that this program left beside it; it holds patients' data.</summary>
/// <param name="Path">Full path.</param>
/// <param name="Cause">Why.</param>
/// <param name="Made">When it was written last.</param>
/// <param name="Bytes">Its size, with what lies beside it.</param>
/// <param name="Fate">What becomes of it.</param>
public sealed record LeftCopy(string Path, CopyCause Cause, Instant Made, long Bytes, CopyFate Fate)
{
    /// <summary>Its name without a folder.</summary>
    public string Name => System.IO.Path.GetFileName(Path);
}

/// <summary>
/// The copies of a data file that upgrades, restores and interrupted commands leave beside it. Nobody asked for them,
/// and they hold patients' data: they go after a time, never one that may be the only copy.
/// </summary>
public static class LeftCopies
{
    /// <summary>So many days a copy is kept: long enough to find out that an upgrade or a restore was wrong.</summary>
    public const int KeptDays = 90;

    /// <summary>A copy that was cut short may still be in the making so many days.</summary>
    private const int CutShortDays = 1;

    private const string Part = ".part";

    /// <summary>Those of a data file, the oldest first.</summary>
    public static IReadOnlyList<LeftCopy> Of(string dataFile, Instant now)
    {
        var path = Path.GetFullPath(dataFile);
        var (folder, stem) = (Path.GetDirectoryName(path)!, Path.GetFileNameWithoutExtension(path));
        if (!Directory.Exists(folder))
            return [];
        return [.. Directory.EnumerateFiles(folder, stem + "*")
            .Select(file => (File: file, Cause: CauseOf(Path.GetFileName(file), stem, Path.GetFileName(path))))
            .Where(found => found.Cause is not null)
            .Select(found => Of(found.File, found.Cause!.Value, path, now))
            .OrderBy(copy => copy.Made).ThenBy(copy => copy.Path, StringComparer.Ordinal)];
    }

    /// <summary>
    /// Erases the copies that are due, after it was recorded in the clinic's stream which; nothing is recorded where
    /// none is. Throws <see cref="AppendException"/>, <see cref="IOException"/> or
    /// <see cref="UnauthorizedAccessException"/>.
    /// </summary>
    /// <returns>Those that were erased.</returns>
    public static IReadOnlyList<LeftCopy> EraseDue(DataFile file, ClinicLog clinic, Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(provenance);
        List<LeftCopy> due = [.. Of(file.Path, provenance.Arrived).Where(copy => copy.Fate == CopyFate.Due)];
        // A file that is broken itself is no reason to take another away.
        if (due.Count == 0 || file.Log.VerifyAll().Faults.Any()
            || clinic.Record(new ClinicEvent.CopiesErased([.. due.Select(copy => copy.Name)], KeptDays), provenance)
                is not ClinicOutcome.Recorded)
            return [];
        foreach (var copy in due)
            foreach (var ending in StorageEngine.Present.EndingsBeside.Append(""))
                File.Delete(copy.Path + ending);
        return due;
    }

    private static CopyCause? CauseOf(string name, string stem, string dataFile) =>
        name.EndsWith(Part, StringComparison.Ordinal)
            ? CauseOf(name[..^Part.Length], stem, dataFile) is not null || name == dataFile + Part
                || IsBackup(name[..^Part.Length], stem) ? CopyCause.CutShort : null
        : !name.EndsWith(".db", StringComparison.Ordinal) ? null
        : name.StartsWith(stem + "." + OwnFile.BeforeUpgrade, StringComparison.Ordinal) ? CopyCause.BeforeUpgrade
        : name.StartsWith(stem + "." + OwnFile.Replaced, StringComparison.Ordinal) ? CopyCause.Replaced
        : null;

    /// <summary>Whether a name is the usual one of a backup: another data file's name may begin alike.</summary>
    private static bool IsBackup(string name, string stem) => name.StartsWith(stem + "-", StringComparison.Ordinal)
        && name.EndsWith(".db", StringComparison.Ordinal)
        && DataBackup.IsStamp(name[(stem.Length + 1)..^3]);

    private static LeftCopy Of(string copy, CopyCause cause, string dataFile, Instant now)
    {
        var made = Instant.FromDateTimeUtc(File.GetLastWriteTimeUtc(copy));
        var bytes = StorageEngine.Present.EndingsBeside.Append("").Select(ending => new FileInfo(copy + ending))
            .Where(file => file.Exists).Sum(file => file.Length);
        var days = cause == CopyCause.CutShort ? CutShortDays : KeptDays;
        var fate = now - made < Duration.FromDays(days) ? CopyFate.Young
            // Whatever was being copied is where it was copied from.
            : cause == CopyCause.CutShort || HoldsNothingMore(copy, dataFile) ? CopyFate.Due
            : CopyFate.MayBeOnly;
        return new LeftCopy(copy, cause, made, bytes, fate);
    }

    /// <summary>Whether every stream of a copy is the beginning of the same stream of the data file.</summary>
    private static bool HoldsNothingMore(string copy, string dataFile)
    {
        try
        {
            StorageEngine.Present.RefuseForeign(copy);
            // What lies beside a copy would be read into it otherwise.
            using var old = StorageEngine.Present.OpenForReading(copy,
                still: !StorageEngine.Present.HasMoreBeside(copy));
            using var present = StorageEngine.Present.OpenForReading(dataFile,
                still: !StorageEngine.Present.MayBeOpen(dataFile));
            return StreamHeads.Of(old).All(head =>
                StreamHeads.HashAt(present, head.Key, head.Value) is var hash && hash != default
                    && hash == StreamHeads.HashAt(old, head.Key, head.Value));
        }
        catch (Exception e) when (e is DbException or DataFileException or IOException or UnauthorizedAccessException)
        {
            return false;
        }
    }
}
