using System.Net;
using System.Text.RegularExpressions;
using Incubation.Clinic.People;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests;

/// <summary>The record's pages and exports on the whole server, with the demo's clinic.</summary>
public sealed class RecordTest(ServerFactory server) : IClassFixture<ServerFactory>
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Record_BySpecimen_ShowsItsCartridgeAndLeadsToItsBatch()
    {
        var all = await Page("/record");
        var specimen = Regex.Match(all, "(SP-[0-9]+)<span class=\"under\">").Groups[1].Value;
        Assert.NotEmpty(specimen);
        var one = await Page("/record?specimen=" + specimen.ToLowerInvariant());
        Assert.Contains("1 cartridge<", one, StringComparison.Ordinal);
        Assert.Contains("href=\"record/bench-1/1\"", one, StringComparison.Ordinal);
        Assert.DoesNotContain("cartridges.csv", one, StringComparison.Ordinal);
        Assert.Contains("cartridges.csv", await Page("/record", "ines"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("specimen='; DROP TABLE Cartridges; --")]
    [InlineData("lot=%3Cscript%3Ealert(1)%3C/script%3E")]
    [InlineData("bench=%00&page=-3&order=nothing")]
    [InlineData("from=never&to=2026-02-30")]
    [InlineData("page=99999999")]
    public async Task Record_WhateverStandsInTheAddress_IsAPage(string query)
    {
        var page = await Page("/record?" + query);
        Assert.Contains("<h1>Record</h1>", page, StringComparison.Ordinal);
        Assert.DoesNotContain("<script>alert", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task BatchRecord_RunningBatch_PrintsAHeadThatVerifies()
    {
        var page = await Page("/record/bench-1/1");
        Assert.Contains("As of ", page, StringComparison.Ordinal);
        var line =
            WebUtility.HtmlDecode(Regex.Match(page, "<code class=\"record-head\">([^<]+)</code>").Groups[1].Value);
        Assert.True(PrintedHead.TryParse(line, out var note), line);
        var file = server.Services.GetRequiredService<DataFile>();
        Assert.Equal(NoteVerdict.Stands, Assert.Single(RecordCheck.Run(file.Path, null, [note]).Notes).Verdict);
    }

    [Theory]
    [InlineData("/record/bench-1/77")]
    [InlineData("/record/nowhere/1")]
    public async Task BatchRecord_NoSuchBatch_IsNotFound(string address)
    {
        using var client = server.ClientAs("lena");
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
    }

    [Fact]
    public async Task Export_Csv_HasALineForEachCartridge()
    {
        using var client = server.ClientAs("ines");
        using var answer = await client.GetAsync(new Uri("/api/v1/record/cartridges.csv", UriKind.Relative), Cancel);
        Assert.Equal("text/csv", answer.Content.Headers.ContentType!.MediaType);
        Assert.Equal("attachment", answer.Content.Headers.ContentDisposition!.DispositionType);
        // A spreadsheet reads "µ" only behind a byte-order mark (Unicode 16, chapter 23.8).
        Assert.Equal(new byte[] { 0xEF, 0xBB, 0xBF }, (await answer.Content.ReadAsByteArrayAsync(Cancel))[..3]);
        var lines = (await answer.Content.ReadAsStringAsync(Cancel))
            .Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.StartsWith("\"bench\",\"batch\",\"request\",\"specimen\",", lines[0], StringComparison.Ordinal);
        Assert.Equal(server.Services.GetRequiredService<Records.Batches.CartridgeProjection>().All().Count(),
            lines.Length - 1);
    }

    [Fact]
    public async Task Export_Jsonl_CanBeVerifiedByWhoeverHoldsIt()
    {
        using var client = server.ClientAs("ines");
        var text = await client.GetStringAsync(new Uri("/api/v1/record/events.jsonl", UriKind.Relative), Cancel);
        Assert.NotEmpty(LogExport.Read(new StringReader(text)));
    }

    [Fact]
    public async Task Export_KeyOfOneBench_IsRefused()
    {
        using var client = server.ClientAs(null);
        client.DefaultRequestHeaders.Add("Authorization", "Bearer " + server.Key("bench-1", KeyScope.Events));
        using var answer = await client.GetAsync(new Uri("/api/v1/record/cartridges.csv", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
    }

    private async Task<string> Page(string address, string person = "lena")
    {
        using var client = server.ClientAs(person);
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadAsStringAsync(Cancel);
    }
}
