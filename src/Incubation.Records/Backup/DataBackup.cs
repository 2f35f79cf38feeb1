using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Backup;

/// <summary>Makes backups of a data file, also while a server is using it.</summary>
public static class DataBackup
{
    /// <summary>
    /// Copies a data file as it stands at one instant, opens the copy, verifies and replays its log, and only then
    /// gives it its name. Throws <see cref="DataFileException"/> or <see cref="BackupException"/>; nothing is left
    /// behind then.
    /// </summary>
    /// <param name="dataFile">The data file; its server may run.</param>
    /// <param name="target">The copy; must not exist.</param>
    /// <param name="keyFile">The record's key; null is beside the data file. Without it signatures are not looked at,
    /// which the report says.</param>
    /// <returns>What the copy holds.</returns>
    public static DataFileReport Make(string dataFile, string target, string? keyFile = null)
    {
        var from = Path.GetFullPath(dataFile);
        var to = Path.GetFullPath(target);
        if (!File.Exists(from))
            throw new BackupException(BackupProblem.Missing, Sentence.Of(Words.BackupSourceMissing, from));
        if (Path.Exists(to))
            throw new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.BackupTargetExists, to));
        StorageEngine.Present.RefuseForeign(from);
        var part = to + ".part";
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(to)!);
            // Left by a copy that was cut short.
            File.Delete(part);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new BackupException(BackupProblem.CannotWrite,
                Sentence.Of(Words.BackupCannotWrite, from, to, e.Message), e);
        }
        StorageEngine.Present.Copy(from, part);
        try
        {
            var report = Inspection.Of(part, SigningKey.Find(keyFile ?? SigningKey.PathBeside(from)));
            File.Move(part, to, overwrite: false);
            return report with { Path = to };
        }
        catch (Exception e)
        {
            File.Delete(part);
            if (e is IOException)
                throw new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.BackupTargetExists, to), e);
            throw;
        }
    }

    /// <summary>The usual name of a backup made at an instant, beside others of the same file.</summary>
    public static string NameAt(string dataFile, Instant at) =>
        $"{Path.GetFileNameWithoutExtension(dataFile)}-{Stamp(at)}.db";

    /// <summary>An instant as part of a file's name, in UTC.</summary>
    internal static string Stamp(Instant at) =>
        NodaTime.Text.InstantPattern.CreateWithInvariantCulture("uuuuMMdd'T'HHmmss'Z'").Format(at);
}
