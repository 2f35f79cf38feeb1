using System.Collections.Immutable;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Decisions;
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

    /// <summary>After the last batch was closed.</summary>
    private static readonly Instant WhenAHeldControlHadBeenJudged = Instant.FromUtc(2026, 11, 16, 15, 30);

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

    /// <summary>
    /// A control that was held, and that the version before judged all the same: it is set aside at the first start, by
    /// an event of that day which names the changed rule; nothing past is rewritten, and what went out is reviewed.
    /// </summary>
    [Fact]
    public async Task OldDataWithAHeldControlThatWasJudged_Opened_IsHeldAgainstTheRuleOnce()
    {
        using var old = new OldDataFile("clinic-4");
        AssertWhole(old, out var before);
        Assert.Equal([("bench/bench-1", 1721), ("clinic", 237)],
            before.Verdict.Streams.Select(stream => (stream.Stream, stream.Head.Sequence)));
        var first = await StartAsync(WhenAHeldControlHadBeenJudged);
        await LetGoAsync(old);
        var second = await StartAsync(WhenAHeldControlHadBeenJudged + Duration.FromHours(1));
        Assert.Equal(first.Judged.Select(run => (run.Request, run.Verdict, run.Cause, run.JudgedAt)),
            second.Judged.Select(run => (run.Request, run.Verdict, run.Cause, run.JudgedAt)));
        // That Ines has signed in, each time.
        Assert.Equal((237 + 3, 237 + 4), (first.Told, second.Told));
        AssertWhole(old, out _);

        // The demo has nothing more to bring: else it would write the rest of its month first.
        async Task<(ImmutableArray<ControlRun> Judged, long Told)> StartAsync(Instant at)
        {
            var demo = Directory.CreateDirectory(old.In("demo")).FullName;
            await File.WriteAllTextAsync(Path.Combine(demo, "clinic.json"),
                """{"name":"Invented","zone":"Europe/Berlin","benches":[],"assays":[],"lots":[]}""", Cancel);
            old.SetServerTime(at);
            await using var server = new ServerFactory
            {
                Settings = new Dictionary<string, string>
                {
                    ["Incubation:Data"] = old.Path,
                    ["Incubation:Demo"] = demo,
                },
            };
            using var client = server.ClientAs("ines");
            await SnapshotAsync(client);
            var (file, log) = (server.Services.GetRequiredService<DataFile>(),
                server.Services.GetRequiredService<ClinicHost>().Log);
            Assert.All(before.Verdict.Streams, stream => Assert.True(StreamName.TryParse(stream.Stream, out var name)
                && stream.Head.Hash.ToString().StartsWith(file.Log.Note(name, stream.Head.Sequence).Hash,
                    StringComparison.Ordinal)));
            Assert.Equal(1, log.Controls.JudgedByRule);
            var changed = Assert.Single(log.Controls.AllLatest, run => run.Cause == JudgementCause.RuleChanged);
            Assert.Equal(("M0055", ControlVerdict.SetAside), (changed.Request.Value, changed.Verdict));
            Assert.True(changed.JudgedAt >= WhenAHeldControlHadBeenJudged);
            var history = log.Controls.Of(changed.Lot);
            Assert.Equal(ControlVerdict.Accepted, history.Runs.First(run => run.Request == changed.Request).Verdict);
            Assert.Equal(changed.Bench, Assert.Single(history.AwaitingReview).Key);
            var decisions = server.Services.GetRequiredService<DecisionList>().For(ServerFactory.Administrator);
            Assert.Contains(decisions, line => line.Kind == DecisionKind.ReleasedToReview);
            Assert.Contains(decisions, line => line.Kind == DecisionKind.HeldResult
                && line.What.StartsWith("DQ-K1/1 ", StringComparison.Ordinal));
            return ([.. history.Runs], log.Revision);
        }
    }

    /// <summary>A server in this process lets go of its file a moment after it has stopped.</summary>
    private static async Task LetGoAsync(OldDataFile old)
    {
        while (true)
        {
            try
            {
                DataFile.Open(old.Path).Dispose();
                return;
            }
            catch (DataFileException fault) when (fault.Problem == DataFileProblem.InUse)
            {
                Cancel.ThrowIfCancellationRequested();
                await Task.Yield();
            }
        }
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
