using System.Net;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Clinic;
using Incubation.Server.Hosting;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Configuration;
using NodaTime;

namespace Incubation.Server.Tests;

/// <summary>
/// The program as a service manager sees it: health, one process a file, stopping, faults at its start.
/// </summary>
public sealed class ServiceTest : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-service-").FullName;

    private string Data => Path.Combine(folder, "incubation.db");

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task Start_EmptyFolder_LiveReadyAndStopsAsAsked()
    {
        using var server = new ServiceProcess(Data);
        var (status, body) = await server.ReadyAsync();
        Assert.Equal(HttpStatusCode.OK, status);
        Assert.True(body.GetProperty("ok").GetBoolean(), body.ToString());
        Assert.Equal(["benches", "clock", "connections", "log", "planning", "record", "tables"],
            body.GetProperty("checks").EnumerateObject().Select(check => check.Name).Order());
        Assert.Equal(HttpStatusCode.OK, (await server.GetAsync("/health/live")).Status);

        Assert.Equal(0, await server.TerminateAsync());
        Assert.DoesNotContain("   at ", server.Output, StringComparison.Ordinal);
        using var file = DataFile.Open(Data);
    }

    [Fact]
    public async Task Health_AskedByTheProgramItself_SaysWhatTheServerSays()
    {
        string address;
        using (var server = new ServiceProcess(Data))
        {
            address = server.Address;
            await server.ReadyAsync();
            var everywhere = address.Replace("127.0.0.1", "*", StringComparison.Ordinal);
            var (status, said) = await HealthAsync("--urls", everywhere);
            Assert.Equal(0, status);
            Assert.StartsWith("""{"ok":true""", said, StringComparison.Ordinal);
        }

        var (gone, reason) = await HealthAsync("--urls", address);
        Assert.Equal(1, gone);
        Assert.StartsWith("No server answers at " + address, reason, StringComparison.Ordinal);
    }

    private static async Task<(int Status, string Said)> HealthAsync(params string[] settings)
    {
        using var output = new StringWriter();
        using var errors = new StringWriter();
        var configuration = new ConfigurationBuilder()
            .AddInMemoryCollection(ServerArguments.Read(["--health", .. settings]).Values).Build();
        var status = await HealthQuestion.AskAsync(configuration, output, errors);
        return (status, output.ToString() + errors);
    }

    [Fact]
    public async Task Start_SecondOnTheSameFile_RefusedUntilTheFirstIsGoneHoweverItWent()
    {
        using var first = new ServiceProcess(Data);
        await first.ReadyAsync();
        using (var second = new ServiceProcess(Data))
        {
            Assert.Equal(2, await second.ExitAsync());
            Assert.Contains("Another running copy", second.Output, StringComparison.Ordinal);
            Assert.DoesNotContain("   at ", second.Output, StringComparison.Ordinal);
        }

        await first.KillAsync();
        using var third = new ServiceProcess(Data);
        Assert.Equal(HttpStatusCode.OK, (await third.ReadyAsync()).Status);
    }

    [Fact]
    public async Task Start_ByAnotherNameOfTheFile_RefusedToo()
    {
        using var first = new ServiceProcess(Data);
        await first.ReadyAsync();
        var link = Path.Combine(folder, "link.db");
        File.CreateSymbolicLink(link, Data);
        using var second = new ServiceProcess(link);
        Assert.Equal(2, await second.ExitAsync());
        Assert.Contains("Another running copy", second.Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Start_ServerRunning_CanBeBackedUp()
    {
        using var server = new ServiceProcess(Data, null, "--demo", ServerFactory.DemoFolder);
        await server.ReadyAsync();
        var report = DataBackup.Make(Data, Path.Combine(folder, "copy.db"));
        Assert.Contains(report.Streams, stream => stream.Stream == "bench/bench-1");
    }

    [Fact]
    public async Task Start_FileWithTypo_RefusedWithSentence()
    {
        var config = Path.Combine(folder, "incubation.json");
        await File.WriteAllTextAsync(config, """{ "Incubation": { "Pase": 2, "SearchBudget": "much" } }""",
            TestContext.Current.CancellationToken);
        using var server = new ServiceProcess(Data, new Dictionary<string, string> { ["INCUBATION_CONFIG"] = config });
        Assert.Equal(2, await server.ExitAsync());
        Assert.Contains("Did you mean \"Incubation:Pace\"?", server.Output, StringComparison.Ordinal);
        Assert.Contains("\"much\"", server.Output, StringComparison.Ordinal);
        Assert.False(File.Exists(Data));
    }

    [Theory]
    [InlineData("a letter to the clinic")]
    [InlineData("")]
    public async Task Start_FileCutOffOrNone_SentenceOrNewFile(string content)
    {
        await File.WriteAllTextAsync(Data, content, TestContext.Current.CancellationToken);
        using var server = new ServiceProcess(Data);
        if (content.Length == 0)
        {
            Assert.Equal(HttpStatusCode.OK, (await server.ReadyAsync()).Status);
            return;
        }

        Assert.Equal(2, await server.ExitAsync());
        Assert.Contains("not a data file of this program", server.Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Start_TableThatItNeedsIsGone_RefusedWithItsName()
    {
        using (DataFile.Open(Data))
        {
        }
        using (var connection = new SqliteConnection($"Data Source={Data};Pooling=false"))
        {
            connection.Open();
            using var command = connection.CreateCommand();
            command.CommandText = "DROP TABLE Sessions";
            command.ExecuteNonQuery();
        }

        using var server = new ServiceProcess(Data);
        Assert.Equal(2, await server.ExitAsync());
        Assert.Contains("Sessions", server.Output, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", server.Output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Start_LastEventInTheFuture_NotReadyUntilAPersonConfirms()
    {
        var ahead = SystemClock.Instance.GetCurrentInstant() + Duration.FromHours(2);
        using (var file = DataFile.Open(Data))
            ClinicLog.Open(file).Record(
                new ClinicEvent.ClinicOpened("Invented clinic", "UTC"),
                new Provenance(new ReportId("begin"), ahead, ahead, new PersonId("aide"), new DeviceId("tablet-1")));
        using var server = new ServiceProcess(Data);

        var (status, body) = await server.ReadyAsync();

        Assert.Equal(HttpStatusCode.ServiceUnavailable, status);
        Assert.False(body.GetProperty("checks").GetProperty("clock").GetProperty("ok").GetBoolean());
        Assert.Contains("The time is in doubt", server.Output, StringComparison.Ordinal);
    }
}
