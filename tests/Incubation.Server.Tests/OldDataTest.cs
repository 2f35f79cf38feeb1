using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Backup;
using Incubation.Records.Export;
using Incubation.Service.Clinic;
using Incubation.TestKit;
using Microsoft.Extensions.DependencyInjection;
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

    /// <summary>While the load that its hands were called away from would still be of use.</summary>
    private static readonly Instant WhenTheLoadWasLeft = Instant.FromUtc(2026, 6, 9, 7, 22);

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Theory]
    [InlineData("clinic-1", "0332134c6d23285d", 605, 167)]
    [InlineData("clinic-3", "0296873d11c28227", 1398, 258)]
    public void OldData_VerifiedAndExported_IsWhatItWas(string name, string key, long bench, long clinic)
    {
        using var old = new OldDataFile(name);
        AssertWhole(old, out var report);
        Assert.Equal(key, report.Key);
        Assert.Equal([("bench/bench-1", bench), ("clinic", clinic)],
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

        AssertWhole(old, out _);
        var (before, after) = (Lines(old.Csv), Lines(Export(old, "after.csv")));
        Assert.Equal(before.Where(line => !IsOfLastBatch(line)), after.Where(line => !IsOfLastBatch(line)));
        Assert.Contains(after, line => IsOfLastBatch(line) && line.Contains(",R50,SP-101,", StringComparison.Ordinal)
            && line.Contains(",6.2,", StringComparison.Ordinal));
    }

    [Fact]
    public async Task OldDataLeftInTheMiddleOfALoad_GoneOnWith_KnowsWhatHadHappenedAndTakesReports()
    {
        using var old = new OldDataFile("clinic-3");
        old.SetServerTime(WhenTheLoadWasLeft);
        await using (var server =
            new ServerFactory { Settings = new Dictionary<string, string> { ["Incubation:Data"] = old.Path } })
        {
            using var client = server.ClientAs("lena");
            var found = await SnapshotAsync(client);
            Assert.Equal((20, "running"), (found.GetProperty("batch").GetProperty("number").GetInt32(),
                found.GetProperty("batch").GetProperty("phase").GetString()));
            Assert.Equal(["R131", "R135", "R130"], found.GetProperty("slots").EnumerateArray().Take(3)
                .Select(slot => slot.GetProperty("request").GetString()));
            // A clock that stood at 1970: nobody has said yet when that mix was.
            Assert.Contains(found.GetProperty("questions").EnumerateArray(), question => question.GetProperty("id")
                .GetString() == "when-done/1d18867aa5ac4e788a17e8b39b751200");
            Assert.Equal("set-aside", found.GetProperty("notPlanned").EnumerateArray()
                .Single(row => row.GetProperty("request").GetString() == "T9").GetProperty("cause").GetString());
            var away = Assert.Single(found.GetProperty("means").GetProperty("outOfUse").EnumerateArray());
            Assert.Equal("An emergency next door.", away.GetProperty("why").GetString());
            var clinic = server.Services.GetRequiredService<ClinicHost>().Log;
            Assert.Equal("R01", Assert.Single(clinic.LateReports.Waiting).Report.Request.Value);
            var settled = clinic.LateReports.Of(new BenchId("bench-1"), 19).Single(late => late.Decision is not null);
            Assert.Equal(("R06", LateReportDecision.Noted),
                (settled.Report.Request.Value, settled.Decision!.Settled.Decision));
            var passkey = Assert.Single(clinic.People.Passkeys.Of(new PersonId("ines")));
            Assert.Equal(("Work phone", "localhost"), (passkey.Name, passkey.Added.Domain));

            var at = found.GetProperty("serverTime").GetString();
            await SendAsync(client,
                new
                {
                    id = "new-1",
                    kind = "in-use",
                    at,
                    stated = false,
                    device = "t",
                    resource = "hands",
                    number = 1
                });
            await SendAsync(client,
                new
                {
                    id = "new-2",
                    kind = "loaded",
                    at,
                    stated = false,
                    device = "t",
                    request = "R134",
                    slot = 4
                });
        }

        AssertWhole(old, out _);
        var after = Lines(Export(old, "after.csv"));
        Assert.Equal(Lines(old.Csv).Where(line => !line.StartsWith("bench-1,20,", StringComparison.Ordinal)),
            after.Where(line => !line.StartsWith("bench-1,20,", StringComparison.Ordinal)));
        Assert.Contains("discarded", Assert.Single(after, line => line.StartsWith("bench-1,19,R10,",
            StringComparison.Ordinal)), StringComparison.Ordinal);
    }

    private static void AssertWhole(OldDataFile old, out RecordReport report)
    {
        report = RecordCheck.Run(old.Path);
        Assert.True(report.IsWhole, string.Join('\n', report.Verdict.Faults.Select(fault => fault.Message)));
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
