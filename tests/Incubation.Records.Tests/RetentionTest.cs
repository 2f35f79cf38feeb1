using Incubation.TestKit;
using System.Text;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.Record;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Incubation.Records.Retention;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>What is erased, what stays, and that the chain is whole afterwards.</summary>
public sealed class RetentionTest : IDisposable
{
    private readonly TempFolder folder = new();

    public RetentionTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        _ = new OldClinic(file);
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Preview_TwoBatchesOld_NamesThemAndNothingYounger()
    {
        using var file = DataFile.Open(folder.DataFile);
        var retention = Retention(file, ClinicLog.Open(file));
        var plan = retention.Preview(OldClinic.Now);
        Assert.Equal((24, 2, 6), (plan.Months, plan.Batches, plan.Cartridges));
        var line = Assert.Single(plan.Benches);
        Assert.Equal((Rows.Bench, 1, 2), (line.Bench, line.FirstBatch, line.LastBatch));
        Assert.Equal(3, line.Checkpoint.Batch);

        // A day before the second batch is two years old, the first may go alone; a day before the first is, nothing
        // may.
        Assert.Equal(1, retention.Preview(Instant.FromUtc(2026, 2, 19, 8, 0)).Batches);
        Assert.Equal(0, retention.Preview(Instant.FromUtc(2026, 1, 9, 8, 0)).Batches);
    }

