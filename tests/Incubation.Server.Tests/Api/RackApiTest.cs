using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.Json.Nodes;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Rack;
using Incubation.Service.Requests;
using Incubation.Service.Tests.Support;
using Incubation.Service.Worklist;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Api;

/// <summary>A list of tubes, through the whole server, on the demo's morning.</summary>
public sealed class RackApiTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly HttpClient client;

    public RackApiTest() => client = server.ClientAs("lena");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private BenchState State => server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State;

    public ValueTask DisposeAsync()
    {
        client.Dispose();
        return server.DisposeAsync();
    }

    [Fact]
    public async Task Doubts_AreNamedByLine_AndNotAskedAgainWhereTheyAreSettled()
    {
        var doubts = await DoubtsAsync(Line("1", "SP-001", "DA"), Line("2", "sp-002", "DC"), Line("3", "SP-099", "DC"),
            Line("4", "SP-099", "DC"), Line("5", "T-1", "DA") with { SpecimenType = "urine" },
            Line("6", new string('x', 300), "DA"), Line("7", "T-2"));

        Assert.Equal(["1 there:DA", "2 alike:SP-002", "4 twice:DC", "5 type:DA", "6 fault", "7 fault"],
            doubts.Select(doubt => $"{doubt.Line} {doubt.Code}"));
        Assert.Contains("SP-001 for Demo assay A is on Bench 1 already: waiting", doubts[0].Sentence,
            StringComparison.Ordinal);
        Assert.Equal("SP-002", doubts[1].Instead);
        Assert.Contains("urine", doubts[3].Sentence, StringComparison.Ordinal);
        Assert.Contains("at most 64 characters; this has 300", doubts[4].Sentence, StringComparison.Ordinal);
        // What cannot stay so cannot be settled.
        Assert.Equal([false, false, false, true, true, true], doubts.Select(doubt => doubt.Settle is null));
        Assert.Empty(await DoubtsAsync(Line("1", "SP-001", "DA") with { Settled = ["there:DA"] },
            Line("2", "sp-002", "DC") with { Settled = ["alike:SP-002"] }));
    }

    /// <summary>
    /// What lies beside the tubes: a lot of the stock, the item number of a kit (12345678901231: its check digit is
    /// right by GS1's rule, 12345678901234 has none), an address.
    /// </summary>
    [Theory]
    [InlineData("DB-L1", "is a lot of the stock")]
    [InlineData("db-l2", "is a lot of the stock")]
    [InlineData("12345678901231", "looks like a kit's code")]
    [InlineData("(01)12345678901231", "looks like a kit's code")]
    [InlineData("0112345678901231", "looks like a kit's code")]
    [InlineData("https://kits.example/DA", "is a web address")]
    [InlineData("www.kits.example", "is a web address")]
    [InlineData("12345678901234", null)]
    [InlineData("4006381333931", null)]
    [InlineData("T-4711", null)]
    public async Task Number_ThatLooksLikeAKitsOrAnAddress_IsAsked_AndSettledByOnePress(string number, string? asked)
    {
        var doubts = await DoubtsAsync(Line("1", number, "DC"));
        Assert.Equal(asked is null ? [] : new[] { "other" }, doubts.Select(doubt => doubt.Code));
        Assert.All(doubts, doubt => Assert.Contains(asked!, doubt.Sentence, StringComparison.Ordinal));
        Assert.Empty(await DoubtsAsync(Line("1", number, "DC") with { Settled = ["other"] }));
        Assert.Equal(asked is null,
            (await AddAsync("list", [Line("1", number, "DC")])).GetProperty("added").GetBoolean());
    }

    [Fact]
    public async Task Number_ThatLooksLikeAKits_IsNotAskedWhereATubeIsOrderedByIt()
    {
        Assert.Empty(server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn("N-1", "12345678901231", ["DC"])]).Faults);
        Assert.Empty(await DoubtsAsync(Line("1", "12345678901231", "DC")));
    }

    [Fact]
    public async Task Lot_ThatDoesNotLast_IsSaidOfEachTubeWithout()
    {
        // Four of DB-L1 were received; two requests of the morning wait for it.
        var doubts = await DoubtsAsync([.. Enumerable.Range(1, 5).Select(tube => Line($"{tube}", $"T-{tube}", "DB"))]);

        Assert.Equal(["3 short:DB-L1", "4 short:DB-L1", "5 short:DB-L1"],
            doubts.Select(doubt => $"{doubt.Line} {doubt.Code}"));
        Assert.All(doubts, doubt => Assert.StartsWith(
            "Lot DB-L1 has 4 left, 2 free: the others are for requests that wait.", doubt.Sentence,
            StringComparison.Ordinal));
        // Said of one, another is asked for itself.
        Assert.Equal(["4", "5"], (await DoubtsAsync([.. Enumerable.Range(1, 5).Select(tube =>
            Line($"{tube}", $"T-{tube}", "DB") with { Settled = tube == 3 ? ["short:DB-L1"] : null })]))
            .Select(doubt => doubt.Line));
        // What the tile's lot says is the same count.
        using var sheet = JsonDocument.Parse(await client.GetStringAsync(Address(""), Cancel));
        Assert.EndsWith("4 left, 2 free", sheet.RootElement.GetProperty("assays").EnumerateArray()
            .Single(one => one.GetProperty("code").GetString() == "DB").GetProperty("lots")[0].GetProperty("text")
            .GetString(), StringComparison.Ordinal);
        Assert.Empty(await DoubtsAsync([.. Enumerable.Range(1, 5).Select(tube => Line($"{tube}", $"T-{tube}", "DB")
            with { Lots = new Dictionary<string, string> { ["DB"] = "DB-L2" } })]));
    }

    [Fact]
    public async Task Add_WhatIsDoubtful_AddsNothing_AndSettledAllOfItOnce()
    {
        var before = State.Cartridges.Length;
        RackLine[] lines = [Line("1", "SP-001", "DA"), Line("2", "T-2", "DA", "DC")];
        var asked = await AddAsync("list-1", lines);
        Assert.False(asked.GetProperty("added").GetBoolean());
        Assert.Equal(1, asked.GetProperty("doubts").GetArrayLength());
        Assert.Equal(before, State.Cartridges.Length);

        lines[0] = lines[0] with { Settled = ["there:DA"], Urgent = true };
        Assert.True((await AddAsync("list-1", lines)).GetProperty("added").GetBoolean());
        Assert.Equal(["SP-001 DA Urgent", "T-2 DA Routine", "T-2 DC Routine"], State.Cartridges.Skip(before)
            .Select(one => one.Wanted.Request).Select(one => $"{one.Specimen} {one.Assay} {one.Priority}"));
        // Sent again by the same name, though by now it would be doubtful.
        Assert.True((await AddAsync("list-1", lines)).GetProperty("added").GetBoolean());
        Assert.Equal(before + 3, State.Cartridges.Length);
    }

    [Fact]
    public async Task Add_TubesForWhichNothingIsChosen_NamesEachOfThem()
    {
        var asked = await AddAsync("list-1", [Line("1", "T-1"), Line("2", "T-2")]);
        Assert.False(asked.GetProperty("added").GetBoolean());
        Assert.Equal(["1 Choose an assay or a panel for this tube.", "2 Choose an assay or a panel for this tube."],
            asked.GetProperty("doubts").EnumerateArray().Select(doubt =>
                $"{doubt.GetProperty("line").GetString()} {doubt.GetProperty("sentence").GetString()}"));
    }

    [Fact]
    public async Task Tube_ThatNobodyOrdered_IsSaidWhereOthersAreOrdered()
    {
        Assert.Empty(server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn("N-1", "T-1", ["DA"])]).Faults);
        Assert.Equal(["1 Choose an assay or a panel for this tube.",
            "2 No order waits for this tube. Check the label, or choose an assay or a panel."],
            (await DoubtsAsync(Line("1", "T-1"), Line("2", "X-9"))).Select(doubt => $"{doubt.Line} {doubt.Sentence}"));
        Assert.Empty(await DoubtsAsync(Line("1", "T-1", "DA"), Line("2", "X-9", "DC")));
    }

    [Fact]
    public async Task Urgent_WithoutADueTime_IsNotLateOnceItIsAdded()
    {
        await SendAsync("start-batch", null);
        Assert.True((await AddAsync("list-1", [.. new[] { "ALDER", "BIRCH", "CEDAR" }
            .Select(tube => Line(tube, tube, "DC") with { Urgent = true })])).GetProperty("added").GetBoolean());

        Assert.Equal(0, (await GetAsync("/api/v1/day")).GetProperty("late").GetInt32());
        var waiting = (await GetAsync("/api/v1/waiting")).GetProperty("waiting").EnumerateArray()
            .Where(line => line.GetProperty("specimen").GetString()!.All(char.IsAsciiLetterUpper)).ToList();
        Assert.Equal(3, waiting.Count);
        Assert.All(waiting, line => Assert.Equal((true, JsonValueKind.Null),
            (line.GetProperty("isUrgent").GetBoolean(), line.GetProperty("due").ValueKind)));
    }

    /// <summary>
    /// Sent before its screen has heard of the order: nothing is added for what a tile says alone, until somebody lets
    /// the order wait.
    /// </summary>
    [Fact]
    public async Task Tube_ThatIsOrderedForAnother_IsNotAddedWithoutIt()
    {
        var before = State.Cartridges.Length;
        Assert.Empty(server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn("N-1", "T-1", ["DC"])]).Faults);
        var asked = await AddAsync("list-1", [Line("1", "T-1", "DA")]);
        Assert.Equal(["ordered:DC T-1 is ordered for Demo assay C too, which it is not added for."],
            asked.GetProperty("doubts").EnumerateArray().Select(doubt =>
                $"{doubt.GetProperty("code").GetString()} {doubt.GetProperty("sentence").GetString()}"));
        Assert.Equal(before, State.Cartridges.Length);
        Assert.Empty(await DoubtsAsync(Line("1", "T-1", "DC"), Line("2", "T-1", "DA", "DC") with
        {
            Settled = ["twice:DC"],
        }));
        Assert.True((await AddAsync("list-1", [Line("1", "T-1", "DA") with { Settled = ["ordered:DC"] }]))
            .GetProperty("added").GetBoolean());
    }

    /// <summary>On the list as it was ordered, cancelled by somebody else before it is added: nothing is run.</summary>
    [Fact]
    public async Task Tube_WhoseOrderIsCancelledMeanwhile_IsNotAdded_UntilSomebodySaysWithoutTheOrder()
    {
        var before = State.Cartridges.Length;
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        Assert.Empty(server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn("O72", "T-1", ["DC"])]).Faults);
        var row = Assert.Single(clinic.Log.Worklist.Waiting).Row;
        Assert.Empty(await DoubtsAsync(Line("1", "T-1", "DC")));
        clinic.Log.Record(new ClinicEvent.OrderCancelled(row, "Ward says no."), Provenance("cancel"));

        var doubt = Assert.Single((await AddAsync("list-1", [Line("1", "T-1", "DC")])).GetProperty("doubts")
            .EnumerateArray());
        Assert.Equal($"cancelled:{row}", doubt.GetProperty("code").GetString());
        Assert.Matches("^Order O72 for Demo assay C was cancelled by .+ at .+: Ward says no[.]$",
            doubt.GetProperty("sentence").GetString());
        Assert.Equal(before, State.Cartridges.Length);
        Assert.True((await AddAsync("list-1", [Line("1", "T-1", "DC") with { Settled = [$"cancelled:{row}"] }]))
            .GetProperty("added").GetBoolean());
        Assert.Null(clinic.Log.Worklist.Find(row)!.Place);
    }

    /// <summary>Cancelled when everything is asked already: refused whole.</summary>
    [Fact]
    public async Task Order_CancelledWhileItsTubeIsAdded_IsNotRun()
    {
        var before = State.Cartridges.Length;
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        Assert.Empty(server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn("O73", "T-1", ["DC"])]).Faults);
        var row = Assert.Single(clinic.Log.Worklist.Waiting).Row;
        var outcome = await server.Services.GetRequiredService<Intake>().AddAsync("bench-1",
            [new WantedRequest("T-1", "DC", Lot: null)], new ReportId("list-1"), new PersonId("lena"),
            new DeviceId("t"), () =>
            {
                clinic.Log.Record(new ClinicEvent.OrderCancelled(row, "Ward says no."), Provenance("cancel"));
                return [];
            });
        Assert.False(outcome.Taken);
        Assert.Equal(before, State.Cartridges.Length);
    }

    [Fact]
    public async Task Tube_ThatIsInProgress_SaysWhereItIsAndWhenItIsDone()
    {
        await SendAsync("start-batch", null);
        await SendAsync("mixed", "R01");
        var doubt = Assert.Single(await DoubtsAsync(Line("1", "SP-001", "DA")));
        Assert.Matches("on Bench 1 already: mixed.* · done at [0-9]{2}:[0-9]{2}", doubt.Sentence);
    }

    [Fact]
    public async Task Sheet_HasPanelsWhoseAssaysMayBeRun_AndLotsByExpiry()
    {
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        clinic.Log.Record(new ClinicEvent.PanelSet(new PanelName("Heart"), [new AssayCode("DA"), new AssayCode("DC")]),
            new Provenance(new ReportId("p"), Instant.FromUtc(2026, 3, 2, 8, 0), Instant.FromUtc(2026, 3, 2, 8, 0),
                new PersonId("ines"), new DeviceId("test")));
        using var sheet = JsonDocument.Parse(await client.GetStringAsync(Address(""), Cancel));

        var panel = Assert.Single(sheet.RootElement.GetProperty("panels").EnumerateArray());
        Assert.Equal(("Heart", "DA DC"), (panel.GetProperty("name").GetString(),
            string.Join(' ', panel.GetProperty("assays").EnumerateArray().Select(one => one.GetString()))));
        Assert.Equal(["DB-L1", "DB-L2"], sheet.RootElement.GetProperty("assays").EnumerateArray()
            .Single(one => one.GetProperty("code").GetString() == "DB").GetProperty("lots").EnumerateArray()
            .Select(one => one.GetProperty("lot").GetString()));
    }

    [Fact]
    public async Task File_Read_IsNamedByItsContent_AndItsFaultsByLineAndColumn()
    {
        var wrong = await ReadAsync("specimen;assay;due\r\nT-1;DA;09:00\r\nT-2;XX;noon\r\n");
        Assert.Equal(["3 2 assay", "3 3 due"], FaultsOf(wrong));
        // In the list's order, whoever found them: the list's own form first, then the clinic's assays.
        Assert.Equal(["2 2 assay", "2 3 priority", "3 1 specimen", "3 2 assay"],
            FaultsOf(await ReadAsync("specimen,assay,priority\r\nT-1,XX,soon\r\n1E+15,XX,urgent\r\n")));

        const string Text = "\uFEFFspecimen,assay,priority\r\nT-1,demo assay a+DC,urgent\r\nT-2,,\r\n";
        var read = await ReadAsync(Text);
        Assert.Empty(read.GetProperty("faults").EnumerateArray());
        Assert.Equal(["T-1 DA DC True", "T-2  False"], read.GetProperty("lines").EnumerateArray().Select(line =>
            $"{line.GetProperty("specimen")} {string.Join(' ', line.GetProperty("assays").EnumerateArray())} "
            + line.GetProperty("urgent")));
        Assert.Equal(read.GetProperty("report").GetString(), (await ReadAsync(Text)).GetProperty("report").GetString());
        Assert.NotEqual(read.GetProperty("report").GetString(),
            (await ReadAsync(Text + "T-3,,\r\n")).GetProperty("report").GetString());
    }

    [Fact]
    public async Task File_ThatNamesLotsAndBenches_IsReadWithThem_AndItsFaultsByLineAndColumn()
    {
        await OpenSecondBenchAsync();
        var wrong = await ReadAsync("specimen,assay,lot,bench\r\nT-1,DB,DA-L1,\r\nT-2,DB,none,\r\n"
            + "T-3,DB,DB-L1 + DB-L2,\r\nT-4,DB,,Bench 9\r\n");
        Assert.Equal(["2 3 lot", "3 3 lot", "4 3 lot", "5 4 bench"], FaultsOf(wrong));

        var read = await ReadAsync("specimen,assay,lot,bench\r\nT-1,DB,DB-L2,bench 2\r\nT-2,,DB-L2,bench-1\r\n");
        Assert.Empty(read.GetProperty("faults").EnumerateArray());
        var lines = read.GetProperty("lines").Deserialize<List<RackLine>>(JsonSerializerOptions.Web)!;
        Assert.Equal(["bench-2", null], lines.Select(line => line.Bench));
        Assert.All(lines, line => Assert.Equal("DB-L2", line.Lots!["DB"]));
    }

    /// <summary>
    /// A list for two benches is cut short when the first has its part: sent again, as a file is, it ends with all,
    /// once, and asks nothing that was settled before.
    /// </summary>
    [Fact]
    public async Task List_ForTwoBenches_CutShortBetweenThem_EndsWithAllOnce()
    {
        await OpenSecondBenchAsync();
        var before = State.Cartridges.Length;
        RackLine[] lines = [Line("1", "SP-001", "DA"), Line("2", "T-2", "DA") with { Bench = "bench-2" },
            Line("3", "T-3", "DA", "DC")];
        Assert.Single((await AddAsync("file-1", lines)).GetProperty("doubts").EnumerateArray());
        Assert.Equal((before, 0), (State.Cartridges.Length, Second.Cartridges.Length));

        // What stands in the log when the program is killed after the first bench.
        var part = RackPart.Of("bench-1", lines, new ReportId("file-1"))[0];
        Assert.Equal(["1", "3"], part.Lines.Select(line => line.Id));
        Assert.True((await AddAsync(part.Report.Value,
            [.. part.Lines.Select(line => line with { Settled = ["there:DA"] })])).GetProperty("added").GetBoolean());
        Assert.Equal((before + 3, 0), (State.Cartridges.Length, Second.Cartridges.Length));

        for (var sent = 0; sent < 2; sent++)
        {
            Assert.True((await AddAsync("file-1", lines)).GetProperty("added").GetBoolean());
            Assert.Equal((before + 3, 1), (State.Cartridges.Length, Second.Cartridges.Length));
        }
    }

    /// <summary>Of a list that goes on where it was cut short, what was cancelled meanwhile is asked.</summary>
    [Fact]
    public async Task List_ForTwoBenches_CutShort_AndAnOrderOfItsRestCancelled_AsksOfThat()
    {
        await OpenSecondBenchAsync();
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        Assert.Empty(server.Services.GetRequiredService<OrderIntake>().Receive(AnAide.Lena, "ward",
            [new OrderIn("O74", "T-2", ["DA"])]).Faults);
        var row = Assert.Single(clinic.Log.Worklist.Waiting).Row;
        RackLine[] lines = [Line("1", "T-1", "DA"), Line("2", "T-2", "DA") with { Bench = "bench-2" }];
        var part = RackPart.Of("bench-1", lines, new ReportId("file-3"))[0];
        Assert.True((await AddAsync(part.Report.Value, [.. part.Lines])).GetProperty("added").GetBoolean());
        clinic.Log.Record(new ClinicEvent.OrderCancelled(row, "Ward says no."), Provenance("cancel"));

        var answer = await AddAsync("file-3", lines);
        Assert.False(answer.GetProperty("added").GetBoolean());
        Assert.Equal($"cancelled:{row}", Assert.Single(answer.GetProperty("doubts").EnumerateArray())
            .GetProperty("code").GetString());
        Assert.Empty(Second.Cartridges);
        lines[1] = lines[1] with { Settled = [$"cancelled:{row}"] };
        Assert.True((await AddAsync("file-3", lines)).GetProperty("added").GetBoolean());
        Assert.Single(Second.Cartridges);
    }

    /// <summary>What one bench would refuse is said before another has anything.</summary>
    [Fact]
    public async Task List_ForTwoBenches_OneOfWhichTakesNone_AddsNothing()
    {
        await OpenSecondBenchAsync();
        await Benches.Find("bench-2")!.SendAsync(new BenchCommand.PauseIntake(true), Provenance("pause"));
        var before = State.Cartridges.Length;
        var answer = await AddAsync("file-2",
            [Line("1", "T-1", "DA"), Line("2", "T-2", "DA") with { Bench = "bench-2" }]);
        Assert.False(answer.GetProperty("added").GetBoolean());
        Assert.NotNull(answer.GetProperty("sentence").GetString());
        Assert.Equal(before, State.Cartridges.Length);
    }

    private BenchRegistry Benches => server.Services.GetRequiredService<BenchRegistry>();

    private BenchState Second => Benches.Find("bench-2")!.Present.State;

    private static Provenance Provenance(string report) => new(new ReportId(report), Instant.FromUtc(2026, 3, 2, 8, 0),
        Instant.FromUtc(2026, 3, 2, 8, 0), new PersonId("ines"), new DeviceId("test"));

    private async Task OpenSecondBenchAsync()
    {
        var (faults, bench) = await server.Services.GetRequiredService<BenchSetUp>().AddAsync(AnAide.Ines,
            new BenchForm { Name = "Bench 2" }, Cancel);
        Assert.Empty(faults);
        Assert.Equal("bench-2", bench?.Value);
    }

    private async Task<JsonElement> GetAsync(string address) =>
        await client.GetFromJsonAsync<JsonElement>(new Uri(address, UriKind.Relative), Cancel);

    private static IEnumerable<string> FaultsOf(JsonElement reading) => reading.GetProperty("faults").EnumerateArray()
        .Select(one => $"{one.GetProperty("line")} {one.GetProperty("column")} {one.GetProperty("heading")}");

    private async Task<JsonElement> ReadAsync(string text)
    {
        using var answer = await client.PostAsJsonAsync(Address("/read"), new { text }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
    }

    private static Uri Address(string path) => new("/api/v1/benches/bench-1/rack" + path, UriKind.Relative);

    private static RackLine Line(string id, string specimen, params string[] assays) => new(id, specimen, assays);

    private async Task<IReadOnlyList<RackDoubt>> DoubtsAsync(params RackLine[] lines)
    {
        using var answer = await client.PostAsJsonAsync(Address("/check"), new { lines }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var said = await answer.Content.ReadFromJsonAsync<JsonObject>(Cancel);
        return said!["doubts"].Deserialize<List<RackDoubt>>(JsonSerializerOptions.Web)!;
    }

    private async Task<JsonElement> AddAsync(string report, RackLine[] lines)
    {
        using var answer = await client.PostAsJsonAsync(Address(""), new { report, lines }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
    }

    private async Task SendAsync(string kind, string? request)
    {
        using var answer = await client.PostAsJsonAsync(new Uri("/api/v1/benches/bench-1/commands", UriKind.Relative),
            new { id = kind, kind, at = DateTime.UtcNow, device = "t", request }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        var said = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.Equal("recorded", said.GetProperty("kind").GetString());
    }
}
