using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Server.Tests.Demo;
using Incubation.Service.Record;

namespace Incubation.Server.Tests;

/// <content>
/// Every value that a result ever had, why, when and by whom, and who was told of which, from <c>amendments.csv</c>
/// alone, read by CsvHelper.
/// </content>
public sealed partial class LateReportsTest
{
    private const string AmendmentFile = "/api/v1/record/amendments.csv";

    [Fact]
    public async Task Amendments_ExportedAndReadBack_GiveEveryValueWhyWhenByWhomAndWhoWasTold()
    {
        await RunOne();
        Assert.Empty(await AmendmentLines());
        await Must(Flat("amend-result") with { Request = "R06", Value = "1.7", Words = "-2 keys", Reason = "typed" });
        await ConfirmAsync("Looked.");
        await CloseTheRest();
        var beyond = $">{Desk.RuleOf(Shown()).Measuring.To!.Value * 10}";
        Assert.Empty(await Desk.AmendAsync(Ines, Shown(), new WantedAmendment(beyond, "The sign was missed.", null)
        {
            Reason = AmendmentReason.Misread,
        }));
        Assert.Equal("to-tell critical", Duty((await AmendmentLines())[^1]));
        Assert.Empty(Desk.Tell(Ines, Shown(), "=Dr. Invented", true, null));
        Assert.Empty(await Desk.AmendAsync(Mara, Shown(), new WantedAmendment("1.9", "Read again.", null)));
        Assert.Equal("to-tell correction", Duty((await AmendmentLines())[^1]));
        Assert.Empty(Desk.Tell(Mara, Shown(), "Nurse Invented", false, "The doctor was away."));

        Assert.True(Second.Set(Mara, true).IsDone);
        Assert.Empty(await Desk.AmendAsync(Ines, Shown(), new WantedAmendment("2.5", "A guess.", null)));
        Assert.Equal("waits 1.9 2.5", Change((await AmendmentLines())[^1]));
        Assert.Empty(await Second.DecideAsync(Mara, Second.Find("bench-1", 1, "R06")!, false, "Not so."));
        Assert.Empty(await Desk.AmendAsync(Ines, Shown(), new WantedAmendment("2.1", "Measured again.", null)));
        Assert.Empty(await Second.DecideAsync(Mara, Second.Find("bench-1", 1, "R06")!, true, "I saw both."));
        Assert.Empty(Desk.Waive(Ines, Shown(), "The specimen was taken again."));

        var lines = await AmendmentLines();
        Assert.Equal(
            [
                $"1 amended 2: 1.8 > 1.7 typed '-2 keys lena | ines Looked.",
                $"2 amended 3: 1.7 > {beyond} misread The sign was missed. ines | ",
                $"3 told 3: {beyond} '=Dr. Invented yes ines",
                $"4 amended 4: {beyond} > 1.9  Read again. mara | ",
                "5 told 4: 1.9 Nurse Invented no mara The doctor was away.",
                "6 declined : 1.9 > 2.5  A guess. ines | mara Not so.",
                "7 amended 5: 1.9 > 2.1  Measured again. ines | mara I saw both.",
                "8 waived 5: 2.1 ines The specimen was taken again.",
            ],
            lines.Select(Line));
        Assert.All(lines, line => Assert.Equal(("bench-1", "1", "R06", "SP-005", "patient",
            ((ReadResult.Measured)Shown().Result!).Unit), (line["bench"],
            line["batch"], line["request"], line["specimen"], line["kind"], line["unit"])));
        AssertAsOnRecord(lines);

        // The bundle of the cartridge has the same lines.
        Assert.Equal(await RawAmendments(), Text((await Unpacked("ines"))["amendments.csv"]));
        // Beside cartridges.csv, which says the first, the present and how many there were.
        var cartridge = Assert.Single(CsvTable.Read((await Csv()).TrimStart(Records.Export.Csv.Mark[0])),
            line => line["request"] == "R06");
        Assert.Equal(("1.8", "2.1", "4", "1"), (cartridge["firstResult"], cartridge["result"],
            cartridge["amendments"], cartridge["amendsDeclined"]));
        Assert.Contains(AmendmentFile[1..], await Page("/record", "ines"), StringComparison.Ordinal);
    }

    /// <summary>Each value of the page of the batch's record has its line, at its time.</summary>
    private void AssertAsOnRecord(List<CsvLine> lines)
    {
        var one = Shown();
        Assert.Equal(one.Values!.Values.Skip(1).Select(value => (((ReadResult.Measured)value.Value).Value,
                Seconds(value.At), value.Second is { } look ? Seconds(look.At) : null)),
            lines.Where(line => line["what"] == "amended").Select(line => (line["value"], Time(line, "at"),
                Time(line, "secondAt"))));
        Assert.Equal(one.Values.Values.SelectMany(value => new[] { value.Told?.At, value.Waived?.At })
                .OfType<NodaTime.Instant>().Select(Seconds),
            lines.Where(line => line["what"] is "told" or "waived").Select(line => Time(line, "at")));
        Assert.Equal(one.Declined.Select(no => (Seconds(no.Proposal.At), Seconds(no.Look.At))),
            lines.Where(line => line["what"] == "declined").Select(line => (Time(line, "at"),
                Time(line, "secondAt"))));

        static string? Seconds(NodaTime.Instant at) =>
            at.ToDateTimeOffset().ToString("s", CultureInfo.InvariantCulture);
        static string? Time(CsvLine line, string name) =>
            line.Time(name)?.ToUniversalTime().ToString("s", CultureInfo.InvariantCulture);
    }

    private async Task ConfirmAsync(string why)
    {
        using var ines = server.ClientAs("ines");
        using var answer = await ines.PostAsJsonAsync("/api/v1/benches/bench-1/commands",
            Flat("confirm-amendment") with { Request = "R06", Words = why, Person = null }, Cancel);
        Assert.Equal("recorded", (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("kind")
            .GetString());
    }

    private static string Line(CsvLine line) => string.Create(CultureInfo.InvariantCulture,
        $"{line["order"]} {line["what"]} {line["valueOrder"]}: ") + line["what"] switch
        {
            "told" => $"{line["value"]} {line["whom"]} {line["readBack"]} {line["by"]} {line["words"]}".TrimEnd(),
            "waived" => $"{line["value"]} {line["by"]} {line["words"]}",
            _ => $"{line["before"]} > {line["value"]} {line["reason"]} {line["words"]} {line["by"]} | "
                + $"{line["secondBy"]} {line["secondWords"]}".TrimEnd(),
        };

    private static string Duty(CsvLine line) => $"{line["what"]} {line["due"]}";

    private static string Change(CsvLine line) => $"{line["what"]} {line["before"]} {line["value"]}";

    private Records.Batches.CartridgeRecord Shown() => Desk.Find("bench-1", 1, "R06")!;

    private async Task<List<CsvLine>> AmendmentLines() =>
        CsvTable.Read((await RawAmendments()).TrimStart(Records.Export.Csv.Mark[0]));

    private async Task<string> RawAmendments()
    {
        using var client = server.ClientAs("ines");
        return System.Text.Encoding.UTF8.GetString(
            await client.GetByteArrayAsync(new Uri(AmendmentFile, UriKind.Relative), Cancel));
    }
}
