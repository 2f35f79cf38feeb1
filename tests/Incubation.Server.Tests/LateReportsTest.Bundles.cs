using System.IO.Compression;
using System.Net;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Incubation.Clinic;
using Incubation.Records;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Record;
using Microsoft.Extensions.DependencyInjection;

namespace Incubation.Server.Tests;

/// <content>
/// One press gives an inspector everything of one result, and nothing of another patient (42 CFR 493.1773; ISO
/// 15189:2022, 8.4; from memory).
/// </content>
public sealed partial class LateReportsTest
{
    private const string Bundle = "/record/bench-1/1/bundle.zip?request=R06";

    [Fact]
    public async Task Bundle_OfAnAmendedResult_HoldsAllOfItAndNothingOfOthers()
    {
        var others = State.Cartridges.Where(one => one.Id.Value != "R06")
            .SelectMany(one => new[] { one.Wanted.Request.Specimen.Value, one.Id.Value }).ToList();
        await CloseABatch();
        var shown = Desk.Find("bench-1", 1, "R06")!;
        Assert.Empty(await Desk.AmendAsync(Ines, shown,
            new WantedAmendment($">{Desk.RuleOf(shown).Measuring.To!.Value * 10}", "Read again.", "Dr. Invented")
            { ReadBack = true }));

        var files = await Unpacked("ines");
        Assert.Equal(["index.html", "cartridge.csv", "amendments.csv", "values.csv", "duties.csv", "steps.csv",
            "temperatures.csv", "controls.csv", "control-actions.csv", "lots.csv", "sheet.csv", "happenings.csv",
            "sheet.json", "events.jsonl", "proof.txt", "manifest.json"], files.Keys);
        Assert.All(files, file => Assert.DoesNotContain(others, other => Says(file.Value, other)));

        var page = Text(files["index.html"]);
        Assert.Contains("<h1>Bundle for inspection: SP-005", page, StringComparison.Ordinal);
        Assert.Contains("told and read back", page, StringComparison.Ordinal);
        Assert.DoesNotContain("<script", page, StringComparison.Ordinal);
        var values = Text(files["values.csv"]).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(3, values.Length);
        Assert.StartsWith("\"1.8 ", values[1], StringComparison.Ordinal);
        Assert.Contains("\"Read again.\"", values[2], StringComparison.Ordinal);
        Assert.Contains("\"Dr. Invented\"", Text(files["duties.csv"]), StringComparison.Ordinal);
        Assert.Equal(8, Text(files["steps.csv"]).Split("\r\n").Length);
        Assert.Contains("DB-L1", Text(files["lots.csv"]), StringComparison.Ordinal);
        Assert.Contains("\"fields\"", Text(files["sheet.json"]), StringComparison.Ordinal);
    }

    /// <summary>A file that was changed since is found by the manifest; a row by its hash, and by the head.</summary>
    [Fact]
    public async Task Bundle_ProvesItself()
    {
        await CloseABatch();
        var shown = Desk.Find("bench-1", 1, "R06")!;
        Assert.Empty(await Desk.AmendAsync(Ines, shown, new WantedAmendment("1.9", "Read again.", null)));
        var files = await Unpacked("ines");
        using var manifest = JsonDocument.Parse(files["manifest.json"]);
        var listed = manifest.RootElement.GetProperty("files").EnumerateArray().ToDictionary(
            one => one.GetProperty("name").GetString()!, one => one.GetProperty("sha256").GetString());
        Assert.Equal(files.Keys.Where(name => name != "manifest.json"), listed.Keys);
        Assert.All(listed, one => Assert.Equal(Convert.ToHexStringLower(SHA256.HashData(files[one.Key])), one.Value));

        var head = Text(files["proof.txt"]).Split('\n')[1];
        Assert.True(PrintedHead.TryParse(head, out var note));
        var log = server.Services.GetRequiredService<DataFile>().Log;
        Assert.Equal(note, log.Note(note.Stream, note.Sequence));
        Assert.Contains($"incubation verify-log FILE --head \"{head}\"", Text(files["proof.txt"]),
            StringComparison.Ordinal);
        var rows = Text(files["events.jsonl"]).Split('\n', StringSplitOptions.RemoveEmptyEntries)
            .Select(line => JsonDocument.Parse(line).RootElement).ToList();
        Assert.Contains(rows, row => row.GetProperty("eventType").GetString() == "result-entered");
        Assert.Contains(rows, row => row.GetProperty("eventType").GetString() == "closed-result-amended");
        Assert.All(rows, row =>
        {
            Assert.Equal("R06", row.GetProperty("payload").GetProperty("request").GetString());
            Assert.Equal(log.ReadAll(StreamOf(row), row.GetProperty("sequence").GetInt64() - 1).First().Header.Hash
                .ToString(), row.GetProperty("hash").GetString());
        });
    }

