using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Clinic;
using Incubation.Service.Hosting;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using Microsoft.Extensions.Logging.Abstractions;
using NodaTime;

namespace Incubation.Service.Tests.Hosting;

/// <summary>The record is verified behind a quick start.</summary>
public sealed class RecordWatchTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-record-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Theory]
    [InlineData(false, HealthStatus.Healthy)]
    [InlineData(true, HealthStatus.Unhealthy)]
    public async Task Verify_RecordAltered_NotReady(bool altered, HealthStatus expected)
    {
        var path = Path.Combine(folder, "incubation.db");
        var at = Instant.FromUtc(2026, 3, 2, 8, 0);
        using (var made = DataFile.Open(path))
            ClinicLog.Open(made).Record(
                new ClinicEvent.ClinicOpened("Invented clinic", "UTC"),
                    new Provenance(new ReportId("begin"), at, at, new PersonId("aide"), new DeviceId("tablet-1")));
        if (altered)
            Alter(path);
        using var file = DataFile.Open(path);
        using var watch = new RecordWatch(file, NullLogger<RecordWatch>.Instance);

        watch.Verify();

        var health = await watch.CheckHealthAsync(new HealthCheckContext(), TestContext.Current.CancellationToken);
        Assert.Equal(expected, health.Status);
        Assert.Equal(altered, health.Description?.Contains("'clinic' is broken at row 1", StringComparison.Ordinal)
            ?? false);
    }

    [Theory]
    [InlineData("CREATE TRIGGER more AFTER INSERT ON EventHeaders BEGIN DELETE FROM Uses; END", "trigger 'more'")]
    [InlineData("CREATE VIEW more AS SELECT * FROM Lots", "view 'more'")]
    public async Task Verify_TriggerOrViewAdded_NotReady(string statement, string name)
    {
        var path = Path.Combine(folder, "incubation.db");
        DataFile.Open(path).Dispose();
        Run(path, statement);
        using var file = DataFile.Open(path);
        using var watch = new RecordWatch(file, NullLogger<RecordWatch>.Instance);

        watch.Verify();

        var health = await watch.CheckHealthAsync(new HealthCheckContext(), TestContext.Current.CancellationToken);
        Assert.Equal(HealthStatus.Unhealthy, health.Status);
        Assert.Contains(name, health.Description, StringComparison.Ordinal);
    }

    private static void Alter(string path) => Run(path,
        "DROP TRIGGER EventPayloads_NoUpdate; UPDATE EventPayloads SET Json = replace(Json, 'Invented', 'Real')");

    private static void Run(string path, string statements)
    {
        using var connection = new SqliteConnection($"Data Source={path};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = statements;
        command.ExecuteNonQuery();
    }
}
