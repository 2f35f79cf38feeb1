using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Backup;

/// <summary>A record's new key.</summary>
/// <param name="Path">Where it is.</param>
/// <param name="Secrets">How many passwords, PINs, codes and keys went with the lost one, which alone could unwrap
/// them.</param>
public sealed record RenewedKey(string Path, int Secrets);

/// <summary>Gives a record a new key after the old one was lost for good.</summary>
public static class RecordKey
{
    /// <summary>
    /// Verifies a record as far as that goes without its key, makes a new key, signs every stream with it as it
    /// stands, ends every sign-in, and records that. Throws <see cref="DataFileException"/> or
    /// <see cref="BackupException"/>; nothing is signed then.
    /// </summary>
    /// <param name="dataFile">The data file; its server is stopped.</param>
    /// <param name="keyFile">Where the key is made; null is beside the data file. Nothing may be there.</param>
    /// <param name="now">When.</param>
    public static RenewedKey Renew(string dataFile, string? keyFile, Instant now)
    {
        var path = Path.GetFullPath(dataFile);
        var key = Path.GetFullPath(keyFile ?? SigningKey.PathBeside(path));
        if (Path.Exists(key))
            throw new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.KeyThereAlready, key));
        // Signatures say nothing of the form of the tables; verify-log names it before and after.
        if (RecordCheck.Run(path).Verdict.Faults.FirstOrDefault(one =>
            one.Difference != LogDifference.FormDiffers) is { } fault)
            throw new BackupException(BackupProblem.Broken, fault.Message, fault);
        using var file = DataFile.Open(path, new DataFileOptions(KeyFile: key, ReplaceLostKey: true));
        var secrets = 0;
        if (file.Heads.Replaced is { } lost)
        {
            var provenance = new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now,
                new PersonId("server"), new DeviceId("console"));
            var clinic = ClinicLog.Open(file);
            clinic.Record([new ClinicEvent.RecordKeyRenewed(lost, file.Heads.Key.Name)], provenance, context =>
            {
                context.Sessions.ExecuteDelete();
                context.Snapshots.ExecuteDelete();
                // What was wrapped with the lost key nobody can unwrap; in a file that no program has sealed yet
                // nothing is.
                if (clinic.Secrets.IsSealed)
                    secrets = context.Secrets.ExecuteDelete();
            });
        }
        return new RenewedKey(key, secrets);
    }
}
