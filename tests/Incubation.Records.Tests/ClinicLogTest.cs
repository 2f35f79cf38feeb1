using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
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
        catalogue = new Catalogue(file);
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Refusals => new()
    {
        { ClinicStory.Opened, ClinicRefusal.ClinicAlreadyOpen },
        { new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Again"), ClinicRefusal.BenchAlreadyRegistered },
        { new ClinicEvent.BenchRegistered(BenchId.Of("bench-9"), " "), ClinicRefusal.NameMissing },
        { ClinicStory.Approved(ClinicStory.A, 4, 2), ClinicRefusal.VersionOutOfOrder },
        { ClinicStory.Approved(ClinicStory.A, 4, 4), ClinicRefusal.VersionOutOfOrder },
        { ClinicStory.Approved(ClinicStory.A, 4, 3), ClinicRefusal.DraftChanged },
        { ClinicStory.Drafted(ClinicStory.A, 4, 3), ClinicRefusal.DraftChanged },
        { new ClinicEvent.AssayDraftDropped(ClinicStory.A, 3), ClinicRefusal.DraftChanged },
        { new ClinicEvent.AssayDrafted(ClinicStory.Sheet(ClinicStory.A, 3) with { Unit = "" }, 4), ClinicRefusal.NameMissing },
        { ClinicStory.Drafted(ClinicStory.A, -3, 4), ClinicRefusal.LengthsImpossible },
        { DraftOf(assay => assay with { MixShortest = Duration.FromSeconds(51) }), ClinicRefusal.LengthsImpossible },
        { DraftOf(assay => assay with { LoadShortest = Duration.FromSeconds(26) }), ClinicRefusal.LengthsImpossible },
        { DraftThat(sheet => sheet with { Materials = new MaterialRule(Duration.FromSeconds(-1), null) }), ClinicRefusal.LengthsImpossible },
        { DraftThat(sheet => sheet with { Results = sheet.Results with { Reference = new ValueRange(5, 4.9m) } }), ClinicRefusal.SheetImpossible },
        { DraftThat(sheet => sheet with { Results = sheet.Results with { Decimals = 7 } }), ClinicRefusal.SheetImpossible },
        { DraftThat(sheet => sheet with { Controls = sheet.Controls with { Levels = 4 } }), ClinicRefusal.SheetImpossible },
        { ClinicStory.Lot("A-L1", ClinicStory.A), ClinicRefusal.LotAlreadyReceived },
        { ClinicStory.Lot("X-L1", AssayCode.Of("X")), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R01", ClinicStory.A, "A-L1"), ClinicRefusal.DuplicateRequest },
        { ClinicStory.Request("R99", AssayCode.Of("X"), "A-L1"), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L1", version: 3), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L1", version: 0), ClinicRefusal.UnknownAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L9"), ClinicRefusal.UnknownLot },
        { ClinicStory.Request("R99", ClinicStory.A, "B-L1"), ClinicRefusal.LotOfAnotherAssay },
        { ClinicStory.Request("R99", ClinicStory.A, "A-L1", bench: "bench-9"), ClinicRefusal.UnknownBench },
    };

    private static ClinicEvent DraftOf(Func<Assay, Assay> change) => DraftThat(sheet => sheet with { Assay = change(sheet.Assay) });

    private static ClinicEvent DraftThat(Func<AssaySheet, AssaySheet> change) => new ClinicEvent.AssayDrafted(change(ClinicStory.Sheet(ClinicStory.A, 3)), 4);

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Theory]
    [MemberData(nameof(Refusals))]
    public void Record_AgainstARule_IsRefusedAndNothingChanges(ClinicEvent @event, ClinicRefusal why)
    {
        ClinicStory.Tell(log);
        var before = Dump();
        var outcome = log.Record([new ClinicEvent.BenchRegistered(BenchId.Of("bench-8"), "Bench 8"), @event], Rows.Touch(50));
        Assert.Equal(why, Assert.IsType<ClinicOutcome.Refused>(outcome).Why);
        Assert.Equal(before, Dump());
        Assert.Equal(ClinicStory.Commands.Sum(command => command.Count), file.Log.Head(StreamName.Clinic).Sequence);
    }

    [Fact]
    public void Record_BeforeTheClinicIsOpen_IsRefused()
    {
        Assert.False(log.IsOpen);
        var outcome = log.Record(new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1"), Rows.Touch(1));
        Assert.Equal(ClinicRefusal.ClinicNotOpen, Assert.IsType<ClinicOutcome.Refused>(outcome).Why);
    }

    [Theory]
    [InlineData("Middle/Nowhere", "A clinic", ClinicRefusal.UnknownTimeZone)]
    [InlineData("Europe/Berlin", "", ClinicRefusal.NameMissing)]
    public void Record_ClinicThatCannotBe_IsRefused(string zone, string name, ClinicRefusal why)
    {
        var outcome = log.Record(new ClinicEvent.ClinicOpened(name, zone), Rows.Touch(1));
        Assert.Equal(why, Assert.IsType<ClinicOutcome.Refused>(outcome).Why);
    }

    /// <summary>The lot's last day ends at midnight in the clinic, an hour before midnight in UTC.</summary>
    [Theory]
    [InlineData(22, 59, true)]
    [InlineData(23, 0, false)]
    public void Record_RequestOnTheLotsLastDay_IsRecordedUntilMidnightInTheClinic(int hour, int minute, bool recorded)
    {
        ClinicStory.Tell(log);
        var touch = Rows.Touch(60) with { Arrived = Instant.FromUtc(2026, 3, 2, hour, minute) };
        var outcome = log.Record(ClinicStory.Request("R50", ClinicStory.A, "A-L1"), touch);
        Assert.Equal(recorded, outcome is ClinicOutcome.Recorded);
        if (!recorded)
            Assert.Equal(new ClinicOutcome.Refused(ClinicRefusal.LotExpired, "A-L1"), outcome);
    }

    [Fact]
    public void Record_SameCommandAgain_IsHarmless()
    {
        ClinicStory.Tell(log);
        Assert.IsType<ClinicOutcome.AlreadyRecorded>(log.Record(ClinicStory.Commands[3], ClinicStory.Touch(3)));
        Assert.IsType<ClinicOutcome.AlreadyRecorded>(ClinicLog.Open(file).Record(ClinicStory.Commands[3], ClinicStory.Touch(3)));
        Assert.Equal(ClinicStory.Commands.Sum(command => command.Count), file.Log.Head(StreamName.Clinic).Sequence);
    }

    [Fact]
    public void Record_EventRestsOnOneOfItsOwnCommand_IsRecorded()
    {
        log.Record(ClinicStory.Opened, Rows.Touch(1));
        var outcome = log.Record(
            [new ClinicEvent.BenchRegistered(ClinicStory.Bench, "Bench 1"), ClinicStory.Drafted(ClinicStory.A, 3, 1), ClinicStory.Drafted(ClinicStory.A, 4, 2)], Rows.Touch(2));
        Assert.Equal(4, Assert.IsType<ClinicOutcome.Recorded>(outcome).Head.Sequence);
    }

    [Fact]
    public void Record_FileCannotTakeIt_ChangesNothingAndGoesOnLater()
    {
        ClinicStory.Tell(log);
        var request = ClinicStory.Request("R50", ClinicStory.A, "A-L1");
        using (var command = file.Writer.CreateCommand())
        {
            command.CommandText = "PRAGMA query_only = ON";
            command.ExecuteNonQuery();
            Assert.Throws<AppendException>(() => log.Record(request, Rows.Touch(50)));
            command.CommandText = "PRAGMA query_only = OFF";
            command.ExecuteNonQuery();
        }
        Assert.IsType<ClinicOutcome.Recorded>(log.Record(request, Rows.Touch(50)));
    }

    [Fact]
    public void Catalogue_AfterTheStory_ShowsWhatWasRecorded()
    {
        ClinicStory.Tell(log);
        Assert.Equal(("Invented clinic", "Europe/Berlin"), (catalogue.Clinic()!.Name, catalogue.Clinic()!.Zone.Id));
        Assert.Equal([("A", 2), ("B", 1)], catalogue.Assays().Select(assay => (assay.Assay.Code.Value, assay.Version)));
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 4), catalogue.Assay(ClinicStory.A)!.Assay);
        Assert.Equal(ClinicStory.Assay(ClinicStory.A, 3), catalogue.Assay(ClinicStory.A, 1)!.Assay);
        Assert.Null(catalogue.Assay(ClinicStory.A, 3));
        Assert.Equal(["A-L1", "A-L2", "B-L1"], catalogue.Lots().Select(lot => lot.Lot.Value));
        Assert.Equal(new LocalDate(2026, 3, 2), catalogue.Lot(LotCode.Of("B-L1"))!.Expiry);
        Assert.Null(catalogue.Lot(LotCode.Of("B-L9")));
        Assert.Equal(["bench-1", "bench-2"], catalogue.Benches().Select(bench => bench.Bench.Value));
        Assert.Equal(["R01", "R02", "R04"], catalogue.Requests(ClinicStory.Bench).Select(request => request.Request.Id.Value));
    }

    [Fact]
    public void BenchRequests_EachRequest_HasTheVersionThatItRunsUnder()
    {
        ClinicStory.Tell(log);
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
        ClinicStory.Tell(log);
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
        ClinicStory.Tell(log);
        var before = Dump();
        RawFile.Run(folder.DataFile, damage);
        Assert.NotEqual(before, Dump());
        _ = ClinicLog.Open(file);
        Assert.Equal(before, Dump());
    }

    [Fact]
    public void Entries_AfterTheStory_AreItsEvents()
    {
        ClinicStory.Tell(log);
        Assert.Equal(
            ClinicStory.Commands.SelectMany(command => command).Select(Any.WriteOut),
            log.Entries().Select(entry => Any.WriteOut(entry.Event)));
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
