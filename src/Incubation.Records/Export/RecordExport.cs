using Incubation.Clinic.Controls;
using Incubation.Model;
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

    /// <summary>
    /// A line for each amendment of a result and each telling of it, as <see cref="AmendmentCsv"/> writes them.
    /// </summary>
    Amendments,
}

/// <summary>The whole record for other programs.</summary>
public static class RecordExport
{
    /// <summary>The lines of an export, each with its end, verified as they are read.</summary>
    /// <param name="file">The data file.</param>
    /// <param name="book">Its batches and cartridges, as the log tells them.</param>
    /// <param name="controls">How its controls were judged.</param>
    /// <param name="form">What the export holds.</param>
    /// <param name="zone">The clinic's zone.</param>
    public static IEnumerable<string> Lines(DataFile file, CartridgeProjection book, ControlsState controls,
        ExportForm form, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(file);
        ArgumentNullException.ThrowIfNull(book);
        ArgumentNullException.ThrowIfNull(controls);
        return form switch
        {
            ExportForm.Csv => Marked(CartridgeCsv.Lines(WithBatches(book, controls), zone)),
            ExportForm.Amendments => Marked(AmendmentCsv.Lines(book.All(), zone)),
            _ => file.Log.Streams().SelectMany(stream => LogExport.Lines(file.Log, stream)).Select(line => line + "\n"),
        };
    }

    private static IEnumerable<string> Marked(IEnumerable<string> lines) =>
        lines.Select((line, at) => at == 0 ? Csv.Mark + line : line);

    private static IEnumerable<CartridgeLine> WithBatches(CartridgeProjection book, ControlsState controls)
    {
        // Cartridges come in the order of their work: those of a batch nearly one after the other.
        const int MostKept = 1000;
        var batches = new Dictionary<(BenchId, int), BatchFacts?>();
        var doubts = controls.Lots.Select(lot => (Lot: lot.Key, Spans: lot.Value.AwaitingReview))
            .Where(lot => lot.Spans.Count > 0).ToDictionary(lot => lot.Lot, lot => lot.Spans);
        foreach (var one in book.All())
        {
            if (!batches.TryGetValue((one.Bench, one.Batch), out var batch))
            {
                if (batches.Count >= MostKept)
                    batches.Clear();
                batches[(one.Bench, one.Batch)] = batch = BatchFacts.Of(book, one.Bench, one.Batch);
            }

            yield return new CartridgeLine(one, batch,
                one.Kind == RequestKind.Control ? controls.LatestOf(one.Request) : null,
                doubts.TryGetValue(one.Lot, out var spans) && spans.TryGetValue(one.Bench, out var span)
                    && CartridgeProjection.WentOut(one, span));
        }
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
            foreach (var line in Lines(file, new CartridgeProjection(file, clinic.Amended), clinic.Controls,
                form, clinic.State.Zone ?? DateTimeZone.Utc))
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