    [Fact]
    public void Erase_ThenRestart_IsWholeWithTheKeyAndGoesOnAsIfNothingWereGone()
    {
        BenchState before;
        IReadOnlyList<string> kept;
        long rows;
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var line = Assert.Single(Retention(file, clinic).Preview(OldClinic.Now).Benches);
            before = new BenchStreams(file).Load(Rows.Bench).Aggregate((BenchState?)null, LiveBench.Apply)!;
            kept = [.. new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).All()
                .Where(one => one.Batch > 2).Select(Any.WriteOut)];
            Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, OldClinic.Now, line));
            rows = file.Log.Head(StreamName.OfBench(Rows.Bench)).Sequence;
            Assert.Empty(file.Log.VerifyAll().Faults);
        }

        var report = RecordCheck.Run(folder.DataFile);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
        Assert.NotNull(report.Key);
        Assert.Equal(rows, report.Verdict.Streams.Single(stream => stream.Stream == "bench/bench-1").Head.Sequence);

        using var again = DataFile.Open(folder.DataFile);
        again.Log.RefuseCut();
        var reopened = ClinicLog.Open(again);
        var erased = Assert.IsType<ClinicEvent.RecordErased>(reopened.Entries().Last().Event);
        Assert.Equal((1, 2, 6, 24), (erased.FirstBatch, erased.LastBatch, erased.Cartridges, erased.Months));
        Assert.Equal("mara", reopened.Entries().Last().Provenance.Person.Value);
        var state = new BenchSnapshots(again).Load(Rows.Bench, out _)!;
        Assert.Equal(rows, state.Revision);
        Assert.Equal(Any.WriteOut(Comparable(before)), Any.WriteOut(Comparable(state)));
        Assert.True(before.Recorded.IsSubsetOf(state.Recorded));
        Assert.Equal(kept, new CartridgeProjection(again, CartridgeProjection.AsToldOnBench).All()
            .Select(Any.WriteOut));
        Assert.Null(new CartridgeProjection(again, CartridgeProjection.AsToldOnBench).Batch(Rows.Bench, 2));
        Assert.NotNull(new CartridgeProjection(again, CartridgeProjection.AsToldOnBench).Batch(Rows.Bench, 3));
        new BenchStreams(again)
            .Append(Rows.Bench, rows, [new BenchEntry(new BenchEvent.IntakePaused(), Rows.Provenance(9000))]);
        Assert.Empty(again.Log.VerifyAll().Faults);
    }

    [Fact]
    public void Erase_TablesMadeAnew_TellTheSame()
    {
        Erase();
        using var file = DataFile.Open(folder.DataFile);
        var told = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).All().Select(Any.WriteOut).ToList();
        RawFile.Run(folder.DataFile, "UPDATE Projections SET CodeVersion = 0");
        Assert.Equal(told, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).All().Select(Any.WriteOut));
        Assert.Equal(6, told.Count);
        ClinicLog.Open(file);
        Assert.DoesNotContain(new Catalogue(file, ClinicLog.Open(file)).Requests(Rows.Bench), request =>
            request.Request.Id.Value.StartsWith("B1-", StringComparison.Ordinal));
        Assert.Equal(3, new Catalogue(file, ClinicLog.Open(file)).Requests(Rows.Bench)
            .Count(request => request.Request.Id.Value.StartsWith("B3-", StringComparison.Ordinal)));
    }

    /// <summary>Not in tables, not in freed pages, not in the write-ahead log.</summary>
    [Fact]
    public void Erase_Always_LeavesNoSpecimenOfThemInTheFile()
    {
        Assert.Contains("SP-B2-R1", Bytes(), StringComparison.Ordinal);
        Erase();
        Assert.DoesNotContain("SP-B1-R", Bytes(), StringComparison.Ordinal);
        Assert.DoesNotContain("SP-B2-R", Bytes(), StringComparison.Ordinal);
        Assert.Contains("SP-B3-R1", Bytes(), StringComparison.Ordinal);
    }

    /// <summary>What was told of them goes too, and what was still to be told of them is told to nobody.</summary>
    [Fact]
    public void Erase_Always_TakesWhatIsInTheOutboxAboutThem_AndLeavesTheRest()
    {
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        var to = Connection.IdOf(1);
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(
            new ClinicEvent.DestinationAdded(to, ConnectionsStory.Records, []), Rows.Provenance(900)));
        ClinicEvent Noticed(int batch, string request, NoticeKind kind) =>
            new ClinicEvent.ResultNoticed(Rows.Bench, batch, RequestId.Of(request), kind);
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record([Noticed(1, "B1-R1", NoticeKind.InDoubt),
            Noticed(2, "B2-R1", NoticeKind.Amended), Noticed(3, "B3-R1", NoticeKind.InDoubt)], Rows.Provenance(901)));
        var store = new OutboxStore(file, clinic);
        IReadOnlyList<Delivery> Open() => store.Open(clinic.Connections.Find(to)!, 0, 100, out _);
        Delivery Of(string request) => Open().Last(one => one.Id.Request == RequestId.Of(request));
        var (sent, underWay, young) = (Of("B1-R1"), Of("B2-R1"), Of("B3-R1"));
        store.Mark([(to, sent with { Status = DeliveryStatus.Sent, LastTry = OldClinic.Now })]);
        Assert.Equal(sent.Id, store.LastOf(to)!.Id);

        var line = Assert.Single(Retention(file, clinic).Preview(OldClinic.Now).Benches);
        Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, OldClinic.Now, line));

        Assert.All(Open(), one => Assert.StartsWith("B3-", one.Id.Request!.Value.Value, StringComparison.Ordinal));
        Assert.Equal(young, Of("B3-R1"));
        Assert.Equal([(Rows.Bench, RequestId.Of("B3-R1"))], clinic.Connections.InDoubt);
        Assert.Equal((null, null), (store.Find(sent.Id), store.LastOf(to)));
        // One that was on its way meanwhile leaves no mark either.
        store.Mark([(to, underWay with { Status = DeliveryStatus.Sent, LastTry = OldClinic.Now })]);
        Assert.Null(store.LastOf(to));
    }

    /// <summary>
    /// Of a bench's stream too, up to the row that is erased last, with what became of it, sent or not; what is
    /// younger stays, and the outbox is what the streams say.
    /// </summary>
    [Fact]
    public void Erase_OfABenchsStream_TakesItsMessagesUpToTheErasedRow_AndNoneAfterIt()
    {
        using var other = new TempFolder();
        using var file = DataFile.Open(other.DataFile);
        _ = new OldClinic(file, withdraws: true);
        var clinic = ClinicLog.Open(file);
        var to = Connection.IdOf(1);
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(
            new ClinicEvent.DestinationAdded(to, ConnectionsStory.Records, []), Rows.Provenance(900)));
        var store = new OutboxStore(file, clinic);
        IReadOnlyList<Delivery> Open() => store.Open(clinic.Connections.Find(to)!, 0, 100, out _);
        var all = Open();
        Assert.Equal(["B1-R4", "B2-R4", "B3-R4"], all.Select(one => one.Id.Request!.Value.Value));
        Assert.All(all, one => Assert.Equal((Rows.Bench, NoticeKind.Cancelled), (one.Id.Bench!.Value, one.Kind)));
        store.Mark([(to, all[0] with { Status = DeliveryStatus.Sent, LastTry = OldClinic.Now })]);
        Assert.Equal(all[0].Id, store.LastOf(to)!.Id);

        var line = Assert.Single(Retention(file, clinic).Preview(OldClinic.Now).Benches);
        Assert.InRange(line.UpTo, all[1].Id.Sequence, all[2].Id.Sequence - 1);
        Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, OldClinic.Now, line));

        Assert.Equal([all[2]], Open());
        Assert.Equal((null, null, null), (store.Find(all[0].Id), store.Find(all[1].Id), store.LastOf(to)));
        Assert.Equal(0L, RawFile.Scalar(other.DataFile, "SELECT COUNT(*) FROM Deliveries"));
        NoticeProjection.MakeAnew(file);
        Assert.Equal([all[2]], Open());
    }

    /// <summary>What was carried over is kept until the last batch that had it goes.</summary>
    [Fact]
    public void Erase_OfTheBatchThatCarriedARequestOver_KeepsItForTheBatchThatHasIt()
    {
        using var other = new TempFolder();
        using var file = DataFile.Open(other.DataFile);
        _ = new OldClinic(file, carriesOver: true);
        var clinic = ClinicLog.Open(file);
        var before = new BenchStreams(file).Load(Rows.Bench).Aggregate((BenchState?)null, LiveBench.Apply)!;
        var line = Assert.Single(Retention(file, clinic).Preview(OldClinic.Now).Benches);
        Assert.Equal((1, 2, 7), (line.FirstBatch, line.LastBatch, line.Cartridges));
        Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, OldClinic.Now, line));
        Assert.Empty(file.Log.VerifyAll().Faults);

        var kept = new Catalogue(file, clinic).Requests(Rows.Bench)
            .Where(request => request.Request.Id.Value.StartsWith("B2-", StringComparison.Ordinal));
        Assert.Equal("SP-B2-R4", Assert.Single(kept).Request.Specimen.Value);
        var third = new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).Batch(Rows.Bench, 3)!;
        Assert.Equal(["B2-R4", "B3-R1", "B3-R2", "B3-R3"],
            third.Cartridges.Select(one => one.Request.Value).Order(StringComparer.Ordinal));
        var state = new BenchSnapshots(file).Load(Rows.Bench, out _)!;
        Assert.Equal(Any.WriteOut(Comparable(before)), Any.WriteOut(Comparable(state)));

        var later = OldClinic.Now + Duration.FromDays(800);
        line = Assert.Single(Retention(file, clinic).Preview(later).Benches);
        Assert.Equal((3, 3, 4), (line.FirstBatch, line.LastBatch, line.Cartridges));
        Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, later, line));
        Assert.DoesNotContain(new Catalogue(file, clinic).Requests(Rows.Bench), request =>
            request.Request.Id.Value.StartsWith("B2-", StringComparison.Ordinal));
        Assert.Empty(file.Log.VerifyAll().Faults);
    }

    [Fact]
    public void Erase_Afterwards_BackupRestoreAndExportWork()
    {
        Erase();
        DataBackup.Make(folder.DataFile, folder.At("backup.db"));
        var restored = DataRestore.Run(folder.At("backup.db"), folder.At("restored.db"), force: false, OldClinic.Now);
        Assert.Equal(2, restored.Restored.Streams.Count);
        using var file = DataFile.Open(folder.DataFile);
        var lines =
            string.Concat(RecordExport.Lines(file, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench),
                ClinicLog.Open(file).Controls,
                ExportForm.Jsonl, NodaTime.DateTimeZone.Utc));
        var rows = LogExport.Read(new StringReader(lines)).ToList();
        Assert.Equal(file.Log.Streams().Sum(stream => file.Log.Head(stream).Sequence), rows.Count);
        Assert.Contains(rows, row => row.Payload is null);
    }

    [Fact]
    public void Erase_OnceMoreLater_TakesTheNextBatch()
    {
        Erase();
        var later = Instant.FromUtc(2027, 7, 1, 8, 0);
        using (var file = DataFile.Open(folder.DataFile))
        {
            var clinic = ClinicLog.Open(file);
            var line = Assert.Single(Retention(file, clinic).Preview(later).Benches);
            Assert.Equal((3, 3), (line.FirstBatch, line.LastBatch));
            Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, later, line));
        }

        Assert.True(RecordCheck.Run(folder.DataFile).IsWhole);
        using var again = DataFile.Open(folder.DataFile);
        Assert.Equal(3, new CartridgeProjection(again, CartridgeProjection.AsToldOnBench).All().Count());
        Assert.Equal(4, new BenchSnapshots(again).Load(Rows.Bench, out _)!.Batch);
    }

    [Fact]
    public void Erase_BeforeItsTime_IsRefusedAndNothingGoes()
    {
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        var line = Assert.Single(Retention(file, clinic).Preview(OldClinic.Now).Benches);
        var early = Instant.FromUtc(2026, 2, 1, 8, 0);
        Assert.Equal(ClinicRefusal.RetentionNotOver,
            Assert.IsType<ClinicOutcome.Refused>(OldClinic.Erase(file, clinic, early, line)).Why);

        // Nor does the log take it from whoever asks past all that.
        var provenance = Rows.Provenance(7000) with { Arrived = early, At = early };
        var forged = new ClinicEvent.RecordErased(Rows.Bench, 1, 2, line.UpTo, 6,
            OldClinic.Days[1] + Duration.FromDays(1), 24, []);
        Assert.Equal(ClinicRefusal.RetentionNotOver,
            Assert.IsType<ClinicOutcome.Refused>(clinic.Record(forged, provenance)).Why);
        Assert.Equal(ClinicRefusal.RetentionNotOver,
            Assert.IsType<ClinicOutcome.Refused>(clinic.Record(forged with { Months = 1 }, provenance)).Why);
        Assert.Equal(12, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench).All().Count());
    }

    [Fact]
    public void Erase_WhatTheBenchKnewNotKept_IsRefused()
    {
        using var file = DataFile.Open(folder.DataFile);
        var retention = Retention(file, ClinicLog.Open(file));
        var line = Assert.Single(retention.Preview(OldClinic.Now).Benches);
        var provenance = Rows.Provenance(7000) with { Arrived = OldClinic.Now, At = OldClinic.Now };
        Assert.Equal(ClinicRefusal.StandingMissing,
            Assert.IsType<ClinicOutcome.Refused>(retention.Erase(line, provenance)).Why);
    }

    [Fact]
    public void Months_OldRecordWithLess_AreTheLeast()
    {
        Assert.Equal(24, RetentionRules.MonthsOf(null));
        Assert.Equal(24, RetentionRules.MonthsOf(1));
        Assert.Equal(60, RetentionRules.MonthsOf(60));
    }

    [Fact]
    public void Run_PayloadOfAKeptRowTakenAway_IsFoundAfterErasing()
    {
        Erase();
        long row;
        using (var file = DataFile.Open(folder.DataFile))
            row = file.Log.Head(StreamName.OfBench(Rows.Bench)).Sequence - 2;
        RawFile.Run(
            folder.DataFile, "INSERT INTO Erasures VALUES ('bench/bench-1', 2, 100000, 0), ('clinic', 2, 2, 0)",
            $"DELETE FROM EventPayloads WHERE Stream = 'bench/bench-1' AND Sequence = {row}",
                "DELETE FROM EventPayloads WHERE Stream = 'clinic' AND Sequence = 2");
        var faults = RecordCheck.Run(folder.DataFile).Verdict.Faults.ToList();
        Assert.Equal(
            [("bench/bench-1", row, LogDifference.PayloadMissing), ("clinic", 2L, LogDifference.PayloadMissing)],
            faults.Select(fault => (fault.Stream, fault.Sequence, fault.Difference)));
    }

    private static RecordRetention Retention(DataFile file, ClinicLog clinic) =>
        new(file, clinic, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench));

    private void Erase()
    {
        using var file = DataFile.Open(folder.DataFile);
        var clinic = ClinicLog.Open(file);
        Assert.IsType<ClinicOutcome.Recorded>(OldClinic.Erase(file, clinic, OldClinic.Now,
            Assert.Single(Retention(file, clinic).Preview(OldClinic.Now).Benches)));
    }

    private string Bytes() =>
        string.Concat(new[] { "", "-wal" }.Select(ending => folder.DataFile + ending).Where(File.Exists)
            .Select(path => Encoding.Latin1.GetString(File.ReadAllBytes(path))));

    /// <summary>
    /// What a replay from a standing does not know: which commands were recorded before, and when the last of them
    /// arrived.
    /// </summary>
    private static BenchState Comparable(BenchState state) => state with
    {
        Recorded = [],
        Revision = 0,
        Checkpoint = state.Checkpoint with { LastArrived = default },
        Run = state.Run with { Undo = null },
    };
}
