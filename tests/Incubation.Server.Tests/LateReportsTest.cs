using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Commands;
using Incubation.Service.Record;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Server.Tests;

/// <summary>
/// A report that comes after its batch was closed is recorded against that batch, changes nothing by itself, and waits
/// for a supervisor.
/// </summary>
public sealed partial class LateReportsTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly HttpClient lena;

    // Signed in before a test makes the log unwritable.
    public LateReportsTest() => lena = server.ClientAs("lena");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private LateReportsState Late => server.Services.GetRequiredService<ClinicHost>().Log.LateReports;

    private BenchState State => server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State;

    public ValueTask DisposeAsync()
    {
        lena.Dispose();
        return server.DisposeAsync();
    }

    [Fact]
    public async Task Report_OfAClosedBatch_WaitsForASupervisorAndIsNoted()
    {
        await CloseABatch();
        var before = State.Revision;
        var report = Flat("cleared") with { Request = "R06", Reader = 1 };

        await Must(report);
        await Must(report);

        Assert.Equal(before, State.Revision);
        var late = Assert.Single(Late.Waiting);
        Assert.Equal(("bench-1", 1, "R06", report.Id), (late.Report.Bench.Value, late.Report.Batch,
            late.Report.Request.Value, late.Provenance.Id.Value));
        Assert.True(late.Report.Checked);
        Assert.Equal("lena", late.Provenance.Person.Value);

        var list = await Page("/record", "ines");
        Assert.Contains("1 report came after its batch was closed", list, StringComparison.Ordinal);
        var address = Regex.Match(list, "href=\"(record/bench-1/1/late\\?report=[^\"]+)\"").Groups[1].Value;
        Assert.DoesNotContain("/late?", await Page("/record", "lena"), StringComparison.Ordinal);
        Assert.Contains("cleared from reader 1", await Page("/" + address, "ines"), StringComparison.Ordinal);
        Assert.Contains("waits for a supervisor", await Page("/record/bench-1/1", "lena"), StringComparison.Ordinal);

        var desk = server.Services.GetRequiredService<LateReportService>();
        Assert.Equal(["why"], desk.Note(Ines, late, " ").Select(fault => fault.Member));
        Assert.NotEmpty(desk.Note(new Actor.Tablet(ATablet, null), late, "because"));
        Assert.Empty(desk.Note(Ines, late, "The tablet was away."));
        Assert.NotEmpty(desk.Note(Ines, late, "Once more."));

        Assert.Empty(Late.Waiting);
        var record = await Page("/record/bench-1/1", "ines");
        Assert.Contains("noted and changes nothing", record, StringComparison.Ordinal);
        Assert.Contains("The tablet was away.", record, StringComparison.Ordinal);
        Assert.DoesNotContain("/late?", record, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Result_OfAClosedBatch_AmendsItOnlyByADecision()
    {
        await CloseABatch();
        await Must(Flat("result") with { Request = "R06", Value = "1.9", Shown = "SP-005" });
        var amendments = server.Services.GetRequiredService<AmendmentService>();
        var shown = amendments.Find("bench-1", 1, "R06")!;
        Assert.Equal("1.8", ((ReadResult.Measured)shown.Result!).Value);
        var late = Assert.Single(Late.Waiting);

        Assert.Empty(await amendments.AmendAsync(Ines, shown,
            new WantedAmendment("1.9", "Typed late.", "Dr. Invented"), late.Provenance.Id));

        Assert.Empty(Late.Waiting);
        Assert.Equal(LateReportDecision.Amended, Late.Find(late.Provenance.Id)!.Decision!.Settled.Decision);
        Assert.Equal("1.9", ((ReadResult.Measured)amendments.Find("bench-1", 1, "R06")!.Result!).Value);
    }

    [Fact]
    public async Task Report_WhoseTimeCannotBe_IsRecordedAsOfItsArrivalWithTheText()
    {
        await CloseABatch();

        await Must(Flat("cleared") with { Request = "R06", Reader = 1, At = "1970-01-01T00:00:00Z" });

        var late = Assert.Single(Late.Waiting);
        Assert.Equal("1970-01-01T00:00:00Z", late.Report.Claimed);
        Assert.Equal(late.Provenance.Arrived, late.Provenance.At);
        Assert.Contains("it came with the time", await Page("/record/bench-1/1", "ines"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(".")]
    [InlineData("..")]
    [InlineData("a%2Fb")]
    [InlineData("a/b?c#d")]
    public async Task Report_WithAnyId_CanBeDecidedOn(string id)
    {
        await CloseABatch();
        await Must(Flat("cleared") with { Id = id, Request = "R06", Reader = 1 });

        var list = await Page("/record", "ines");

        var address = Regex.Match(list, "href=\"(record/bench-1/1/late[^\"]+)\"").Groups[1].Value;
        Assert.Contains("cleared from reader 1", await Page("/" + address, "ines"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Reports_MoreThanAPageHolds_AreCountedAndTheFirstShown()
    {
        await CloseABatch();
        for (var number = 0; number < LateReportService.MostShown + 2; number++)
            await Must(Flat("cleared") with { Request = "R06", Reader = 1 });

        var list = await Page("/record", "ines");

        Assert.Contains("52 reports came after", list, StringComparison.Ordinal);
        Assert.Contains("2 more come up", list, StringComparison.Ordinal);
        Assert.Equal(LateReportService.MostShown, Regex.Count(list, "late\\?report="));
    }

    [Fact]
    public async Task Reports_WithoutEnd_LeaveTheRecordAPageOfBoundedLength()
    {
        await CloseABatch();
        await Must(Flat("cleared") with { Request = "R06", Reader = 1 });
        var (late, log) = (Late.Waiting[0], server.Services.GetRequiredService<ClinicHost>().Log);
        for (var number = 0; number < BatchSheet.MostShown; number++)
            log.Record(late.Report, late.Provenance with { Id = new ReportId($"again-{number}") });

        var record = await Page("/record/bench-1/1", "ines");

        Assert.Contains("more are not shown here", record, StringComparison.Ordinal);
        Assert.True(Regex.Count(record, "<tr") < BatchSheet.MostShown + 100);
    }

    [Fact]
    public async Task Report_WhileTheLogCannotBeWritten_IsNotNow()
    {
        await CloseABatch();
        using (var command = server.Services.GetRequiredService<DataFile>().Writer.CreateCommand())
        {
            command.CommandText = "PRAGMA query_only = ON";
            command.ExecuteScalar();
        }

        Assert.Equal("not-now", await Kind(Flat("cleared") with { Request = "R06", Reader = 1 }));
        Assert.Empty(Late.Waiting);
    }

    [Fact]
    public async Task Report_OfARequestThatNeverWas_IsRefusedForGood()
    {
        await CloseABatch();

        Assert.Equal("refused", await Kind(Flat("cleared") with { Request = "R999", Reader = 1 }));
        Assert.Empty(Late.Waiting);
    }

    /// <summary>One cartridge is run, the others are withdrawn, and the batch is closed.</summary>
    private async Task CloseABatch()
    {
        await RunOne();
        await CloseTheRest();
    }

    private async Task RunOne(string identity = "SP-005")
    {
        await Must(Flat("start-batch"));
        // A demo's assay of 8 min with a window of 90 s.
        await Must(Flat("card-changed") with { Reader = 1, Lot = "DB-L1" });
        await Must(Flat("mixed") with { Request = "R06" });
        await Must(Flat("loaded", 560) with { Request = "R06", Slot = 2 });
        await Must(Flat("read-started", 60) with { Request = "R06", Reader = 1 });
        await Must(Flat("cleared") with { Request = "R06", Reader = 1 });
        await Must(Flat("result") with { Request = "R06", Value = "1.8", Shown = identity });
    }

    private async Task CloseTheRest()
    {
        foreach (var other in State.Cartridges.Where(cartridge => cartridge.Id.Value != "R06").ToList())
            await Must(Flat("withdraw") with { Request = other.Id.Value, Words = "not wanted any more" });
        await Must(Flat("close-batch"));
    }

    private Actor.Person Ines => Of("ines");

    private Actor.Person Of(string person)
    {
        var id = new PersonId(person);
        return new Actor.Person(server.Services.GetRequiredService<ClinicHost>().Log.People.Person(id)!,
            new Session("s", id, SignInWay.Password, null, new DeviceId("browser-1"), Instant.MinValue,
                Instant.MinValue), null);
    }

    private static ClinicDevice ATablet { get; } = new(new DeviceId("tablet-1"), "Tablet", DeviceKind.Tablet, null,
        Instant.MinValue, new PersonId("ines"), false);

    private async Task Must(ScreenCommand command)
    {
        var answer = await Send(command);
        Assert.True(answer.GetProperty("kind").GetString() == "recorded", $"{command.Kind}: {answer}");
    }

    private async Task<string?> Kind(ScreenCommand command) =>
        (await Send(command)).GetProperty("kind").GetString();

    private async Task<JsonElement> Send(ScreenCommand command)
    {
        using var answer = await lena.PostAsJsonAsync("/api/v1/benches/bench-1/commands", command, Cancel);
        return await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
    }

    private async Task<string> Page(string address, string person)
    {
        using var client = server.ClientAs(person);
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(Cancel));
    }

    private static ScreenCommand Flat(string kind, int secondsAgo = 0) => new(
        Guid.NewGuid().ToString("N", CultureInfo.InvariantCulture), kind, InstantPattern.ExtendedIso.Format(
            SystemClock.Instance.GetCurrentInstant() - Duration.FromSeconds(secondsAgo)), secondsAgo > 0,
        "test", null, null, null, null, null, null, null, null, null, null, null, null);
}
