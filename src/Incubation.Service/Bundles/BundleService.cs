using System.IO.Compression;
using System.Reflection;
using System.Security.Cryptography;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Incubation.Service.Assays;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Bundles;

/// <summary>A file of a bundle.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Bytes">What it holds.</param>
public sealed record BundleFile(string Name, byte[] Bytes);

/// <summary>
/// A cartridge's bundle for inspectors: everything that the record holds of one result, and of no other patient's, as
/// one printable page with the files behind it and a manifest of their SHA-256.
/// </summary>
/// <remarks>What an inspector may ask of one result: 42 CFR 493.1773 (records are shown and copied on request),
/// 493.1283(a) (identity, dates and times, condition, results, who did each step), 493.1291(k) (original and corrected
/// reports) and ISO 15189:2022, 7.4.1.8 and 8.4; from memory.</remarks>
public sealed class BundleService(DataFile file, CartridgeProjection book, ClinicHost clinic, BatchProof proof,
    BenchClock clock)
{
    private static readonly JsonSerializerOptions Json = new()
    {
        WriteIndented = true,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>The files of a cartridge's bundle, the page first and the manifest last; null where there is no such
    /// cartridge.</summary>
    /// <param name="actor">Who asks.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="number">Number of the batch.</param>
    /// <param name="request">Id of the request.</param>
    /// <exception cref="LogBrokenException">The log is not what was written.</exception>
    public IReadOnlyList<BundleFile>? Files(Actor actor, string bench, int number, string? request)
    {
        if (!TextId.IsValid(bench) || book.Batch(new BenchId(bench), number) is not { } batch
            || batch.Cartridges.FirstOrDefault(cartridge => cartridge.Request.Value == request) is not { } one)
            return null;
        var (log, zone) = (clinic.Log, clinic.Facts.Zone);
        var alone = AloneIn(batch, one);
        var sheet = new BatchSheet(alone, clinic.Facts, log, one.Request);
        var tables = new BundleTables(batch, one, log).All(sheet);
        var made = RecordClock.Full(clock.Now, zone);
        var by = Names.Of(actor.InLog, log.People);
        var title = Say.Of(BundleWords.Title, one.Specimen, one.AssayName);
        IEnumerable<(string, string)> facts =
        [
            (BundleWords.Clinic, clinic.Facts.Name), (BundleWords.Specimen, one.Specimen.Value),
            (BundleWords.Request, one.Request.Value), (BundleWords.Assay, Say.Dotted(one.AssayName, one.Assay.Value,
                Say.Of(RecordWords.VersionOf, one.AssayVersion))),
            (BundleWords.Lot, one.Lot.Value), (BundleWords.Result, ResultStatusText.Result(one)),
            (BundleWords.Standing, Say.Dotted(ResultStatusText.Of(one), ResultStatusText.ResultMarks(one),
                ResultStatusText.Marks(one),
                ResultHoldText.BesideMarks(one, zone),
                one.Released is { } why ? Say.Of(BundleWords.Released, why) : null)),
            .. sheet.Facts.Where(fact => fact.Name != RecordWords.FactCounts),
            (BundleWords.Made, Say.Of(BundleWords.MadeBy, made, by)),
        ];
        var proven = Say.Of(BundleWords.ProofText, proof.Of(one.Bench, batch));
        List<BundleFile> files =
        [
            Text("index.html", BundleHtml.Write(title, facts, tables, proven, zone, log.People)),
            Text("cartridge.csv", string.Concat(CartridgeCsv.Lines([new CartridgeLine(one,
                BatchFacts.Of(book, one.Bench, one.Batch), one.Kind == RequestKind.Control
                    ? log.Controls.LatestOf(one.Request) : null, CartridgeProjection.IsInReview(one, log.Controls))],
                zone).Select((line, at) => at == 0
                        ? Csv.Mark + line : line))),
            Text("amendments.csv", Csv.Mark + string.Concat(AmendmentCsv.Lines([one], zone))),
            .. tables.Select(table => Text(table.Name + ".csv", table.InCsv(zone))),
            Text("sheet.json", Sheet(one)),
            Text("events.jsonl", string.Concat(Rows(batch, one).Select(row => LogExport.LineOf(row) + "\n"))),
            Text("proof.txt", proven + "\n"),
        ];
        files.Add(Text("manifest.json", Manifest(files, one, by)));
        return files;
    }

    /// <summary>The files as one ZIP archive.</summary>
    public static byte[] Zip(IEnumerable<BundleFile> files, Instant made)
    {
        ArgumentNullException.ThrowIfNull(files);
        using var buffer = new MemoryStream();
        using (var archive = new ZipArchive(buffer, ZipArchiveMode.Create, leaveOpen: true))
            foreach (var one in files)
            {
                var entry = archive.CreateEntry(one.Name);
                entry.LastWriteTime = made.ToDateTimeOffset();
                using var into = entry.Open();
                into.Write(one.Bytes);
            }
        return buffer.ToArray();
    }

    /// <summary>The batch with this cartridge alone, and with what happened to it or to the whole bench.</summary>
    private static BatchRecord AloneIn(BatchRecord batch, CartridgeRecord one) => batch with
    {
        Cartridges = [one],
        Happenings = [.. batch.Happenings.Where(entry => entry.Event is BenchEvent.ReportsRevised revised
            ? IsOf(batch, revised, one) : IsOf(entry.Event, one))],
    };

    /// <summary>Whether all that was undone or corrected was told of this cartridge.</summary>
    private static bool IsOf(BatchRecord batch, BenchEvent.ReportsRevised revised, CartridgeRecord one) =>
        revised.Undone.Concat(revised.Corrected.Select(correction => correction.Report)).Select(batch.SubjectOf)
            .ToList() is { Count: > 0 } of && of.TrueForAll(subject => subject == one.Request);

    /// <summary>Whether it names this cartridge or none; what may name others is left out.</summary>
    private static bool IsOf(BenchEvent happened, CartridgeRecord one) => happened switch
    {
        BenchEvent.LotGateSet set => set.Lot == one.Lot,
        BenchEvent.BatchStarted or BenchEvent.CardChanged or BenchEvent.CardSeen or BenchEvent.CardDoubted
            or BenchEvent.IncubatorSet or BenchEvent.LabelsAsked or BenchEvent.PutOutOfUse or BenchEvent.PutBackInUse
            or BenchEvent.HandsChanged or BenchEvent.ClockDoubted or BenchEvent.ClockAgreed => true,
        _ => RequestOf(happened) == one.Request,
    };

    private static RequestId? RequestOf(BenchEvent happened) => happened switch
    {
        BenchEvent.ResultReleased of => of.Request,
        BenchEvent.ResultAmended of => of.Request,
        BenchEvent.ResultQuestioned of => of.Request,
        BenchEvent.ResultNotChecked of => of.Request,
        BenchEvent.ResultKeptHeld of => of.Request,
        BenchEvent.ReleaseEnded of => of.Request,
        BenchEvent.AmendmentProposed of => of.Request,
        BenchEvent.AmendmentConfirmed of => of.Request,
        BenchEvent.AmendmentDeclined of => of.Request,
        BenchEvent.CriticalTold of => of.Request,
        BenchEvent.TellingWaived of => of.Request,
        BenchEvent.RequestWithdrawn of => of.Request,
        BenchEvent.RequestCarriedOver of => of.Request,
        BenchEvent.RequestGivenUp of => of.Request,
        BenchEvent.FateRevoked of => of.Request,
        BenchEvent.PriorityChanged of => of.Request,
        BenchEvent.ReadyChanged of => of.Request,
        BenchEvent.DueChanged of => of.Request,
        BenchEvent.RequestCommented of => of.Request,
        BenchEvent.DiscardAsked of => of.Request,
        _ => null,
    };

    /// <summary>The rows that name this cartridge and no other, with their hashes: of its batch, and since.</summary>
    private IEnumerable<LogRow> Rows(BatchRecord batch, CartridgeRecord one)
    {
        foreach (var row in file.Log.ReadAll(StreamName.OfBench(one.Bench), batch.First - 1)
            .TakeWhile(row => row.Header.Sequence <= batch.Last).Where(row => IsOf(row, one)))
            yield return row;
        var since = clinic.Log.Amendments.RowsOf(one.Bench, new HashSet<string> { one.Request.Value }).ToHashSet();
        if (since.Count == 0)
            yield break;
        foreach (var row in file.Log.ReadAll(StreamName.Clinic, since.Min() - 1)
            .Where(row => since.Contains(row.Header.Sequence)))
            yield return row;
    }

    private static bool IsOf(LogRow row, CartridgeRecord one)
    {
        if (row.Payload is not { } payload)
            return false;
        using var json = JsonDocument.Parse(payload);
        return json.RootElement.TryGetProperty("request", out var request)
            && request.ValueKind == JsonValueKind.String && request.GetString() == one.Request.Value;
    }

    private string Sheet(CartridgeRecord one)
    {
        var version = clinic.Log.Assays.Versions.GetValueOrDefault(one.Assay, [])
            .ElementAtOrDefault(one.AssayVersion - 1);
        return JsonSerializer.Serialize(new
        {
            assay = one.Assay.Value,
            version = one.AssayVersion,
            approved = version is null ? null : InstantPattern.ExtendedIso.Format(version.At),
            approvedBy = version?.By.Value,
            fields = version is null ? null : SheetFields.TextsOf(version.Sheet),
        }, Json);
    }

    private string Manifest(IEnumerable<BundleFile> files, CartridgeRecord one, string by) =>
        JsonSerializer.Serialize(new
        {
            clinic = clinic.Facts.Name,
            bench = one.Bench.Value,
            batch = one.Batch,
            request = one.Request.Value,
            made = InstantPattern.ExtendedIso.Format(clock.Now),
            madeBy = by,
            program = typeof(BundleService).Assembly.GetCustomAttribute<AssemblyInformationalVersionAttribute>()
                ?.InformationalVersion,
            files = files.Select(each => new
            {
                name = each.Name,
                bytes = each.Bytes.Length,
                sha256 = Convert.ToHexStringLower(SHA256.HashData(each.Bytes)),
            }),
        }, Json);

    private static BundleFile Text(string name, string text) => new(name, Encoding.UTF8.GetBytes(text));
}
