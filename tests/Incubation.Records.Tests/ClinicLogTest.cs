using Incubation.Clinic;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>The clinic's stream and the tables made from it.</summary>
public sealed class ClinicLogTest : IDisposable
{
    private static readonly string[] Tables = ["Clinic", "Assays", "Lots", "Benches", "Requests", "Projections"];

    private readonly TempFolder folder = new();
    private readonly DataFile file;
    private readonly ClinicLog log;
    private readonly Catalogue catalogue;

    public ClinicLogTest()
    {
        file = DataFile.Open(folder.DataFile);
        log = ClinicLog.Open(file);
        catalogue = new Catalogue(file, log);
    }

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void Record_SecondEventAgainstARule_IsRefusedAndNothingChanges()
    {
        log.Tell(ClinicStory.Commands);
        var before = Dump();
        var outcome = log.Record(
            [new ClinicEvent.BenchRegistered(BenchId.Of("bench-8"), "Bench 8"), ClinicStory.Lot("A-L1", ClinicStory.A)],
            Rows.Provenance(50));
        Assert.Equal(new ClinicOutcome.Refused(ClinicRefusal.LotAlreadyReceived, "A-L1"), outcome);
        Assert.Equal(before, Dump());
        Assert.Equal(ClinicStory.Commands.Sum(command => command.Events.Length),
            file.Log.Head(StreamName.Clinic).Sequence);
    }

    [Fact]
    public void Record_BeforeTheClinicIsOpen_IsRefused()
    {
        Assert.False(log.IsOpen);
        var outcome = log.Record(new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1"), Rows.Provenance(1));
        Assert.Equal(ClinicRefusal.ClinicNotOpen, Assert.IsType<ClinicOutcome.Refused>(outcome).Why);
        Assert.Equal(0, file.Log.Head(StreamName.Clinic).Sequence);
    }

    [Fact]
    public void Record_SameCommandAgain_IsHarmless()
    {
        log.Tell(ClinicStory.Commands);
        var again = ClinicStory.Commands[3];
        Assert.IsType<ClinicOutcome.AlreadyRecorded>(log.Record(again.Events, again.Provenance));
        Assert.IsType<ClinicOutcome.AlreadyRecorded>(ClinicLog.Open(file).Record(again.Events, again.Provenance));
        Assert.Equal(ClinicStory.Commands.Sum(command => command.Events.Length),
            file.Log.Head(StreamName.Clinic).Sequence);
    }

    [Fact]
    public void Record_FileCannotTakeIt_ChangesNothingAndGoesOnLater()
    {
        log.Tell(ClinicStory.Commands);
        var request = ClinicStory.Request("R50", ClinicStory.A, "A-L1");
        using (var command = file.Writer.CreateCommand())
        {
            command.CommandText = "PRAGMA query_only = ON";
            command.ExecuteNonQuery();
            Assert.Throws<AppendException>(() => log.Record(request, Rows.Provenance(50)));
            command.CommandText = "PRAGMA query_only = OFF";
            command.ExecuteNonQuery();
        }
        Assert.IsType<ClinicOutcome.Recorded>(log.Record(request, Rows.Provenance(50)));
    }

    [Fact]
    public void Catalogue_AfterTheStory_ShowsWhatWasRecorded()
    {
        log.Tell(ClinicStory.Commands);
        Assert.Equal(("Invented clinic", "Europe/Berlin"), (catalogue.Clinic()!.Name, catalogue.Clinic()!.Zone.Id));
        Assert.Equal([("A", 2), ("B", 1)], catalogue.Assays().Select(assay => (assay.Assay.Code.Value, assay.Version)));
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 4), catalogue.Assay(ClinicStory.A)!.Assay);
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 3), catalogue.Assay(ClinicStory.A, 1)!.Assay);
        Assert.Null(catalogue.Assay(ClinicStory.A, 3));
        Assert.Equal(["A-L1", "A-L2", "B-L1"], catalogue.Lots().Select(lot => lot.Lot.Value));
        Assert.Equal(new LocalDate(2026, 3, 2), catalogue.Lot(LotCode.Of("B-L1"))!.Expiry);
        Assert.Null(catalogue.Lot(LotCode.Of("B-L9")));
        Assert.Equal(["bench-1", "bench-2"], catalogue.Benches().Select(bench => bench.Bench.Value));
        Assert.Equal(["R01", "R02", "R04"], catalogue.Requests(ClinicStory.Bench)
            .Select(request => request.Request.Id.Value));
    }

    [Fact]
    public void BenchRequests_EachRequest_HasTheVersionThatItRunsUnder()
    {
        log.Tell(ClinicStory.Commands);
        var wanted = catalogue.BenchRequests(ClinicStory.Bench);
        Assert.Equal([1, 2, 1], wanted.Select(request => request.AssayVersion));
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 3), wanted[0].Assay);
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 4), wanted[1].Assay);
        var told = ClinicStory.Request("R04", ClinicStory.B, "B-L1", after: "R03");
        Assert.Equal(Any.WriteOut(told.Request), Any.WriteOut(wanted[2].Request));
        Assert.Equal("ug/L", wanted[2].Unit);
    }

    [Fact]
    public void RebuildProjections_AfterTheStory_GivesTheSameTables()
    {
        log.Tell(ClinicStory.Commands);
        var before = Dump();
        log.RebuildProjections();
        Assert.Equal(before, Dump());
        Assert.Contains("R04", before, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("DELETE FROM Requests; UPDATE Projections SET Sequence = 0")]
    [InlineData("UPDATE Lots SET Assay = 'old'; UPDATE Projections SET CodeVersion = 0")]
    [InlineData("UPDATE Assays SET Sheet = 'old'; DELETE FROM Projections")]
    public void Open_TablesThatDoNotFitTheStream_AreMadeAnew(string damage)
    {
        log.Tell(ClinicStory.Commands);
        var before = Dump();
        RawFile.Run(folder.DataFile, damage);
        Assert.NotEqual(before, Dump());
        _ = ClinicLog.Open(file);
        Assert.Equal(before, Dump());
    }

    [Fact]
    public void Entries_AfterTheStory_AreItsEvents()
    {
        log.Tell(ClinicStory.Commands);
        Assert.Equal(
            ClinicStory.Commands.SelectMany(command => command.Events).Select(Any.WriteOut),
            log.Entries().Select(entry => Any.WriteOut(entry.Event)));
    }

    [Fact]
    public void Lots_OfTheCatalogueAfterAFurtherDelivery_AreTheKitsOnceEach()
    {
        log.Tell(StockStory.Commands);
        Assert.Equal(["A-L7", "A-L8"], catalogue.Lots().Select(lot => lot.Lot.Value));
    }

    /// <summary>Every table of the clinic in full.</summary>
    private string Dump()
    {
        using var connection = RawFile.Open(folder.DataFile);
        var lines = new List<string>();
        foreach (var table in Tables)
        {
            using var command = connection.CreateCommand();
            command.CommandText = $"SELECT * FROM {table} ORDER BY 1, 2";
            using var reader = command.ExecuteReader();
            while (reader.Read())
            {
                var values = new object[reader.FieldCount];
                reader.GetValues(values);
                lines.Add(table + ": " + string.Join(" | ", values));
            }
        }
        return string.Join('\n', lines);
    }
}
