using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Export;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// Somebody without the record's key changes tables that are made from the log: it is found, named, never told as if it
/// were true, and made anew.
/// </summary>
public sealed class ProjectionCheckTest : IDisposable
{
    private readonly TempFolder folder = new();

    public ProjectionCheckTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        _ = new OldClinic(file);
        new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).CatchUp();
    }

    public static TheoryData<string, string, string?, string> Edits => new()
    {
        { "Clinic", "1", "Name", "UPDATE Clinic SET Name = 'Another'" },
        { "Assays", "A, 1", "Sheet", "UPDATE Assays SET Sheet = replace(Sheet, 'PT3M', 'PT1M') WHERE Code = 'A'" },
        { "Assays", "A, 9", null,
            "INSERT INTO Assays SELECT Code, 9, ApprovedAt, Sequence, Sheet FROM Assays LIMIT 1" },
        { "Lots", "A-L1", "Expiry", "UPDATE Lots SET Expiry = '2031-01-01' WHERE Lot = 'A-L1'" },
        { "Benches", "bench-1", "Name", "UPDATE Benches SET Name = 'Another' WHERE Bench = 'bench-1'" },
        { "Requests", "B3-R1", "Specimen", "UPDATE Requests SET Specimen = 'SP-X' WHERE Id = 'B3-R1'" },
        { "Requests", "B4-R2", null, "DELETE FROM Requests WHERE Id = 'B4-R2'" },
        { "Uses", "bench-1, b3-", "At", "UPDATE Uses SET At = At + 1 WHERE Report = (SELECT Report FROM Uses "
            + "WHERE Request = 'B3-R1' LIMIT 1)" },
        { "Uses", "bench-1, x", null, "INSERT INTO Uses SELECT Bench, 'x', At, Request FROM Uses LIMIT 1" },
        { "Batches", "bench-1, 2", "ClosedAt", "UPDATE Batches SET ClosedAt = 0 WHERE Number = 2" },
        { "Batches", "bench-1, 4", "First", "UPDATE Batches SET First = First + 1 WHERE Number = 4" },
        { "Batches", "bench-1, 3", null, "DELETE FROM Batches WHERE Number = 3" },
        { "Cartridges", "bench-1, 3, B3-R1", "Json",
            "UPDATE Cartridges SET Json = replace(Json, '\"inWindow\":true', '\"inWindow\":false') "
            + "WHERE Request = 'B3-R1'" },
        { "Cartridges", "bench-1, 2, B2-R2", "Specimen",
            "UPDATE Cartridges SET Specimen = 'SP-OTHER' WHERE Request = 'B2-R2'" },
        { "Cartridges", "bench-1, 4, B4-R1", null, "DELETE FROM Cartridges WHERE Request = 'B4-R1'" },
        { "CartridgeTimes", "bench-1, 3, B3-R1", "Spare",
            "UPDATE CartridgeTimes SET Spare = 1 WHERE Request = 'B3-R1'" },
        { "CartridgeTimes", "bench-1, 77", null, "UPDATE CartridgeTimes SET Batch = 77 WHERE Request = 'B3-R1'" },
        { "Projections", "clinic", "Sequence", "UPDATE Projections SET Sequence = 3 WHERE Name = 'clinic'" },
        { "Projections", "cartridges bench-1", "Sequence",
            "UPDATE Projections SET Sequence = 99999 WHERE Name = 'cartridges bench-1'" },
        { "Projections", "other", null, "INSERT INTO Projections VALUES ('other', 1, 1)" },
        { "Uses", "bench-9, ", null, "INSERT INTO Uses SELECT 'bench-9', Report, At, Request FROM Uses LIMIT 1" },
        { "Batches", "bench-9, 2", null, "UPDATE Batches SET Bench = 'bench-9' WHERE Number = 2" },
        { "Cartridges", "BENCH-1, 3, B3-R1", null, "UPDATE Cartridges SET Bench = 'BENCH-1' WHERE Request = 'B3-R1'" },
        { "CartridgeTimes", "no bench, 3, B3-R1", null,
            "UPDATE CartridgeTimes SET Bench = 'no bench' WHERE Request = 'B3-R1'" },
        { "Erasures", "clinic, 3", null,
            "INSERT INTO Erasures (Stream, First, Last, Event) VALUES ('clinic', 3, 4, 0)" },
    };

    public void Dispose() => folder.Dispose();

    [Theory]
    [MemberData(nameof(Edits))]
    public void Run_TableChanged_IsFoundAndNamedAndMadeAnew(string table, string row, string? column, string edit)
    {
        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        RawFile.Run(folder.DataFile, edit);

        var report = RecordCheck.Run(folder.DataFile);
        Assert.False(report.IsWhole);
        Assert.Empty(report.Verdict.Faults);
        Assert.Contains(report.Tables.Differences, one => one.Table == table && one.Column == column
            && one.Row.StartsWith(row, StringComparison.Ordinal));
        Assert.NotEqual(0, DataBackup.Make(folder.DataFile, folder.At("backup.db")).Tables.Count);

        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var book = new CartridgeProjection(file, clinic.Amended);
            var (before, after) = ProjectionRebuild.Run(file, clinic, book, Rows.Provenance(7000));
            // A start makes some of it anew by itself.
            if (before.Count > 0)
            {
                var rebuilt = Assert.IsType<ClinicEvent.TablesRebuilt>(clinic.Entries().Last().Event);
                Assert.Equal(before.Tables, rebuilt.Tables);
                Assert.Equal(before.Count, rebuilt.Differences);
            }

            Assert.Equal(0, after.Count);
        }

        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        var restored = DataRestore.Run(folder.At("backup.db"), folder.At("restored.db"), force: false, OldClinic.Now);
        Assert.NotEqual(0, restored.Restored.Tables.Count);
    }

    [Fact]
    public void Restore_TablesOfTheBackupDiffer_AreMadeAnewAtTheNextStart()
    {
        RawFile.Run(folder.DataFile, "UPDATE Cartridges SET Specimen = 'SP-OTHER'", "UPDATE Uses SET At = 0",
            "UPDATE Requests SET Lot = 'B-L1'");
        DataBackup.Make(folder.DataFile, folder.At("backup.db"));
        DataRestore.Run(folder.At("backup.db"), folder.At("restored.db"), force: false, OldClinic.Now);
        using (var file = DataFile.Open(folder.At("restored.db"), new DataFileOptions(
            KeyFile: folder.At(SigningKey.FileName))))
            new CartridgeProjection(file, ClinicLog.Open(file).Amended).CatchUp();
        Assert.Equal(0, RecordCheck.Run(folder.At("restored.db"), folder.At(SigningKey.FileName)).Tables.Count);
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Export_ResultChangedInTheTable_TellsWhatTheLogSays(bool whileOpen)
    {
        const string Change = "UPDATE Cartridges SET Json = replace(Json, '\"value\":', '\"value\":9'), "
            + "Specimen = 'SP-' || substr(Specimen, 4)";
        string Csv(DataFile file, CartridgeProjection book) =>
            string.Concat(RecordExport.Lines(file, book, ClinicLog.Open(file).Controls, ExportForm.Csv,
                DateTimeZone.Utc));
        string before;
        using (var file = DataFile.Open(folder.DataFile))
        {
            var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
            before = Csv(file, book);
            if (whileOpen)
            {
                RawFile.Run(folder.DataFile, Change, "DELETE FROM Cartridges WHERE Request = 'B2-R3'");
                Assert.Equal(before.Split('\n').Order(StringComparer.Ordinal),
                    Csv(file, book).Split('\n').Order(StringComparer.Ordinal));
                Assert.NotEmpty(book.Noticed);
                AssertTold(book, before);
                return;
            }
        }

        RawFile.Run(folder.DataFile, Change);
        Assert.Equal(9L, RawFile.Scalar(folder.DataFile,
            "SELECT COUNT(*) FROM Cartridges WHERE Json LIKE '%\"value\":9%'"));
        using var again = DataFile.Open(folder.DataFile);
        // The first page after a start, before anything was compared.
        AssertTold(new CartridgeProjection(again, CartridgeProjection.AsToldOnBench), before);
        var later = new CartridgeProjection(again, CartridgeProjection.AsToldOnBench);
        Assert.Equal(before, Csv(again, later));
        AssertTold(later, before);
    }

    [Fact]
    public void Batch_FirstRowAndWhatTheBenchKnewChanged_IsToldFromTheLog()
    {
        using var file = DataFile.Open(folder.DataFile);
        var book = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench);
        var before = Any.WriteOut(book.Batch(Rows.Bench, 2)!.Cartridges);
        _ = book.All().Count();
        RawFile.Run(folder.DataFile, "UPDATE Batches SET First = 1, Before = NULL WHERE Number = 2",
            "DELETE FROM Batches WHERE Number = 3");
        Assert.Equal(before, Any.WriteOut(book.Batch(Rows.Bench, 2)!.Cartridges));
        Assert.Equal(3, book.Batch(Rows.Bench, 3)!.Cartridges.Length);
        Assert.True(book.Entries(Rows.Bench, 3)!.IsClosed);
        Assert.Equal(2, book.Noticed.Count);
    }

    /// <summary>An assay of 15 minutes that somebody makes one of 4: no request is taken by that.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Catalogue_AssayChangedInTheTable_IsAsItWasApproved(bool whileOpen)
    {
        const string Change = "UPDATE Assays SET Sheet = replace(Sheet, 'PT3M', 'PT1M')";
        if (!whileOpen)
            RawFile.Run(folder.DataFile, Change);
        using var file = DataFile.Open(folder.DataFile);
        var catalogue = new Catalogue(file, ClinicLog.Open(file));
        if (whileOpen)
            RawFile.Run(folder.DataFile, Change);
        Assert.Contains("PT1M", (string)RawFile.Scalar(folder.DataFile,
            "SELECT Sheet FROM Assays WHERE Code = 'A' AND Version = 1")!, StringComparison.Ordinal);
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 3), catalogue.Assay(ClinicStory.A, 1)!.Assay);
        Assert.All(catalogue.BenchRequests(Rows.Bench).Where(wanted => wanted.AssayVersion == 1
            && wanted.Request.Assay == ClinicStory.A),
            wanted => Assert.Equal(ClinicStory.Assay(ClinicStory.A, 3), wanted.Assay));
    }

    /// <summary>Reports go on while the tables are compared: nothing is said to differ that does not.</summary>
    [Fact]
    public void InPieces_ReportsBetweenThePieces_FindsNothingAndHoldsNoCheckpointUp()
    {
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        var book = new CartridgeProjection(file, clinic.Amended);
        ProjectionVerdict? verdict = null;
        var (pieces, reports) = (0, 0);
        foreach (var _ in ProjectionCheck.InPieces(file, book, found => verdict = found))
        {
            pieces++;
            Report(file, ref reports);
            if (pieces % 2 == 0)
                book.CatchUp();
            // A reader that still stood somewhere would keep the log from being emptied.
            file.EmptyLog();
            Assert.Equal(0, new FileInfo(folder.DataFile + "-wal").Length);
        }

        Assert.Equal(0, verdict!.Count);
        Assert.True(pieces > 4, $"{pieces} pieces");
        Assert.True(verdict.Rows > 50, $"{verdict.Rows} rows");
    }

    [Fact]
    public void InPieces_TableChangedMeanwhile_IsFound()
    {
        using var file = DataFile.Open(folder.DataFile);
        var book = new CartridgeProjection(file, ClinicLog.Open(file).Amended);
        book.CatchUp();
        RawFile.Run(folder.DataFile, "UPDATE Uses SET At = 1 WHERE Request = 'B3-R1'",
            "UPDATE Projections SET CodeVersion = 7 WHERE Name = 'cartridges bench-1'");
        ProjectionVerdict? verdict = null;
        foreach (var _ in ProjectionCheck.InPieces(file, book, found => verdict = found))
        {
        }

        Assert.Equal(["Projections", "Uses"], verdict!.Tables.Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Run_AfterErasing_IsWholeAndChangesAreFound()
    {
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var line = new Retention.RecordRetention(file, clinic, new CartridgeProjection(file, clinic.Amended))
                .Preview(OldClinic.Now).Benches.Single();
            OldClinic.Erase(file, clinic, OldClinic.Now, line);
            // Of what was erased no use is left either.
            Assert.Equal(0L, RawFile.Scalar(folder.DataFile, "SELECT COUNT(*) FROM Uses WHERE Request LIKE 'B1-%'"));
            Assert.NotEqual(0L,
                RawFile.Scalar(folder.DataFile, "SELECT COUNT(*) FROM Uses WHERE Request LIKE 'B3-%'"));
            Assert.Equal(6, new CartridgeProjection(file, clinic.Amended).All().Count());
        }

        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        RawFile.Run(folder.DataFile, "UPDATE Erasures SET Event = Event - 1 WHERE Stream LIKE 'bench/%'");
        Assert.Contains(RecordCheck.Run(folder.DataFile).Tables.Differences,
            one => (one.Table, one.Column) == ("Erasures", "Event"));
    }

    /// <summary>A report of an earlier batch cannot be taken back; one of this batch is no use any more.</summary>
    [Fact]
    public void Run_StoryWithEveryCorrection_IsWhole()
    {
        using (var file = DataFile.Open(folder.At("told.db")))
        {
            ClinicLog.Open(file).Tell(ClinicStory.Commands);
            var at = 0L;
            foreach (var command in BenchStory.TellOtherwise().GroupBy(entry => entry.Provenance.Id))
                at = new BenchStreams(file).Append(Rows.Bench, at, [.. command]).Sequence;
            new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).CatchUp();
        }

        var report = RecordCheck.Run(folder.At("told.db"));
        Assert.True(report.IsWhole, string.Join('\n', report.Tables.Differences.Select(one => one.Message)));
        Assert.Empty(report.Tables.Behind);
        Assert.Empty(report.Tables.NotReplayed);
    }

    private static void AssertTold(CartridgeProjection book, string csv)
    {
        var found = book.Find(new CartridgeQuery(Descending: false, Most: 100)).Cartridges;
        Assert.All(CartridgeCsv.Lines(found.Select(one =>
            new CartridgeLine(one, BatchFacts.Of(book, one.Bench, one.Batch))), DateTimeZone.Utc), line =>
            Assert.Contains(line, csv, StringComparison.Ordinal));
        Assert.True(found.Count >= 11, $"{found.Count}");
    }

    private static void Report(DataFile file, ref int reports)
    {
        var stream = StreamName.OfBench(Rows.Bench);
        new BenchStreams(file).Append(Rows.Bench, file.Log.Head(stream).Sequence,
            [new BenchEntry(new BenchEvent.AlarmAcknowledged(
                new AlarmKey(AlarmKind.WindowClosed, RequestId.Of("B4-R1"))), Rows.Provenance(8000 + ++reports))]);
    }
}
