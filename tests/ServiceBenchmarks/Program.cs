using System.CommandLine;
using System.Globalization;
using Incubation.ServiceBenchmarks;

var server = new Option<string>("--server") { Required = true };
var cli = new Option<string?>("--cli");
var alone = new Option<bool>("--server-alone");
var figures = new Option<string?>("--figures");
var demo = new Option<string>("--demo") { Required = true };
var work = new Option<string>("--work") { Required = true };
var events = new Option<long>("--events") { DefaultValueFactory = _ => 100_000 };
var record = new Option<bool>("--record-alone");
var reports = new Option<bool>("--reports-alone");
var integrity = new Option<bool>("--integrity-alone");
var outbox = new Option<bool>("--outbox-alone");
var lists = new Option<bool>("--lists-alone");
var runs = new Option<int>("--runs") { DefaultValueFactory = _ => 5 };
var command = new RootCommand("Measures the server as a service.") { server, cli, demo, work, events, runs, record,
    reports, integrity, outbox, lists, alone, figures };
command.SetAction(async (parsed, cancel) =>
{
    var dll = parsed.GetRequiredValue(server);
    string At(string name) => Path.Combine(parsed.GetRequiredValue(work), name);
    var many = parsed.GetValue(runs);

    if (parsed.GetValue(record))
    {
        WriteRecord(RecordRun.Measure(At("record.db")));
        return 0;
    }

    if (parsed.GetValue(reports))
    {
        WriteReports(ReportRun.Measure(At("reports.db")));
        return 0;
    }

    if (parsed.GetValue(lists))
    {
        WriteLists(await ListRun.MeasureAsync(dll, parsed.GetRequiredValue(demo), parsed.GetRequiredValue(work)));
        return 0;
    }

    if (parsed.GetValue(integrity))
    {
        MakeLong(At("long.db"), parsed.GetValue(events));
        WriteIntegrity(await IntegrityRun.MeasureAsync(parsed.GetValue(cli)!, At("long.db"),
            parsed.GetRequiredValue(work)));
        return 0;
    }

    if (parsed.GetValue(outbox))
    {
        MakeLong(At("long.db"), parsed.GetValue(events));
        WriteOutbox(await OutboxRun.MeasureAsync(At("long.db"), most: 10_000));
        return 0;
    }

    var fresh = 0;
    var empty = await ServerRun.MedianAsync(many, () => ServerRun.MeasureAsync(dll, At($"empty-{++fresh}.db")));
    var begun = await ServerRun.MeasureAsync(dll, At("demo.db"), "--demo", parsed.GetRequiredValue(demo));
    var small = await ServerRun.MedianAsync(many,
        () => ServerRun.MeasureAsync(dll, At("demo.db"), "--demo", parsed.GetRequiredValue(demo)));
    Console.Error.WriteLine("Making the long log...");
    var made = LongLog.Make(At("long.db"), parsed.GetValue(events),
        done => Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {done} events")));
    var megabytes = new FileInfo(At("long.db")).Length / 1e6;
    var first = await ServerRun.MeasureAsync(dll, At("long.db"));
    var again = await ServerRun.MedianAsync(many, () => ServerRun.MeasureAsync(dll, At("long.db")));
    var backup = parsed.GetValue(cli) is { } program
        ? await BackupRun.MeasureAsync(program, At("long.db"), At("copy.db")) : null;

    void Line(string what, string figure, string target) => Console.WriteLine($"| {what} | {figure} | {target} |");
    string Seconds(TimeSpan length) => string.Create(CultureInfo.InvariantCulture, $"{length.TotalSeconds:0.00} s");
    string Milliseconds(TimeSpan length) =>
        string.Create(CultureInfo.InvariantCulture, $"{length.TotalMilliseconds:0} ms");
    Console.WriteLine("| what | measured | target |\n| --- | --- | --- |");
    Line("first page, new data file", Seconds(empty.FirstPage), "2 s");
    Line("first page, new demo", Seconds(begun.FirstPage), "2 s");
    Line("first page, demo that exists", Seconds(small.FirstPage), "2 s");
    Line(string.Create(CultureInfo.InvariantCulture,
        $"ready with {made} events ({megabytes:0} MB), first start: full replay"), Seconds(first.Ready), "");
    Line("the same, later starts", Seconds(again.Ready), "empty start + 3 s");
    Line("ready beyond an empty start: first, later",
        $"{Seconds(first.Ready - empty.Ready)}, {Seconds(again.Ready - empty.Ready)}", "3 s");
    Line("stop", $"{Seconds(small.Stop)}, {Seconds(again.Stop)}", "5 s");
    if (backup is not null)
    {
        Line("backup, verified and replayed", Seconds(backup.Backup), "5 s");
        Line($"slowest of {backup.Acknowledgements} acknowledgements meanwhile (median; slowest with no backup)",
            $"{Milliseconds(backup.Slowest)} ({Milliseconds(backup.Median)}; {Milliseconds(backup.SlowestBefore)})",
                "250 ms");
    }

    (string Name, TimeSpan? Length)[] measured =
    [
        ("first page, new data file", empty.FirstPage), ("first page, new demo", begun.FirstPage),
        ("first page, demo that exists", small.FirstPage), ("ready, long log, first start", first.Ready),
        ("ready, long log, later starts", again.Ready), ("backup", backup?.Backup),
    ];
    if (parsed.GetValue(figures) is { } path)
        await File.AppendAllLinesAsync(path, measured.Where(one => one.Length is not null).Select(one =>
            string.Create(CultureInfo.InvariantCulture, $"{one.Name}\t{one.Length!.Value.TotalSeconds:0.0000}")),
                cancel);
    WriteLists(await ListRun.MeasureAsync(dll, parsed.GetRequiredValue(demo), parsed.GetRequiredValue(work)));
    if (parsed.GetValue(alone))
        return 0;
    WriteRecord(RecordRun.Measure(At("record.db")));
    WriteReports(ReportRun.Measure(At("reports.db")));
    return 0;
});
return await command.Parse(args).InvokeAsync();

static void WriteRecord(IReadOnlyList<RecordRun> runs)
{
    Console.WriteLine(
        "| found among 100,000 cartridges | how many | median | slowest | target |\n| --- | --- | --- | --- | --- |");
    foreach (var run in runs)
        Console.WriteLine(
            string.Create(CultureInfo.InvariantCulture,
                $"| {run.What} | {run.Total} | {run.Median.TotalMilliseconds:0} ms | {run.Slowest.TotalMilliseconds:0} "
                + $"ms | 1 s |"));
}

static void WriteLists(IReadOnlyList<ListRun> runs)
{
    Console.WriteLine("| what | median | slowest | target |\n| --- | --- | --- | --- |");
    foreach (var run in runs)
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"| {run.What} | {run.Median.TotalSeconds:0.00} s | {run.Slowest.TotalSeconds:0.00} s | 2 s |"));
}

