using System.CommandLine;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Incubation.Records.Retention;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Cli;

/// <summary>`export DATA --to PATH --form csv|amendments|jsonl`: the whole record for other programs.</summary>
internal static class ExportCommand
{
    public static Command Build(TextWriter output, TextWriter error)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var to = new Option<string>("--to")
        {
            Description = Words.ExportToDescription,
            HelpName = "PATH",
            Required = true
        };
        var form = new Option<ExportForm>("--form")
        {
            Description = Words.ExportFormDescription,
            DefaultValueFactory = _ => ExportForm.Csv
        };
        var command = new Command("export", Words.ExportDescription) { data, to, form };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => output.WriteLine(Say.Text(
            Words.Exported, parsed.GetRequiredValue(to),
            RecordExport.Run(parsed.GetRequiredValue(data), key.Of(parsed, parsed.GetRequiredValue(data)),
                parsed.GetValue(form),
                parsed.GetRequiredValue(to))))));
        return command;
    }
}

/// <summary>
/// `erase-record DATA`: shows which batches' time is over, and erases them once their number is confirmed.
/// </summary>
internal static class EraseRecordCommand
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId AtConsole = new("console");

    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var confirm = new Option<int?>("--confirm")
        {
            Description = Words.EraseConfirmDescription,
            HelpName = "BATCHES"
        };
        var command = new Command("erase-record", Words.EraseDescription) { data, confirm };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => Run(parsed.GetRequiredValue(data),
            key.Of(parsed, parsed.GetRequiredValue(data)), parsed.GetValue(confirm),
            time.GetUtcNow().ToInstant(), output, error)));
        return command;
    }

    private static int Run(string data, string? key, int? confirm, Instant now, TextWriter output, TextWriter error)
    {
        var refused = false;
        var code = DataFiles.Try(error, () =>
        {
            if (!File.Exists(data))
                throw new FileNotFoundException(Say.Text(Words.EraseNoFile, data));
            using var file = DataFile.Open(data, new DataFileOptions(KeyFile: key));
            file.Log.RefuseCut();
            var clinic = ClinicLog.Open(file);
            var retention = new RecordRetention(file, clinic, new CartridgeProjection(file, clinic.Amended));
            var plan = retention.Preview(now);
            Write(plan, output);
            if (confirm is null && plan.Batches > 0)
                output.WriteLine(Say.Text(Words.EraseHow, plan.Batches));
            refused = confirm is { } number
                && (number != plan.Batches
                    ? Differs(number, plan, error)
                    : !plan.Benches.All(line => Erase(file, retention, line, now, output, error)));
        });
        return code == ExitCode.Done && refused ? ExitCode.NotUnderstood : code;
    }

    private static bool Differs(int confirmed, ErasurePlan plan, TextWriter error)
    {
        error.WriteLine(Say.Text(Words.EraseOtherNumber, confirmed, plan.Batches));
        return true;
    }

    private static void Write(ErasurePlan plan, TextWriter output)
    {
        output.WriteLine(Say.Text(plan.Batches == 0 ? Words.EraseNothing : Words.ErasePreview, plan.Months,
            plan.ClosedBefore, plan.Batches, plan.Cartridges));
        foreach (var line in plan.Benches)
            output.WriteLine(Say.Text(Words.EraseLine, line.Bench, line.FirstBatch, line.LastBatch, line.Cartridges,
                line.OldestClosed, line.NewestClosed));
    }

    private static bool Erase(DataFile file, RecordRetention retention, ErasureLine line, Instant now,
        TextWriter output, TextWriter error)
    {
        Provenance Provenance() => new(new ReportId(Guid.NewGuid().ToString("N")), now, now, Itself, AtConsole);
        var end = file.Log.Head(StreamName.OfBench(line.Bench)).Sequence;
        new BenchStreams(file)
            .Append(line.Bench, end,
                [new BenchEntry(new BenchEvent.CheckpointKept(line.UpTo, line.Checkpoint), Provenance())]);
        if (retention.Erase(line, Provenance()) is ClinicOutcome.Refused refused)
        {
            error.WriteLine(Say.Text(Words.EraseRefused, line.Bench, refused.Why));
            return false;
        }
        output.WriteLine(Say.Text(Words.Erased, line.Bench, line.FirstBatch, line.LastBatch, line.Cartridges));
        return true;
    }
}
