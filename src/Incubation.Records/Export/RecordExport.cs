using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Export;

/// <summary>What an export holds.</summary>
public enum ExportForm
{
    /// <summary>A line for each cartridge, as <see cref="CartridgeCsv"/> writes them.</summary>
    Csv,

    /// <summary>A line for each row of every stream, as <see cref="LogExport"/> writes them.</summary>
    Jsonl,
}

/// <summary>The whole record for other programs.</summary>
public static class RecordExport
{
    /// <summary>The lines of an export, each with its end, verified as they are read.</summary>
    /// <param name="file">The data file.</param>
    /// <param name="book">Its batches and cartridges, as the log tells them.</param>
    /// <param name="form">What the export holds.</param>
    /// <param name="zone">The clinic's zone.</param>
    public static IEnumerable<string> Lines(DataFile file, CartridgeProjection book, ExportForm form, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(book);
        return form == ExportForm.Csv
            ? CartridgeCsv.Lines(book.All(), zone)
            : file.Log.Streams().SelectMany(stream => LogExport.Lines(file.Log, stream)).Select(line => line + "\n");
    }

    /// <summary>
    /// Exports a data file, also while its server runs: a copy as it stands at one instant is opened, and deleted
    /// afterwards. Throws
    /// <see cref="DataFileException"/>, <see cref="BackupException"/> or <see cref="LogBrokenException"/>; nothing is
    /// left then.
    /// </summary>
    /// <param name="dataFile">The data file.</param>
    /// <param name="keyFile">The record's key; null is beside the data file.</param>
    /// <param name="form">What the export holds.</param>
    /// <param name="target">The file to write; must not exist.</param>
    /// <returns>How many lines were written.</returns>
    public static long Run(string dataFile, string? keyFile, ExportForm form, string target)
    {
        var (from, to) = (Path.GetFullPath(dataFile), Path.GetFullPath(target));
        if (!File.Exists(from))
            throw new BackupException(BackupProblem.Missing, Sentence.Of(Words.BackupSourceMissing, from));
        if (Path.Exists(to))
            throw new BackupException(BackupProblem.TargetExists, Sentence.Of(Words.BackupTargetExists, to));
        StorageEngine.Present.RefuseForeign(from);
        var folder = Directory.CreateTempSubdirectory("incubation-export-");
        try
        {
            var copy = Path.Combine(folder.FullName, "copy.db");
            StorageEngine.Present.Copy(from, copy);
            using var file = DataFile.Open(copy, new DataFileOptions(KeyFile: keyFile ?? SigningKey.PathBeside(from)));
            file.Log.RefuseCut();
            OwnFile.MakeEmpty(to);
            var lines = 0L;
            using var writer = new StreamWriter(to);
            var clinic = ClinicLog.Open(file);
            foreach (var line in Lines(file, new CartridgeProjection(file, clinic.Amended), form,
                clinic.State.Zone ?? DateTimeZone.Utc))
            {
                writer.Write(line);
                lines++;
            }
            return lines;
        }
        catch
        {
            File.Delete(to);
            throw;
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }
}