static void WriteIntegrity(IntegrityRun run)
{
    var invariant = CultureInfo.InvariantCulture;
    Console.WriteLine(string.Create(invariant,
        $"| rows compared; the tables filled at first | {run.Rows}; {run.CatchUp.TotalSeconds:0.0} s |"));
    Console.WriteLine(string.Create(invariant,
        $"| pieces; all together; the longest | {run.Pieces}; {run.Worked.TotalSeconds:0.0} s; "
        + $"{run.LongestPiece.TotalMilliseconds:0} ms |"));
    Console.WriteLine(string.Create(invariant,
        $"| memory more at most | {run.Bytes / 1e6:0} MB |"));
    Console.WriteLine(string.Create(invariant,
        $"| p50, p99 of {run.During.Count} acknowledgements meanwhile | "
        + $"{run.During[run.During.Count / 2].TotalMilliseconds:0.0}, "
        + $"{IntegrityRun.P99(run.During).TotalMilliseconds:0} ms |"));
    Console.WriteLine(string.Create(invariant,
        $"| of {run.Beside.Count} before and after | {run.Beside[run.Beside.Count / 2].TotalMilliseconds:0.0}, "
        + $"{IntegrityRun.P99(run.Beside).TotalMilliseconds:0} ms |"));
    Console.WriteLine(string.Create(invariant,
        $"| ratio of the p99 | {IntegrityRun.P99(run.During) / IntegrityRun.P99(run.Beside):0.00} |"));
    Console.WriteLine(string.Create(invariant,
        $"| export, verify-log, backup | {run.Export.TotalSeconds:0.0}, {run.Verify.TotalSeconds:0.0}, "
        + $"{run.Backup.TotalSeconds:0.0} s |"));
}

// A file that is there already is measured: making a long one takes much longer than what is measured with it.
static void MakeLong(string path, long events)
{
    if (!File.Exists(path))
        LongLog.Make(path, events,
            done => Console.Error.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {done} events")));
}

static void WriteOutbox(OutboxRun run)
{
    var invariant = CultureInfo.InvariantCulture;
    Console.WriteLine("| what | measured | target |\n| --- | --- | --- |");
    Console.WriteLine(string.Create(invariant,
        $"| {run.Results} results, each to ten destinations: all {run.Messages} messages taken | "
        + $"{run.Took.TotalSeconds:0.0} s | 60 s for 10,000 results |"));
    Console.WriteLine(string.Create(invariant,
        $"| then until the disk says so of each | {run.Marked.TotalSeconds:0.0} s | |"));
    Console.WriteLine(string.Create(invariant,
        $"| as many posts without an outbox; ratio | {run.Bare.TotalSeconds:0.0} s; {run.Took / run.Bare:0.00} | |"));
    Console.WriteLine(string.Create(invariant,
        $"| of the processors for a message, receiver and bench too; for a post; ratio | "
        + $"{run.Used.TotalMilliseconds / run.Messages:0.00}, {run.BareUsed.TotalMilliseconds / run.Messages:0.00} ms; "
        + $"{run.Used / run.BareUsed:0.0} | 1.2 ms on two cores |"));
    Console.WriteLine(string.Create(invariant, $"| memory more at most | {run.Bytes / 1e6:0} MB | |"));
    Console.WriteLine(string.Create(invariant,
        $"| p50, p99 of {run.During.Count} acknowledgements meanwhile | "
        + $"{run.During[run.During.Count / 2].TotalMilliseconds:0.0}, "
        + $"{IntegrityRun.P99(run.During).TotalMilliseconds:0} ms | p99 250 ms |"));
    Console.WriteLine(string.Create(invariant,
        $"| of {run.Beside.Count} before and after; ratio of the p99 | "
        + $"{run.Beside[run.Beside.Count / 2].TotalMilliseconds:0.0}, "
        + $"{IntegrityRun.P99(run.Beside).TotalMilliseconds:0} ms; "
        + $"{IntegrityRun.P99(run.During) / IntegrityRun.P99(run.Beside):0.00} | |"));
}

static void WriteReports(IReadOnlyList<ReportRun> runs)
{
    Console.WriteLine(
        "| every report with its chart, of | cartridges | median | slowest | target |\n"
        + "| --- | --- | --- | --- | --- |");
    foreach (var run in runs)
        Console.WriteLine(
            string.Create(CultureInfo.InvariantCulture,
                $"| {run.What} | {run.Cartridges} | {run.Median.TotalMilliseconds:0} ms | "
                + $"{run.Slowest.TotalMilliseconds:0} ms | 2 s |"));
}
