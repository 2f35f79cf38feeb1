using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Simulation;
using NodaTime;
using Xunit;

namespace Incubation.Cli.Tests;

/// <summary>
/// Commands on the record as a person types them. The clinic, its assay and its specimens are invented.
/// </summary>
public sealed class RecordCommandsTest : IDisposable
{
    private static readonly BenchId Id = new("bench-1");
    private readonly Bench bench = new();

    private string Data => bench.PathOf("incubation.db");

    public void Dispose() => bench.Dispose();

    [Fact]
    public void Export_ServerRunning_WritesBothForms()
    {
        using var file = MakeData();
        Assert.Equal((ExitCode.Done, ""), (bench.Run("export", Data, "--to", bench.PathOf("all.csv")), bench.Error));
        Assert.Contains("lines: 3", bench.Output, StringComparison.Ordinal);
        var lines = File.ReadAllText(bench.PathOf("all.csv")).Split("\r\n");
        Assert.StartsWith("\"bench\",\"batch\",\"request\"", lines[0], StringComparison.Ordinal);
        Assert.Contains(",\"SP-R1\",", lines[1], StringComparison.Ordinal);
        Assert.Contains("T09:00:00+01:00", lines[1], StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, bench.Run("export", Data, "--to", bench.PathOf("all.jsonl"), "--form", "jsonl"));
        Assert.Equal(file.Log.Streams().Sum(stream => file.Log.Head(stream).Sequence),
            File.ReadAllLines(bench.PathOf("all.jsonl")).Length);
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("export", Data, "--to", bench.PathOf("all.csv")));
        Assert.Contains("already exists", bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void EraseRecord_NumberNotConfirmed_NothingGoes()
    {
        MakeData().Dispose();
        Assert.Equal((ExitCode.Done, ""), (bench.Run(At(2026, 3), "erase-record", Data), bench.Error));
        Assert.Contains("due to be erased: 1 batches with 2 cartridges", bench.Output, StringComparison.Ordinal);
        Assert.Contains("--confirm 1", bench.Output, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood, bench.Run(At(2026, 3), "erase-record", Data, "--confirm", "2"));
        Assert.Contains("you confirmed 2 batches, but 1 are due", bench.Error, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, bench.Run(At(2025, 12), "erase-record", Data));
        Assert.Contains("there is nothing to erase", bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void EraseRecord_Confirmed_IsGoneAndTheRecordIsWhole()
    {
        MakeData().Dispose();
        Assert.Equal((ExitCode.Done, ""),
            (bench.Run(At(2026, 3), "erase-record", Data, "--confirm", "1"), bench.Error));
        Assert.Contains("Erased: bench-1, batches 1 to 1, cartridges 2.", bench.Output, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, ""), (bench.Run("verify-log", Data), bench.Error));
        bench.Run("export", Data, "--to", bench.PathOf("all.csv"));
        Assert.Contains("lines: 1", bench.Output, StringComparison.Ordinal);
        Assert.Equal(ExitCode.Done, bench.Run(At(2026, 3), "erase-record", Data));
        Assert.Contains("there is nothing to erase", bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void RebuildProjections_TableChanged_IsNamedAndRebuiltAndVerifyLogIsSatisfied()
    {
        MakeData().Dispose();
        Assert.Equal((ExitCode.Done, ""), (bench.Run("verify-log", Data), bench.Error));
        Assert.Contains("They agree.", bench.Output, StringComparison.Ordinal);
        using (var connection = new Microsoft.Data.Sqlite.SqliteConnection($"Data Source={Data};Pooling=false"))
        {
            connection.Open();
            using var command = connection.CreateCommand();
            command.CommandText = "UPDATE Clinic SET Name = 'Another clinic'";
            Assert.Equal(1, command.ExecuteNonQuery());
        }

        Assert.Equal(ExitCode.RuleBroken, bench.Run("verify-log", Data));
        Assert.Contains("Table Clinic, row '1': Name is 'Another clinic', but the record says", bench.Error,
            StringComparison.Ordinal);
        Assert.Contains("rebuild-projections", bench.Error, StringComparison.Ordinal);
        // A backup is made all the same: what counts in it is the record.
        Assert.Equal(ExitCode.RuleBroken, bench.Run("backup", Data, "--to", bench.PathOf("backup.db")));
        Assert.True(File.Exists(bench.PathOf("backup.db")));
        Assert.Equal(ExitCode.Done, bench.Run("rebuild-projections", Data));
        Assert.Contains("Rebuilt from the record", bench.Output, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, ""), (bench.Run("verify-log", Data), bench.Error));
        Assert.Equal((ExitCode.Done, ""), (bench.Run("rebuild-projections", Data), bench.Error));
        Assert.Contains("They agree.", bench.Output, StringComparison.Ordinal);
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("rebuild-projections", bench.PathOf("nowhere.db")));
    }

    [Fact]
    public void Copies_LeftBeside_AreListedAndErasedWhereTheyAreOld()
    {
        MakeData().Dispose();
        Assert.Equal((ExitCode.Done, ""), (bench.Run("copies", Data), bench.Error));
        Assert.Contains("No copies beside", bench.Output, StringComparison.Ordinal);
        var copy = bench.PathOf("incubation.replaced-20250101T000000Z.db");
        File.Copy(Data, copy);
        // Times of files are finer than milliseconds.
        File.SetLastWriteTimeUtc(copy, new DateTime(2025, 11, 1, 0, 0, 0, DateTimeKind.Utc).AddTicks(1_234_567));
        Assert.Equal((ExitCode.Done, ""), (bench.Run(At(2025, 12), "copies", Data, "--erase"), bench.Error));
        Assert.Contains("kept for now", bench.Output, StringComparison.Ordinal);
        Assert.Contains("Copies erased: 0", bench.Output, StringComparison.Ordinal);
        Assert.Equal((ExitCode.Done, ""), (bench.Run(At(2026, 3), "copies", Data), bench.Error));
        Assert.Contains("replaced by a restore", bench.Output, StringComparison.Ordinal);
        Assert.Contains("to be erased", bench.Output, StringComparison.Ordinal);
        Assert.True(File.Exists(copy));
        Assert.Equal((ExitCode.Done, ""), (bench.Run(At(2026, 3), "copies", Data, "--erase"), bench.Error));
        Assert.Contains("Copies erased: 1", bench.Output, StringComparison.Ordinal);
        Assert.False(File.Exists(copy));
    }

    [Fact]
    public void RebuildAndCopies_KeyMoved_IsFoundByTheServicesSettings()
    {
        MakeData().Dispose();
        var key = bench.PathOf("moved.key");
        File.Move(SigningKey.PathBeside(Data), key);
        var settings = bench.Write("incubation.json",
            JsonSerializer.Serialize(new { Incubation = new { Data, RecordKey = key } }));
        foreach (var command in new[] { new[] { "rebuild-projections", Data }, ["copies", Data, "--erase"] })
        {
            Assert.Equal((ExitCode.Done, ""), (bench.Run([.. command, "--config", settings]), bench.Error));
            Assert.Equal((ExitCode.Done, ""), (bench.Run([.. command, "--key", key]), bench.Error));
            Assert.Equal(ExitCode.NotUnderstood, bench.Run([.. command, "--key", bench.PathOf("none.key")]));
        }
    }

    [Fact]
    public void EraseRecord_NoFile_RefusedWithSentence()
    {
        Assert.Equal(ExitCode.NotUnderstood, bench.Run("erase-record", Data));
        Assert.Contains("no such file", bench.Error, StringComparison.Ordinal);
        Assert.Empty(bench.Files);
    }

    private static Still At(int year, int month) => new(new DateTimeOffset(year, month, 1, 0, 0, 0, TimeSpan.Zero));

    /// <summary>A clock that stands.</summary>
    private sealed class Still(DateTimeOffset at) : TimeProvider
    {
        public override DateTimeOffset GetUtcNow() => at;
    }

    private DataFile MakeData()
    {
        var file = DataFile.Open(Data);
        var day = Instant.FromUtc(2024, 1, 10, 8, 0);
        var number = 0;
        Provenance Provenance(Instant at) =>
            new(new ReportId($"t{++number}"), at, at, new PersonId("aide"), new DeviceId("tablet-1"));
        var clinic = ClinicLog.Open(file);
        clinic.Record([new ClinicEvent.ClinicOpened("Invented clinic", "Europe/Berlin"),
            new ClinicEvent.BenchRegistered(Id, "Bench 1")], Provenance(day));
        var assay = new Assay(
            new AssayCode("A"), "Invented assay", IncubationPlace.Incubator, Duration.FromSeconds(50),
                Duration.FromMinutes(2), Duration.FromSeconds(25), Duration.FromMinutes(3),
            Duration.FromSeconds(90), Duration.FromSeconds(15), Duration.FromSeconds(40), Duration.FromSeconds(10),
                Duration.FromSeconds(35), Duration.FromSeconds(15));
        BenchRequest Request(string id) => new(
            new Request(new RequestId(id), new SpecimenId("SP-" + id), assay.Code, new LotCode("A-L1"), day,
                RequestKind.Patient, true, Priority.Routine, null, null, []), assay, 1, "mg/L");
        var open = new BenchCommand.OpenBench(Id, "Bench 1",
            new BenchSetup(1, 8, 1, Duration.FromSeconds(25), Duration.FromSeconds(15), 0), Duration.FromSeconds(20));
        var run = SimulatedDay.Run(open, [Request("R1"), Request("R2")], day, 1, new RandomStepLengths(),
            () => new IterationBudget(20)).Entries;
        var closed = new BenchEntry(new BenchEvent.BatchClosed(1), Provenance(run[^1].Provenance.Arrived));
        var streams = new BenchStreams(file);
        foreach (var command in run.Append(closed).GroupBy(entry => entry.Provenance.Id))
            streams.Append(Id, file.Log.Head(StreamName.OfBench(Id)).Sequence, [.. command]);
        return file;
    }
}