    [Fact]
    public async Task Bundle_IsTakenOutByASupervisorAlone_AndThatIsRecorded()
    {
        await CloseABatch();
        using (var aide = server.ClientAs("lena"))
        using (var answer = await aide.GetAsync(new Uri(Bundle, UriKind.Relative), Cancel))
            Assert.NotEqual(HttpStatusCode.OK, answer.StatusCode);
        Assert.DoesNotContain(Exported(), what => what.StartsWith("bundle", StringComparison.Ordinal));
        await Unpacked("ines");
        Assert.Equal("bundle bench-1/1/R06", Assert.Single(Exported()));
        using var ines = server.ClientAs("ines");
        foreach (var nowhere in new[] { "/record/bench-1/1/bundle.zip?request=R99", "/record/bench-1/1/bundle.zip",
            "/record/bench-1/99/bundle.zip?request=R06", "/record/nowhere/1/bundle.zip?request=R06" })
        {
            using var answer = await ines.GetAsync(new Uri(nowhere, UriKind.Relative), Cancel);
            Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        }

        Assert.Single(Exported());
        Assert.Contains("bundle.zip?request=R06", await Page("/record/bench-1/1", "ines"), StringComparison.Ordinal);
        Assert.Contains("bundle.zip?request=R06", await Page("/record", "ines"), StringComparison.Ordinal);
        Assert.DoesNotContain("bundle.zip", await Page("/record", "lena"), StringComparison.Ordinal);
    }

    private IEnumerable<string> Exported() => server.Services.GetRequiredService<ClinicHost>().Log.Entries()
        .Select(entry => entry.Event).OfType<ClinicEvent.RecordExported>().Select(exported => exported.What);

    private async Task<Dictionary<string, byte[]>> Unpacked(string person)
    {
        using var client = server.ClientAs(person);
        await using var stream = await client.GetStreamAsync(new Uri(Bundle, UriKind.Relative), Cancel);
        using var whole = new MemoryStream();
        await stream.CopyToAsync(whole, Cancel);
        using var archive = new ZipArchive(whole);
        var files = new Dictionary<string, byte[]>();
        foreach (var entry in archive.Entries)
        {
            using var bytes = new MemoryStream();
            await using (var from = await entry.OpenAsync(Cancel))
                await from.CopyToAsync(bytes, Cancel);
            files[entry.Name] = bytes.ToArray();
        }

        if (Environment.GetEnvironmentVariable("INCUBATION_PICTURES") is { } folder)
            await File.WriteAllBytesAsync(Path.Combine(folder, "bundle.html"), files["index.html"], Cancel);
        return files;
    }

    private static StreamName StreamOf(JsonElement row) =>
        StreamName.TryParse(row.GetProperty("stream").GetString(), out var stream)
            ? stream : throw new FormatException("This is no stream.");

    private static string Text(byte[] bytes) => Encoding.UTF8.GetString(bytes);

    /// <summary>Whether a file says a word: not as a part of another.</summary>
    private static bool Says(byte[] file, string word) =>
        System.Text.RegularExpressions.Regex.IsMatch(Text(file),
            $@"(?<![\w-]){System.Text.RegularExpressions.Regex.Escape(word)}(?![\w-])");
}
