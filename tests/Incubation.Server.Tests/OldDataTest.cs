using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Records.Backup;
using Incubation.Records.Export;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Server.Tests;

/// <summary>
/// A data file that an earlier version made and was stopped on in the middle of a batch: it is whole, says what it said
/// then, and this version goes on with it.
/// </summary>
public sealed class OldDataTest
{
    /// <summary>Shortly after the earlier version was stopped, with a cartridge in the reader that is read.</summary>
    private static readonly Instant WhenGoneOnWith = Instant.FromUtc(2026, 3, 3, 9, 50);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public void OldData_VerifiedAndExported_IsWhatItWas()
    {
        using var old = new OldDataFile("clinic-1");
        var report = RecordCheck.Run(old.Path);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
        Assert.Equal("0332134c6d23285d", report.Key);
        Assert.Equal([("bench/bench-1", 605L), ("clinic", 167L)],
            report.Verdict.Streams.Select(stream => (stream.Stream, stream.Head.Sequence)));
        Assert.Equal(old.Csv, Export(old, "then.csv"));
    }

    [Fact]
    public async Task OldData_GoneOnWith_TakesReportsAndStaysWhole()
    {
        using var old = new OldDataFile("clinic-1");
        old.SetServerTime(WhenGoneOnWith);
        await using (var server =
            new ServerFactory { Settings = new Dictionary<string, string> { ["Incubation:Data"] = old.Path } })
        {
            using var client = server.ClientAs("lena");
            var found = await SnapshotAsync(client);
            Assert.Equal(9, found.GetProperty("batch").GetProperty("number").GetInt32());
            Assert.Equal("running", found.GetProperty("batch").GetProperty("phase").GetString());
            Assert.Equal(["R49", "R51"], found.GetProperty("slots").EnumerateArray().Take(2)
                .Select(slot => slot.GetProperty("request").GetString()));
            Assert.Equal("R50", found.GetProperty("readers")[0].GetProperty("request").GetString());
            var time = found.GetProperty("serverTime").GetString();
            await SendAsync(client,
                new
                {
                    id = "new-1",
                    kind = "cleared",
                    at = time,
                    stated = false,
                    device = "t",
                    request = "R50",
                    reader = 1
                });
            await SendAsync(client,
                new
                {
                    id = "new-2",
                    kind = "result",
                    at = time,
                    stated = false,
                    device = "t",
                    request = "R50",
                    value = "6.2",
                    shown = "SP-101"
                });
        }

        var report = RecordCheck.Run(old.Path);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
        var (before, after) = (Lines(old.Csv), Lines(Export(old, "after.csv")));
        Assert.Equal(before.Where(line => !IsOfLastBatch(line)), after.Where(line => !IsOfLastBatch(line)));
        Assert.Contains(after, line => IsOfLastBatch(line) && line.Contains(",R50,SP-101,", StringComparison.Ordinal)
            && line.Contains(",6.2,", StringComparison.Ordinal));
    }

    private static bool IsOfLastBatch(string line) => line.StartsWith("bench-1,9,", StringComparison.Ordinal);

    private static string[] Lines(string csv) => csv.Split("\r\n", StringSplitOptions.RemoveEmptyEntries);

    private static string Export(OldDataFile old, string name)
    {
        RecordExport.Run(old.Path, null, ExportForm.Csv, old.In(name));
        return old.AsThen(File.ReadAllText(old.In(name)));
    }

    private static async Task<JsonElement> SnapshotAsync(HttpClient client) =>
        await client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1", Cancel);

    private static async Task SendAsync(HttpClient client, object command)
    {
        using var answer = await client.PostAsJsonAsync("/api/v1/benches/bench-1/commands", command, Cancel);
        var text = await answer.Content.ReadAsStringAsync(Cancel);
        Assert.True(answer.IsSuccessStatusCode && JsonDocument.Parse(text).RootElement.GetProperty("recorded")
            .GetBoolean(), text);
    }
}
