using Incubation.Server.Tests.Demo;

namespace Incubation.Server.Tests;

/// <content>What reports say was discarded is what the record says, also where a result had been entered.</content>
public sealed partial class LateReportsTest
{
    [Fact]
    public async Task Discarded_AfterAResultWasEntered_IsDiscardedInEveryReportAsInTheRecord()
    {
        await Must(Flat("start-batch"));
        await Must(Flat("card-changed") with { Reader = 1, Lot = "DB-L1" });
        foreach (var request in new[] { "R06", "R02" })
            await Must(Flat("mixed") with { Request = request });
        await Must(Flat("loaded", 560) with { Request = "R06", Slot = 2 });
        await Must(Flat("read-started", 60) with { Request = "R06", Reader = 1 });
        await Must(Flat("result") with { Request = "R06", Value = "1.8", Shown = "SP-005" });
        foreach (var request in new[] { "R06", "R02" })
            await Must(Flat("discarded") with { Request = request, Reason = "dropped" });

        var record = CsvTable.Read((await Csv()).TrimStart(Records.Export.Csv.Mark[0]));
        Assert.Equal(["no", "yes"], record.Where(line => line["standing"] == "discarded")
            .Select(line => line.Has("resultEntered") ? "yes" : "no").Order(StringComparer.Ordinal));
        var requests = await TableAsync("requests");
        var day = Recount.Day(record[0].Time("asked")!.Value);
        var counted = new Recount(record, day, day).Requests();
        Assert.Equal(counted.Select(one => (one.Cells[4], one.Cells[5], one.Cells[6], one.Cells[7])),
            requests.Select(line => (line.Number("withResult"), line.Number("discarded"), line.Number("withdrawn"),
                line.Number("open"))));
        Assert.Equal(2, requests.Sum(line => line.Number("discarded")));
        Assert.Equal(2, (await TableAsync("discards")).Sum(line => line.Number("count")));
        Assert.Matches("[0-9]+ requested: 0 with a result, 0 held, 2 discarded",
            await Page("/record/bench-1/1", "ines"));
    }

    private async Task<List<CsvLine>> TableAsync(string name)
    {
        using var client = server.ClientAs("ines");
        var text = await client.GetStringAsync(new Uri($"/reports/{name}.csv", UriKind.Relative), Cancel);
        return CsvTable.Read(text.TrimStart(Records.Export.Csv.Mark[0]));
    }
}
