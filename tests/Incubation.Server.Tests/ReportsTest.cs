using System.Net;
using Incubation.Records.Reports;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Reports;
using Incubation.Service.Text;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests;

/// <summary>The page of reports and its files on the whole server, with the demo's clinic.</summary>
public sealed class ReportsTest(ServerFactory server) : IClassFixture<ServerFactory>
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Reports_OfThePresentDay_CountItsRequests()
    {
        var page = await Page("/reports");
        Assert.Contains("<h2 id=\"requests-heading\">Requests</h2>", page, StringComparison.Ordinal);
        var asked = server.Services.GetRequiredService<Records.Batches.CartridgeProjection>().All().Count();
        Assert.Contains($"{asked} requests on {InDays()}", page, StringComparison.Ordinal);
        Assert.Contains("No cartridges were used in this period.", page, StringComparison.Ordinal);
    }

    /// <summary>
    /// On how many of the clinic's days its requests were asked for: a demo begun late goes on past midnight.
    /// </summary>
    private int Days()
    {
        var now = server.Services.GetRequiredService<BenchClock>().Now;
        var zone = server.Services.GetRequiredService<ClinicHost>().Facts.Zone;
        var near = new ReportScope(now - Duration.FromDays(2), now + Duration.FromDays(2));
        return server.Services.GetRequiredService<ReportProjection>().Cartridges(near)
            .Select(one => one.Asked.InZone(zone).Date).Distinct().Count();
    }

    private string InDays() => Days() is var days && days == 1 ? "1 day," : $"{days} days:";

    [Theory]
    [InlineData("from=never&to=2026-02-30", "is not a date")]
    [InlineData("from=2026-03-02&to=2026-03-01", "Swap them")]
    [InlineData("from=2001-01-01&to=2001-01-31", "Nothing was requested from 2001-01-01 to 2001-01-31")]
    [InlineData("bench=nowhere", "There is no bench &#x27;nowhere&#x27;")]
    [InlineData("assay=%3Cscript%3E", "There is no assay")]
    [InlineData("from=2026-01-01&to=2026-01-31&day=2026-03-01", "is not in the period")]
    public async Task Reports_WhateverStandsInTheAddress_SaySoInASentence(string query, string expected)
    {
        var page = await Page("/reports?" + query);
        Assert.Contains("<h1>Reports</h1>", page, StringComparison.Ordinal);
        Assert.Contains(expected, page, StringComparison.Ordinal);
        Assert.DoesNotContain("<script>", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Reports_OfThirtyYears_AreMadeOfWhatThereIs()
    {
        var today = server.Services.GetRequiredService<BenchClock>().Now.InUtc().Date;
        Assert.Contains($"requests on {InDays()}",
            await Page($"/reports?from={today.PlusYears(-30):uuuu-MM-dd}&to={today.PlusDays(2):uuuu-MM-dd}"),
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task File_OfEveryReport_HasItsNamesAndRows()
    {
        using var client = server.ClientAs("ines");
        var bundle = server.Services.GetRequiredService<ReportService>().Make(null, new ReportSearch());
        Assert.True(bundle.Sections.Count > 10);
        foreach (var section in bundle.Sections)
        {
            using var answer = await client.GetAsync(new Uri($"/reports/{section.Name}.csv", UriKind.Relative), Cancel);
            Assert.Equal("text/csv", answer.Content.Headers.ContentType!.MediaType);
            var lines = (await answer.Content.ReadAsStringAsync(Cancel))
                .Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
            Assert.Equal(string.Join(',', section.Table.Columns.Select(column => $"\"{column.Name}\"")), lines[0]);
            Assert.Equal(section.Table.Rows.Count, lines.Length - 1);
        }
    }

    [Fact]
    public async Task File_ThatDoesNotExist_IsNotFound()
    {
        using var client = server.ClientAs("ines");
        using var answer = await client.GetAsync(new Uri("/reports/nothing.csv", UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
    }

    [Fact]
    public void Lines_NamesThatASpreadsheetTakesForFormulas_AreDisarmed()
    {
        var table =
            new ReportTable([new ReportColumn("Lot", "lot", false), new ReportColumn("Median", "medianMinutes")],
                [["=1+1", new Minutes(-1.5)], ["L-1", null]]);
        Assert.Equal(["\"lot\",\"medianMinutes\"\r\n", "\"'=1+1\",-1.5\r\n", "\"L-1\",\r\n"], table.Lines());
    }

    [Theory]
    [InlineData("2026-02-01", "2026-02-28", 1, "2026-03-01", "2026-03-31")]
    [InlineData("2026-03-01", "2026-03-31", -1, "2026-02-01", "2026-02-28")]
    [InlineData("2026-03-02", "2026-03-08", 1, "2026-03-09", "2026-03-15")]
    [InlineData("2026-03-02", "2026-03-02", -1, "2026-03-01", "2026-03-01")]
    public void Shifted_Period_KeepsItsLengthAndMonthsStayMonths(string from, string to, int by, string expectedFrom,
        string expectedTo)
    {
        var shifted = new ReportPeriod(ReportPeriod.Read(from).Day!.Value, ReportPeriod.Read(to).Day!.Value)
            .Shifted(by);
        Assert.Equal((expectedFrom, expectedTo), (Say.Day(shifted.From), Say.Day(shifted.To)));
    }

    private async Task<string> Page(string address)
    {
        using var client = server.ClientAs("ines");
        using var answer = await client.GetAsync(new Uri(address, UriKind.Relative), Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        return await answer.Content.ReadAsStringAsync(Cancel);
    }
}
