using System.CommandLine;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Clinic;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Cli;

/// <summary>
/// `copies DATA`: lists the copies of a data file that this program left beside it, and erases old ones.
/// </summary>
internal static class CopiesCommand
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId AtConsole = new("console");

    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var erase = new Option<bool>("--erase") { Description = Words.CopiesEraseDescription };
        var command = new Command("copies", Words.CopiesDescription) { data, erase };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => Run(parsed.GetRequiredValue(data),
            () => key.Of(parsed, parsed.GetRequiredValue(data)), parsed.GetValue(erase), time.GetUtcNow().ToInstant(),
            output)));
        return command;
    }

    private static void Run(string data, Func<string?> key, bool erase, Instant now, TextWriter output)
    {
        if (!File.Exists(data))
            throw new FileNotFoundException(Say.Text(Words.EraseNoFile, data));
        var copies = LeftCopies.Of(data, now);
        foreach (var copy in copies)
            output.WriteLine(Say.Text(Words.CopyLine, copy.Name, copy.Made, (copy.Bytes + 999_999) / 1_000_000,
                WordsOf(copy.Cause), WordsOf(copy.Fate)));
        output.WriteLine(copies.Count == 0 ? Say.Text(Words.CopiesNone, data)
            : Say.Text(Words.CopiesRule, LeftCopies.KeptDays));
        if (!erase)
            return;
        using var file = DataFile.Open(data, new DataFileOptions(KeyFile: key()));
        file.Log.RefuseCut();
        var erased = LeftCopies.EraseDue(file, ClinicLog.Open(file),
            new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now, Itself, AtConsole));
        output.WriteLine(Say.Text(Words.CopiesErased, erased.Count));
    }

    private static string WordsOf(CopyCause cause) => cause switch
    {
        CopyCause.BeforeUpgrade => Words.CopyBeforeUpgrade,
        CopyCause.Replaced => Words.CopyReplaced,
        _ => Words.CopyCutShort,
    };

    private static string WordsOf(CopyFate fate) => fate switch
    {
        CopyFate.Due => Words.CopyDue,
        CopyFate.MayBeOnly => Words.CopyOnly,
        _ => Words.CopyYoung,
    };
}
