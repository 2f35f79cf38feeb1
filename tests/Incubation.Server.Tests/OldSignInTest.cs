using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Records.Backup;
using Incubation.Records.Export;
using Incubation.TestKit;
using Microsoft.Data.Sqlite;
using NodaTime;

namespace Incubation.Server.Tests;

/// <summary>
/// A data file of the version that kept hashes and sign-ins as they were: it is whole, says what it said then, and
/// everybody goes on with the password, PIN and tablet that they had.
/// </summary>
public sealed class OldSignInTest : IDisposable
{
    /// <summary>What the tablet was given when it was enrolled in the sample.</summary>
    private const string Tablet = "tablet-89e2ca97.J0YYC_lGkGPZrbmLeRA3eeGgDTfj-2V4ul6ylW15uRY";

    private static readonly Instant WhenGoneOnWith = Instant.FromUtc(2026, 3, 10, 9, 51);
    private readonly OldDataFile old = new("clinic-2");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => old.Dispose();

    [Fact]
    public void OldSignIns_VerifiedAndExported_AreWhatTheyWere()
    {
        var report = RecordCheck.Run(old.Path);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
        Assert.Equal("413dc4689e2c982d", report.Key);
        Assert.Equal([("bench/bench-1", 1434L), ("clinic", 257L)],
            report.Verdict.Streams.Select(stream => (stream.Stream, stream.Head.Sequence)));
        Assert.Equal(old.Csv, Export("then.csv"));
    }

    [Fact]
    public async Task OldSignIns_GoneOnWith_EverybodySignsInAsBefore()
    {
        old.SetServerTime(WhenGoneOnWith);
        await using (var server = Server())
        {
            foreach (var (person, password) in SignIn.Passwords)
                Assert.Equal(person, await WhoAsync(server, person, password));
            using var stranger = server.CreateClient();
            using (await SignIn.ByPasswordAsync(stranger, "lena", "not her password", Cancel))
                Assert.False((await stranger.GetAsync(new Uri("/api/v1/who", UriKind.Relative), Cancel))
                    .IsSuccessStatusCode);
            Assert.True(await PinAsync(server, "274913"));
            Assert.False(await PinAsync(server, "274914"));
            using var client = server.ClientAs("ines");
            var bench = await client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1", Cancel);
            Assert.Equal((20, "running"), (bench.GetProperty("batch").GetProperty("number").GetInt32(),
                bench.GetProperty("batch").GetProperty("phase").GetString()));
            Assert.Equal(["R129", "R131", "R134", "R132"], bench.GetProperty("slots").EnumerateArray()
                .Select(slot => slot.GetProperty("request").GetString()).OfType<string>());
        }

        var report = RecordCheck.Run(old.Path);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
        Assert.Equal(0L, Scalar("SELECT COUNT(*) FROM Secrets WHERE Seal IS NULL OR Hash NOT LIKE 'aes-256-gcm-1$%'"));
        Assert.True(Scalar("SELECT COUNT(*) FROM Secrets") >= 10);
        Assert.Equal(1L, Scalar("SELECT COUNT(*) FROM EventHeaders WHERE EventType = 'record-sealed'"));
        Assert.Equal(ClosedOf(old.Csv), ClosedOf(Export("after.csv")));
    }

    [Fact]
    public async Task SignIn_HashReplacedInTheFile_IsRefusedAndTheServiceIsUnwell()
    {
        old.SetServerTime(WhenGoneOnWith);
        await using var server = Server();
        Assert.Equal("mara", await WhoAsync(server, "mara", SignIn.Passwords["mara"]));
        Scalar("UPDATE Secrets SET Hash = (SELECT Hash FROM Secrets WHERE Owner = 'lena' AND Kind = 'Password') "
            + "WHERE Owner = 'mara' AND Kind = 'Password' RETURNING 1");
        foreach (var password in new[] { SignIn.Passwords["mara"], SignIn.Passwords["lena"] })
        {
            using var stranger = server.CreateClient();
            using var answer = await SignIn.ByPasswordAsync(stranger, "mara", password, Cancel);
            using var who = await stranger.GetAsync(new Uri("/api/v1/who", UriKind.Relative), Cancel);
            Assert.Equal(HttpStatusCode.Unauthorized, who.StatusCode);
        }

        using var client = server.CreateClient();
        using var health = await client.GetAsync(new Uri("/health/ready", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, health.StatusCode);
        Assert.Contains(RecordCheck.Run(old.Path).Verdict.Faults, fault => fault.Stream == "Secrets: mara, Password");
    }

    private ServerFactory Server() =>
        new() { Settings = new Dictionary<string, string> { ["Incubation:Data"] = old.Path } };

    private static async Task<string?> WhoAsync(ServerFactory server, string person, string password)
    {
        using var client = server.CreateClient();
        using var answer = await SignIn.ByPasswordAsync(client, person, password, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var who = await client.GetFromJsonAsync<JsonElement>("/api/v1/who", Cancel);
        return who.GetProperty("person").GetString();
    }

    private static async Task<bool> PinAsync(ServerFactory server, string pin)
    {
        using var client = server.ClientWith("incubation-device=" + Tablet);
        using var answer = await client.PostAsJsonAsync("/api/v1/tablet/pin", new { person = "lena", pin }, Cancel);
        return JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancel)).RootElement.GetProperty("done")
            .GetBoolean();
    }

    private string Export(string name)
    {
        RecordExport.Run(old.Path, null, ExportForm.Csv, old.In(name));
        return old.AsThen(File.ReadAllText(old.In(name)));
    }

    private long Scalar(string sql)
    {
        using var connection = new SqliteConnection($"Data Source={old.Path};Pooling=false");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        return (long)command.ExecuteScalar()!;
    }

    private static IEnumerable<string> ClosedOf(string csv) =>
        csv.Split("\r\n").Where(line => !line.StartsWith("bench-1,20,", StringComparison.Ordinal));
}
