using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;
using NodaTime.Text;

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
    /// <param name="recipient">File of a certificate that the copy is encrypted to once it was verified, or null. Its
    /// name then ends with ".cms".</param>
    /// <returns>What the copy holds.</returns>
    public static DataFileReport Make(string dataFile, string target, string? keyFile = null, string? recipient = null)
    {
        var from = Path.GetFullPath(dataFile);
        var to = Path.GetFullPath(recipient is null || target.EndsWith(EncryptedCopy.Ending, StringComparison.Ordinal)
            ? target : target + EncryptedCopy.Ending);
        if (!File.Exists(from))
            throw new BackupException(BackupProblem.Missing, Sentence.Of(Words.BackupSourceMissing, from));
        if (Path.Exists(to))
            throw new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.BackupTargetExists, to));
        StorageEngine.Present.RefuseForeign(from);
        var certificate = recipient is null ? null : EncryptedCopy.Recipient(recipient);
        // What is not encrypted yet lies where it does anyway, beside the data file, and never where backups go.
        var part = certificate is null ? to + ".part" : from + ".backup.part";
        using var alone = certificate is null ? null : DataFileLock.Take(part);
        try
        {
            MakeRoom(from, to, part);
            StorageEngine.Present.Copy(from, part);
            var report = Inspection.Of(part, SigningKey.Find(keyFile ?? SigningKey.PathBeside(from)));
            if (certificate is null)
                File.Move(part, to, overwrite: false);
            else
                Encrypt(part, to, certificate);
            return report with { Path = to };
        }
        catch (IOException e)
        {
            throw Path.Exists(to)
                ? new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.BackupTargetExists, to), e)
                : new BackupException(BackupProblem.CannotWrite,
                    Sentence.Of(Words.BackupCannotWrite, from, to, e.Message), e);
        }
        finally
        {
            File.Delete(part);
            alone?.Dispose();
            if (certificate is not null)
                File.Delete(part + DataFileLock.Ending);
        }
    }

    /// <summary>Makes the folder, and takes away what a copy left that was cut short.</summary>
    private static void MakeRoom(string from, string to, string part)
    {
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(to)!);
            File.Delete(part);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new BackupException(BackupProblem.CannotWrite,
                Sentence.Of(Words.BackupCannotWrite, from, to, e.Message), e);
        }
    }

    private static void Encrypt(string part, string to, Org.BouncyCastle.X509.X509Certificate certificate)
    {
        var encrypted = to + ".part";
        File.Delete(encrypted);
        try
        {
            EncryptedCopy.Encrypt(part, encrypted, certificate);
            File.Move(encrypted, to, overwrite: false);
        }
        finally
        {
            File.Delete(encrypted);
        }
    }

    /// <summary>The usual name of a backup made at an instant, beside others of the same file.</summary>
    public static string NameAt(string dataFile, Instant at) =>
        $"{Path.GetFileNameWithoutExtension(dataFile)}-{Stamp(at)}.db";

    private static readonly InstantPattern Stamps =
        InstantPattern.CreateWithInvariantCulture("uuuuMMdd'T'HHmmss'Z'");

    /// <summary>An instant as part of a file's name, in UTC.</summary>
    internal static string Stamp(Instant at) => Stamps.Format(at);

    /// <summary>Whether a part of a file's name is an instant.</summary>
    internal static bool IsStamp(string text) => Stamps.Parse(text).Success;
}
