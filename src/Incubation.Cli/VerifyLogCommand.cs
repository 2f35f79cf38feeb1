using System.CommandLine;
using Incubation.Records.Backup;
using Incubation.Records.Integrity;
using Incubation.Records.Log;

namespace Incubation.Cli;

/// <summary>`verify-log DATA`: reads every row of a record and names the first bad one of each stream.</summary>
internal static class VerifyLogCommand
{
    public static Command Build(TextWriter output, TextWriter error)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var heads = new Option<string[]>("--head")
        {
            Description = Words.HeadDescription,
            HelpName = "\"STREAM ROW HASH SIGNATURE\""
        };
        var command = new Command("verify-log", Words.VerifyLogDescription) { data, heads };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => Run(parsed.GetRequiredValue(data),
            key.Of(parsed, parsed.GetRequiredValue(data)), parsed.GetValue(heads) ?? [], output, error)));
        return command;
    }

    private static int Run(string data, string? key, string[] heads, TextWriter output, TextWriter error)
    {
        var notes = new List<PrintedHead>();
        foreach (var head in heads)
        {
            if (!PrintedHead.TryParse(head, out var note))
            {
                error.WriteLine(Say.Text(Words.HeadFault, head));
                return ExitCode.NotUnderstood;
            }
            notes.Add(note);
        }

        var report = RecordCheck.Run(data, key, notes);
        Write(report, output, error);
        var judged = KeyPlace.Judge(report.Signatures, KeySearch.SignerOf(data), error);
        return report.IsWhole && report.Tables.NotReplayed.Count == 0 ? judged : ExitCode.RuleBroken;
    }

    private static void Write(RecordReport report, TextWriter output, TextWriter error)
    {
        var streams = report.Verdict.Streams;
        output.WriteLine(Say.Text(Words.VerifiedRows, report.Path, streams.Sum(stream => stream.Head.Sequence),
            streams.Count));
        output.WriteLine(!report.Verdict.IsSigned ? Words.VerifiedUnsigned : report.Key is { } name
            ? Say.Text(Words.VerifiedWithKey, name) : Words.VerifiedWithoutKey);
        foreach (var stream in streams)
            output.WriteLine(Say.Text(stream.Broken is null ? Words.ReportStream : Words.ReportStreamBroken,
                stream.Stream, stream.Head.Sequence, stream.Head.Hash));
        foreach (var (note, verdict) in report.Notes)
            (verdict is NoteVerdict.Stands or NoteVerdict.StandsUnsigned ? output : error)
                .WriteLine(Say.Text(WordsOf(verdict), note.Stream, note.Sequence));
        DataFiles.Write(report.Verdict.Faults.Select(fault => fault.Message), report.Tables, output, error);
        foreach (var one in report.Wire)
            error.WriteLine(Say.Text(WordsOf(one.Fault), one.Message));
        if (report.IsWhole)
            output.WriteLine(report.Tables.Behind.Count == 0 ? Words.VerifiedWhole : Words.VerifiedWholeNotCompared);
    }

    private static string WordsOf(WireFault fault) => fault switch
    {
        WireFault.Changed => Words.WireChanged,
        WireFault.Missing => Words.WireMissing,
        _ => Words.WireUnknown,
    };

    private static string WordsOf(NoteVerdict verdict) => verdict switch
    {
        NoteVerdict.Stands => Words.NoteStands,
        NoteVerdict.StandsUnsigned => Words.NoteStandsUnsigned,
        NoteVerdict.RowMissing => Words.NoteRowMissing,
        NoteVerdict.RowDiffers => Words.NoteRowDiffers,
        _ => Words.NoteSignatureDiffers,
    };
}
