using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Rack;
using Incubation.Service.Worklist;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Api;

/// <summary>Orders from elsewhere, through the whole server, on the demo's morning.</summary>
public sealed class WorklistApiTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly HttpClient lena;
    private readonly HttpClient program;

    public WorklistApiTest()
    {
        lena = server.ClientAs("lena");
        program = KeyFor("Ward system");
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private BenchState State => server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State;

    private Instant Now => server.Services.GetRequiredService<BenchClock>().Now;

    public ValueTask DisposeAsync()
    {
        lena.Dispose();
        program.Dispose();
        return server.DisposeAsync();
    }

    [Fact]
    public async Task Order_FromAProgram_IsFoundByTheScan_RunOnce_AndTracedToItsRequest()
    {
        var due = Now + Duration.FromHours(3);
        var taken = await TakenAsync(program, new OrderIn("N-1", "T-1", ["DA", "Demo assay C"], "urgent",
            "1970-01-01", Due: due, Comment: "Fasting."));
        Assert.Equal(["N-1 DA True", "N-1 DC True"], taken.Select(Text));
        // Sent again, in other words, it is the same; no second one waits.
        Assert.Equal(["N-1 DA False", "N-1 DC False"], (await TakenAsync(program, new OrderIn(" N-1", "T-1 ",
            ["dc", "DA"], "urgent", "1970-01-01", Due: due, Comment: "Fasting."))).Select(Text));

        var found = await OrdersForAsync("T-1");
        Assert.Equal(
            ["DA Ward system · N-1 True 1970-01-01 Fasting.", "DC Ward system · N-1 True 1970-01-01 Fasting."],
            found.Select(one => $"{one.GetProperty("assay")} {one.GetProperty("from")} {one.GetProperty("urgent")} "
                + $"{one.GetProperty("identifier")} {one.GetProperty("comment")}"));
        // One assay is put on the bench, the other still waits; it is the bench's request, whatever brought it there.
        await AddToBenchAsync("list-1", new RackLine("1", "T-1", ["DA"], true, Settled: ["ordered:DC"],
            Due: found[0].GetProperty("due").GetString()));
        var request = State.Cartridges[^1].Wanted.Request;
        Assert.Equal(("T-1", "DA", Priority.Urgent), (request.Specimen.Value, request.Assay.Value, request.Priority));
        Assert.Equal("Fasting.", State.Cartridges[^1].Wanted.Comment);
        Assert.InRange(request.Due!.Value, due - Duration.FromMinutes(1), due);
        Assert.Equal(["DC"], (await OrdersForAsync("T-1")).Select(one => one.GetProperty("assay").GetString()));
        var lines = await ListAsync(program, "");
        Assert.Equal([$"DA on-bench bench-1 {request.Id}", "DC waiting  "], lines.Select(one => string.Join(' ',
            new[] { "assay", "state", "bench", "request" }.Select(name => one.GetProperty(name).GetString()))));
        Assert.Contains("order N-1 of Ward system", await PageAsync("/waiting"), StringComparison.Ordinal);
        Assert.Contains("1 order is on no bench yet", await PageAsync("/waiting"), StringComparison.Ordinal);

        // A start moves no order.
        await SendAsync("start-batch", null);
        Assert.Equal("waiting", (await ListAsync(lena, "?number=N-1&source=Ward%20system"))[1]
            .GetProperty("state").GetString());
    }

    [Fact]
    public async Task Order_WithoutAnyLot_IsTaken_AndRefusedOnlyByTheBench()
    {
        var clinic = server.Services.GetRequiredService<ClinicHost>();
        foreach (var lot in clinic.Log.Stock.Usable(new AssayCode("DB"), Now.InUtc().Date).ToList())
            clinic.Log.Record(new ClinicEvent.StockFinished(lot.Kind, lot.Lot), new Provenance(
                new ReportId("end-" + lot.Lot), Now, Now, new PersonId("ines"), new DeviceId("test")));
        Assert.Single(await TakenAsync(program, new OrderIn("N-1", "T-1", ["DB"])));
        var doubts = await RackAsync("/check", new { lines = new[] { new RackLine("1", "T-1", ["DB"]) } });
        Assert.Equal("fault", Assert.Single(doubts.GetProperty("doubts").EnumerateArray()).GetProperty("code")
            .GetString());
        Assert.Equal("waiting", Assert.Single(await ListAsync(lena, "?state=waiting")).GetProperty("state")
            .GetString());
    }

    [Fact]
    public async Task Cancelled_WithAReason_IsNotFoundByTheScan_AndNobodyElsesKeyCanDoIt()
    {
        using var other = KeyFor("Another system");
        var order = Assert.Single(await TakenAsync(program, new OrderIn("N-1", "T-1", ["DA"]))).Order;
        Assert.Equal(HttpStatusCode.NotFound, await CancelAsync(other, order, "not mine"));
        Assert.Empty(await ListAsync(other, ""));
        Assert.Equal(HttpStatusCode.BadRequest, await CancelAsync(program, order, ""));
        Assert.Equal(HttpStatusCode.BadRequest, await CancelAsync(program, order, new string('x', 501)));
        Assert.Equal(HttpStatusCode.NotFound, await CancelAsync(program, order + 1, "unknown"));
        Assert.Equal(HttpStatusCode.NoContent, await CancelAsync(program, order, "Ordered twice."));
        Assert.Equal(HttpStatusCode.NoContent, await CancelAsync(program, order, "Ordered twice."));
        Assert.Empty(await OrdersForAsync("T-1"));
        var line = Assert.Single(await ListAsync(lena, "?state=cancelled"));
        Assert.Contains("cancelled: Ordered twice. · Ward system", line.GetProperty("status").GetString(),
            StringComparison.Ordinal);
        // The same again is harmless still, and brings it back no more.
        Assert.False(Assert.Single(await TakenAsync(program, new OrderIn("N-1", "T-1", ["DA"]))).IsNew);
        Assert.Empty(await ListAsync(lena, "?state=waiting"));

        var run = Assert.Single(await TakenAsync(program, new OrderIn("N-2", "T-2", ["DA"]))).Order;
        await AddToBenchAsync("list-2", new RackLine("1", "T-2", ["DA"]));
        Assert.Equal(HttpStatusCode.BadRequest, await CancelAsync(program, run, "too late"));
    }

    [Fact]
    public async Task Withdrawn_OnTheBench_CanWaitAgain_AndBePutOnOnceMore()
    {
        var order = Assert.Single(await TakenAsync(program, new OrderIn("N-1", "T-1", ["DA"]))).Order;
        await AddToBenchAsync("list-1", new RackLine("1", "T-1", ["DA"]));
        var desk = server.Services.GetRequiredService<WorklistService>();
        var actor = new Actor.Person(new ClinicPerson(new PersonId("lena"), "Lena", Role.Aide, true, true, true),
            new Session("s", new PersonId("lena"), SignInWay.Password, null, new DeviceId("browser-1"), default,
                default), null);
        Assert.False(desk.Return(actor, order).IsDone);
        await SendAsync("withdraw", State.Cartridges[^1].Id.Value);
        Assert.True(Assert.Single(desk.List(actor, new OrderQuery())).MayReturn);
        Assert.True(desk.Return(actor, order).IsDone);
        Assert.Equal("waiting", Assert.Single(await ListAsync(program, "")).GetProperty("state").GetString());
        await AddToBenchAsync("list-2", new RackLine("1", "T-1", ["DA"]));
        Assert.Equal(State.Cartridges[^1].Id.Value,
            Assert.Single(await ListAsync(program, "")).GetProperty("request").GetString());
    }

    public static TheoryData<string, string> Wrong => new()
    {
        { """{"orders":[]}""", "orders" },
        { """{"orders":[null]}""", "orders[0].specimen" },
        { """{"orders":[{"number":"N","specimen":"T"}]}""", "orders[0].assays" },
        { """{"orders":[{"number":"N","specimen":"T","assays":[]}]}""", "orders[0].assays" },
        { """{"orders":[{"number":"N","specimen":"T","assays":["nothing"]}]}""", "orders[0].assays" },
        { """{"orders":[{"number":"N","specimen":"T","assays":[null]}]}""", "orders[0].assays" },
        { """{"orders":[{"specimen":"T","assays":["DA"]}]}""", "orders[0].number" },
        { """{"orders":[{"number":"N","specimen":"T\u202e","assays":["DA"]}]}""", "orders[0].specimen" },
        { """{"orders":[{"number":"N","specimen":"T","assays":["DA"],"priority":"soon"}]}""", "orders[0].priority" },
        { """{"orders":[{"number":"N","specimen":"T","assays":["DA"],"comment":"a\u0000b"}]}""", "orders[0].comment" },
        {
            """{"orders":[{"number":"N","specimen":"T","assays":["DA"],"due":"2199-01-01T00:00:00Z"}]}""",
            "orders[0].due"
        },
        {
            """{"orders":[{"number":"N","specimen":"T","assays":["DA"],"collected":"2199-01-01T00:00:00Z"}]}""",
            "orders[0].collected"
        },
        { """{"source":"\u0007","orders":[{"number":"N","specimen":"T","assays":["DA"]}]}""", "source" },
        {
            """
            {"orders":[{"number":"N","specimen":"T","assays":["DA"]},{"number":"N","specimen":"U","assays":["DA"]}]}
            """,
            "orders[1].number"
        },
    };

    /// <summary>One server for all of it: nothing of it is taken.</summary>
    [Fact]
    public async Task WhatNobodyShouldSend_IsRefusedByMember_AndNothingIsTaken()
    {
        foreach (var (json, member) in Wrong.Select(row => row.Data))
        {
            using var answer = await program.PostAsync(Address(""), Json(json), Cancel);
            Assert.True(answer.StatusCode == HttpStatusCode.BadRequest, $"{json}: {answer.StatusCode}");
            var body = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
            Assert.Contains(member, body.GetProperty("errors").EnumerateObject().Select(one => one.Name));
        }

        var many = Enumerable.Range(0, 501).Select(number => new OrderIn($"N-{number}", "T", ["DA"])).ToArray();
        Assert.Equal(HttpStatusCode.BadRequest, (await PostAsync(program, many)).Status);
        var long21 = new OrderIn("N", "T", [.. Enumerable.Repeat("DA", 21)]);
        Assert.Equal(HttpStatusCode.BadRequest, (await PostAsync(program, long21)).Status);
        foreach (var json in (string[])["""{"orders":[{"number":"N","unknown":1}]}""", "[]", "{", "null"])
        {
            using var answer = await program.PostAsync(Address(""), Json(json), Cancel);
            Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        }

        foreach (var query in (string[])["?limit=501", "?limit=0", "?after=-1", "?state=nowhere", "?number=%07"])
        {
            using var answer = await program.GetAsync(Address(query), Cancel);
            Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        }

        Assert.Empty(server.Services.GetRequiredService<ClinicHost>().Log.Worklist.All);
        // Five hundred are taken at once, and told in pages.
        Assert.Equal(500, (await TakenAsync(program, many[..500])).Count);
        Assert.Equal(100, (await ListAsync(program, "")).Count);
        var last = (await ListAsync(program, "?limit=499"))[^1].GetProperty("order").GetInt64();
        Assert.Equal("N-499", Assert.Single(await ListAsync(program, $"?after={last}")).GetProperty("number")
            .GetString());
    }

    [Fact]
    public async Task File_IsReadAsOrders_ByLineAndColumn_AndTheSameAgainIsTheSame()
    {
        var wrong = await ReadAsync("order,specimen,assay,comment,due\r\n1,T-1,,,\r\n2,T-2,XX,,noon\r\n");
        Assert.Equal(["2 2 specimen", "3 3 assay", "3 5 due"], wrong.GetProperty("faults").EnumerateArray()
            .Select(one => $"{one.GetProperty("line")} {one.GetProperty("column")} {one.GetProperty("heading")}"));
        Assert.Empty(wrong.GetProperty("orders").EnumerateArray());

        const string Text = "specimen;assay;order;comment;priority\r\nT-1;DA+DC;77;\"by; hand\";urgent\r\n"
            + "T-2;DA;;;\r\n";
        var orders = (await ReadAsync(Text)).GetProperty("orders");
        Assert.Equal("77", orders[0].GetProperty("number").GetString());
        Assert.Matches("^[0-9a-f]{16}-3$", orders[1].GetProperty("number").GetString());
        for (var time = 0; time < 2; time++)
        {
            using var answer = await lena.PostAsJsonAsync(Address(""), new { source = "list", orders }, Cancel);
            Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        }

        Assert.Equal(["list 77 T-1 DA by; hand", "list 77 T-1 DC by; hand", "list T-2 DA "],
            (await ListAsync(lena, "?state=waiting")).Select(one => string.Join(' ', new[] { "source", "number",
                "specimen", "assay", "comment" }.Select(name => one.GetProperty(name).GetString())
                .Where(text => text is null || !text.EndsWith("-3", StringComparison.Ordinal)))));
        // A bench's own list has no such columns.
        var bench = await RackAsync("/read", new { text = Text });
        Assert.Equal(2, bench.GetProperty("faults").GetArrayLength());
    }

    [Fact]
    public async Task Description_NamesTheWorklist()
    {
        using var document = JsonDocument.Parse(
            await lena.GetStringAsync(new Uri("/openapi/v1.json", UriKind.Relative), Cancel));
        var paths = document.RootElement.GetProperty("paths");
        Assert.Equal(["get", "post"], paths.GetProperty("/api/v1/worklist").EnumerateObject().Select(one => one.Name)
            .Order(StringComparer.Ordinal));
        Assert.True(paths.GetProperty("/api/v1/worklist/{order}").TryGetProperty("delete", out _));
    }

    private HttpClient KeyFor(string name)
    {
        var key = server.Services.GetRequiredService<DeviceService>().MakeKey(name, [KeyScope.Requests], null,
            new PersonId("mara"), new DeviceId("test")).Shown!;
        var client = server.ClientAs(null);
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", key);
        return client;
    }

    private static string Text(OrderTaken one) => $"{one.Number} {one.Assay} {one.IsNew}";

    private static Uri Address(string rest) => new("/api/v1/worklist" + rest, UriKind.Relative);

    private static StringContent Json(string json) => new(json, MediaTypeHeaderValue.Parse("application/json"));

    private static async Task<(HttpStatusCode Status, IReadOnlyList<OrderTaken> Orders)> PostAsync(HttpClient client,
        params OrderIn[] orders)
    {
        using var content = JsonContent.Create(new
        {
            orders = orders.Select(order => new
            {
                order.Number,
                order.Specimen,
                order.Assays,
                order.Priority,
                order.Identifier,
                order.Comment,
                due = order.Due?.ToString("uuuu-MM-dd'T'HH:mm:ss.FFFFFFFFF'Z'", CultureInfo.InvariantCulture),
            }),
        });
        using var answer = await client.PostAsync(Address(""), content, Cancel);
        return (answer.StatusCode, answer.StatusCode == HttpStatusCode.Created
            ? [.. (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("orders").EnumerateArray()
                .Select(one => one.Deserialize<OrderTaken>(JsonSerializerOptions.Web)!)] : []);
    }

    private static async Task<IReadOnlyList<OrderTaken>> TakenAsync(HttpClient client, params OrderIn[] orders)
    {
        var (status, taken) = await PostAsync(client, orders);
        Assert.Equal(HttpStatusCode.Created, status);
        return taken;
    }

    private static async Task<HttpStatusCode> CancelAsync(HttpClient client, long order, string why)
    {
        using var answer = await client.DeleteAsync(Address($"/{order}?why={Uri.EscapeDataString(why)}"), Cancel);
        return answer.StatusCode;
    }

    private static async Task<IReadOnlyList<JsonElement>> ListAsync(HttpClient client, string query) =>
        [.. (await client.GetFromJsonAsync<JsonElement>(Address(query), Cancel)).GetProperty("orders")
            .EnumerateArray()];

    private async Task<JsonElement> ReadAsync(string text)
    {
        using var answer = await lena.PostAsJsonAsync(Address("/read"), new { text }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
    }

    private async Task<IReadOnlyList<JsonElement>> OrdersForAsync(string specimen) =>
        [.. (await RackAsync("/check", new { lines = new[] { new RackLine("1", specimen, []) } }))
            .GetProperty("orders").EnumerateArray()];

    private async Task AddToBenchAsync(string report, params RackLine[] lines)
    {
        var answer = await RackAsync("", new { report, lines });
        Assert.True(answer.GetProperty("added").GetBoolean(), answer.ToString());
    }

    private async Task<JsonElement> RackAsync(string path, object said)
    {
        using var answer = await lena.PostAsJsonAsync(
            new Uri("/api/v1/benches/bench-1/rack" + path, UriKind.Relative), said, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
    }

    private async Task<string> PageAsync(string path) =>
        WebUtility.HtmlDecode(await lena.GetStringAsync(new Uri(path, UriKind.Relative), Cancel));

    private async Task SendAsync(string kind, string? request)
    {
        using var answer = await lena.PostAsJsonAsync(new Uri("/api/v1/benches/bench-1/commands", UriKind.Relative),
            new { id = kind, kind, at = DateTime.UtcNow, device = "t", request }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal("recorded", (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("kind")
            .GetString());
    }
}
