using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Service.Tests.Support;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using NodaTime;

namespace Incubation.Service.Tests.Record;

/// <summary>The server compares its tables with the record, says what differs, and rebuilds it when told to.</summary>
public sealed class TableWatchTest : IDisposable
{
    private static readonly Instant At = Instant.FromUtc(2026, 3, 2, 8, 0);

    private readonly string folder = Directory.CreateTempSubdirectory("incubation-tables-").FullName;
    private readonly DataFile file;
    private readonly ClinicHost clinic;
    private readonly TableWatch watch;
    private readonly RecordCheckService desk;

    public TableWatchTest()
    {
        file = DataFile.Open(Path.Combine(folder, "incubation.db"));
        clinic = new ClinicHost(file);
        clinic.Log.Record([new ClinicEvent.ClinicOpened("Invented clinic", "UTC"),
            new ClinicEvent.BenchRegistered(new BenchId("bench-1"), "Bench 1")],
            new Provenance(new ReportId("begin"), At, At, new PersonId("aide"), new DeviceId("tablet-1")));
        var book = new CartridgeProjection(file, clinic.Log.Amended);
        var clock = new BenchClock(new FakeTimeProvider(At.ToDateTimeOffset()), 1);
        watch = new TableWatch(file, book, clinic, clock, NullLogger<TableWatch>.Instance);
        desk = new RecordCheckService(file, book, watch, clock);
    }

    public void Dispose()
    {
        watch.Dispose();
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Compare_TableChanged_IsNotReadyUntilAnAdministratorRebuilds()
    {
        var pieces = 0;
        watch.Compare(_ => pieces++, Stop);
        Assert.True(pieces > 0);
        Assert.Equal(HealthStatus.Healthy, (await HealthAsync()).Status);
        Assert.Equal((At, 0L), (watch.Last!.At, watch.Last.Verdict.Count));

        Alter("UPDATE Benches SET Name = 'Another bench'");
        watch.Compare(stop: Stop);
        var health = await HealthAsync();
        Assert.Equal(HealthStatus.Unhealthy, health.Status);
        // What stands in a row is for administrators.
        Assert.Contains("Benches", health.Description, StringComparison.Ordinal);
        Assert.DoesNotContain("Another", health.Description, StringComparison.Ordinal);
        var difference = Assert.Single(desk.Differences);
        Assert.Equal(("Benches", "bench-1", "Name", "Another bench", "Bench 1"),
            (difference.Table, difference.Row, difference.Column, difference.Stored, difference.Replayed));

        Assert.False(desk.Rebuild(StockHouse.Somebody(Role.Supervisor)).IsDone);
        Assert.False(desk.Compare(StockHouse.Somebody(Role.Supervisor)).IsDone);
        Assert.Equal(HealthStatus.Unhealthy, (await HealthAsync()).Status);

        Assert.True(desk.Rebuild(StockHouse.Somebody(Role.Administrator)).IsDone);
        Assert.Equal(HealthStatus.Healthy, (await HealthAsync()).Status);
        Assert.Empty(desk.Differences);
        var entry = clinic.Log.Entries().Last();
        Assert.Equal(["Benches"], Assert.IsType<ClinicEvent.TablesRebuilt>(entry.Event).Tables);
        Assert.True(desk.Compare(StockHouse.Somebody(Role.Administrator)).IsDone);
        Assert.Equal(0, watch.Last.Verdict.Count);
    }

    [Fact]
    public async Task Compare_LogBroken_SaysThat()
    {
        Alter("DROP TRIGGER EventPayloads_NoUpdate; UPDATE EventPayloads SET Json = replace(Json, 'Bench 1', 'B')");
        watch.Compare(stop: Stop);
        var health = await HealthAsync();
        Assert.Equal(HealthStatus.Unhealthy, health.Status);
        Assert.Contains("'clinic' is broken at row 2", health.Description, StringComparison.Ordinal);
    }

    [Fact]
    public void EraseCopies_OldOne_GoesAndTheRecordSaysSo()
    {
        var copy = Path.Combine(folder, "incubation.replaced-20250101T000000Z.db");
        File.WriteAllText(copy + ".part", "");
        File.SetLastWriteTimeUtc(copy + ".part", (At - Duration.FromDays(3)).ToDateTimeUtc());
        Assert.Single(desk.Copies());
        watch.EraseCopies();
        Assert.Empty(desk.Copies());
        Assert.Equal(["incubation.replaced-20250101T000000Z.db.part"],
            Assert.IsType<ClinicEvent.CopiesErased>(clinic.Log.Entries().Last().Event).Files);
    }

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    private Task<HealthCheckResult> HealthAsync() =>
        watch.CheckHealthAsync(new HealthCheckContext(), Stop);

    private void Alter(string statements)
    {
        using var connection = new SqliteConnection($"Data Source={file.Path};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = statements;
        command.ExecuteNonQuery();
    }
}
