using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Clinic;
using Incubation.Records.Instruments;
using Incubation.Records.Log;
using Microsoft.Data.Sqlite;
using NodaTime;
using Xunit;

namespace Incubation.Cli.Tests;

/// <summary>`verify-log` and `new-key` as a person types them.</summary>
public sealed class VerifyLogCommandTest : IDisposable
{
    private readonly Bench bench = new();

    private string Data => bench.PathOf("incubation.db");

    public void Dispose() => bench.Dispose();

    [Fact]
    public void VerifyLog_ServerRunning_SaysWhatWasVerified()
    {
        using var file = MakeData();
        Assert.Equal((ExitCode.Done, ""), (bench.Run("verify-log", Data), bench.Error));
        Assert.Contains("2 rows verified in 1 records", bench.Output, StringComparison.Ordinal);
        Assert.Contains("signed with the key", bench.Output, StringComparison.Ordinal);
        Assert.Matches("  clinic  2  [0-9a-f]{64}", bench.Output);
        Assert.EndsWith("The record is whole." + Environment.NewLine, bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void VerifyLog_WithoutTheKey_SaysWhatWouldNotBeFound()
    {
        MakeData().Dispose();
        File.Delete(bench.PathOf(SigningKey.FileName));
        Assert.Equal(ExitCode.NotChecked, bench.Run("verify-log", Data));
        Assert.Contains("Without the key", bench.Output, StringComparison.Ordinal);
        Assert.StartsWith("SIGNATURES WERE NOT CHECKED", bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("verify-log", Data, "--key", bench.PathOf("none.key")));
        Assert.Contains("no such file", bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void VerifyLog_PositionsOfTheTablesGone_SaysThatTheTablesWereNotCompared()
    {
        MakeData().Dispose();
        Tamper("DELETE FROM Projections; UPDATE Clinic SET Name = 'Another clinic'");
        Assert.Equal(ExitCode.Done, bench.Run("verify-log", Data));
        Assert.Contains("Not compared", bench.Output, StringComparison.Ordinal);
        Assert.EndsWith("whether they agree is not known." + Environment.NewLine, bench.Output,
            StringComparison.Ordinal);
    }

    [Fact]
    public void VerifyLog_TailCut_NamesTheRow()
    {
        MakeData().Dispose();
        Tamper(
            "DROP TRIGGER EventHeaders_NoDelete; DROP TRIGGER EventPayloads_NoDelete; DELETE FROM EventPayloads WHERE "
            + "Sequence = 2; DELETE FROM EventHeaders WHERE Sequence = 2");
        Assert.Equal(ExitCode.RuleBroken, bench.Run("verify-log", Data));
        Assert.Contains("'clinic' is broken at row 2: rows were cut off the end", bench.Error,
            StringComparison.Ordinal);
        Assert.Contains("'EventPayloads_NoDelete'", bench.Error, StringComparison.Ordinal);
        Assert.DoesNotContain("is whole", bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void VerifyLog_HeadGiven_IsLookedFor()
    {
        string note;
        using (var file = MakeData())
            note = file.Log.Note(StreamName.Clinic, 2).ToString();
        Assert.Equal(ExitCode.Done, bench.Run("verify-log", Data, "--head", note));
        Assert.Contains("Head of 'clinic', row 2: it is in the record and was signed with its key.", bench.Output,
            StringComparison.Ordinal);
        Assert.Equal(ExitCode.RuleBroken,
            bench.Run("verify-log", Data, "--head", note.Replace("clinic 2", "clinic 3", StringComparison.Ordinal)));
        Assert.Contains("the record has no such row", bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("verify-log", Data, "--head", "clinic 2"));
        Assert.Contains("'clinic 2' is not a head", bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void VerifyLog_NoFile_RefusedWithSentence()
    {
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("verify-log", Data));
        Assert.Contains("no such file", bench.Error, StringComparison.Ordinal);
    }

    /// <summary>The bytes of an instrument's messages lie beside the log, which has their fingerprints.</summary>
    [Fact]
    public void VerifyLog_MessagesOfAnInstrumentChanged_NamesEach()
    {
        using (var file = MakeData())
            TakeMessages(file);
        Assert.Equal(ExitCode.Done, bench.Run("verify-log", Data));
        Tamper("UPDATE WireMessages SET Bytes = x'00' WHERE Number = 1; DELETE FROM WireMessages WHERE Number = 2; "
            + "INSERT INTO WireMessages (Number, Bytes) VALUES (9, x'01')");

        Assert.Equal(ExitCode.RuleBroken, bench.Run("verify-log", Data));
        Assert.Contains("Message 1 of an instrument: its bytes are not those that came", bench.Error,
            StringComparison.Ordinal);
        Assert.Contains("Message 2 of an instrument: its bytes are gone", bench.Error, StringComparison.Ordinal);
        Assert.DoesNotContain("Message 3", bench.Error, StringComparison.Ordinal);
        Assert.Contains("Message 9 of an instrument: the log does not know", bench.Error, StringComparison.Ordinal);
        Assert.DoesNotContain("is whole", bench.Output, StringComparison.Ordinal);
    }

    private static void TakeMessages(DataFile file)
    {
        var at = Instant.FromUtc(2026, 3, 2, 9, 0);
        Provenance Provenance(string id) =>
            new(new ReportId(id), at, at, new PersonId("aide"), new DeviceId("tablet-1"));
        var clinic = ClinicLog.Open(file);
        Assert.IsType<ClinicOutcome.Recorded>(clinic.Record(new ClinicEvent.InstrumentSet(Instrument.IdOf(1),
            new InstrumentLink("Reader", new BenchId("bench-1"), new ReaderNumber(1),
                new WireTransport.Tcp("127.0.0.1", 5000, ["127.0.0.1"]), WireEncoding.Utf8,
                [new ReaderTest("DA", new AssayCode("DA"), "mg/L")], OnlyListens: true)), Provenance("set")));
        var store = new WireStore(file, clinic);
        for (var number = 1; number <= 3; number++)
            Assert.Equal(number, store.Take(new WireArrival(Instrument.IdOf(1), $"a{number}"), 0,
                new[] { (byte)number }, isWhole: true, (_, _) => false, Provenance($"message-{number}")));
    }

    [Fact]
    public void NewKey_KeyLost_RecordIsWholeAgain()
    {
        MakeData().Dispose();
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("new-key", Data));
        Assert.Contains("already exists", bench.Error, StringComparison.Ordinal);
        File.Delete(bench.PathOf(SigningKey.FileName));
        Assert.Equal((ExitCode.Done, ""), (bench.Run("new-key", Data), bench.Error));
        Assert.Equal(ExitCode.Done, bench.Run("verify-log", Data));
        Assert.Contains("3 rows verified", bench.Output, StringComparison.Ordinal);
    }

    private void Tamper(string sql)
    {
        using var connection = new SqliteConnection($"Data Source={Data};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    private DataFile MakeData()
    {
        var file = DataFile.Open(Data);
        var at = Instant.FromUtc(2026, 3, 2, 8, 0);
        Provenance Provenance(string id) =>
            new(new ReportId(id), at, at, new PersonId("aide"), new DeviceId("tablet-1"));
        var clinic = ClinicLog.Open(file);
        clinic.Record(new ClinicEvent.ClinicOpened("Invented clinic", "UTC"), Provenance("begin"));
        clinic.Record(new ClinicEvent.BenchRegistered(new BenchId("bench-1"), "Bench 1"), Provenance("bench"));
        return file;
    }
}
