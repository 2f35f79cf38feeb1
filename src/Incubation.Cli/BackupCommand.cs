using System.CommandLine;
using System.ComponentModel;
using System.Diagnostics;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using NodaTime.Extensions;

namespace Incubation.Cli;

/// <summary>
/// `backup DATA --to BACKUP`: copies a data file, while its server runs, and proves that the copy replays.
/// </summary>
internal static class BackupCommand
{
    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var to = new Option<string>("--to")
        {
            Description = Words.BackupToDescription,
            HelpName = "PATH",
            Required = true
        };
        var recipient =
            new Option<string?>("--recipient") { Description = Words.RecipientDescription, HelpName = "CERTIFICATE" };
        var command = new Command("backup", Words.BackupDescription) { data, to, recipient };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => Run(parsed.GetRequiredValue(data),
            parsed.GetRequiredValue(to), key.Of(parsed, parsed.GetRequiredValue(data)), parsed.GetValue(recipient),
            output, error, time)));
        return command;
    }

    private static int Run(string data, string to, string? key, string? recipient, TextWriter output,
        TextWriter error, TimeProvider time)
    {
        StepBack();
        var now = time.GetUtcNow().ToInstant();
        // A folder gets a backup a time, each with a name of its own: what a timer needs.
        var target = Directory.Exists(to) || Path.EndsInDirectorySeparator(to)
            ? Path.Combine(to, DataBackup.NameAt(data, now)) : to;
        var report = DataBackup.Make(data, target, key, recipient);
        output.WriteLine(Say.Text(Words.BackupMade, report.Path));
        DataFiles.Write(report, output);
        DataFiles.Write(report.Seals.Select(unsealed => unsealed.Message), report.Tables, output, error);
        var judged = KeyPlace.Judge(report.Signatures, report.Signer, error);
        return report.Tables.Count > 0 || report.Seals.Count > 0 ? ExitCode.RuleBroken : judged;
    }

    /// <summary>
    /// The server that runs beside it comes first on the processor: reports are acknowledged while a backup is made.
    /// </summary>
    private static void StepBack()
    {
        try
        {
            using var self = Process.GetCurrentProcess();
            self.PriorityClass = ProcessPriorityClass.BelowNormal;
        }
        catch (Exception e) when (e is Win32Exception or PlatformNotSupportedException)
        {
            // Where the system does not let it, the backup is made all the same.
        }
    }
}

/// <summary>`restore BACKUP --data DATA`: puts a backup in the place of a data file.</summary>
internal static class RestoreCommand
{
    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var backup = new Argument<string>("BACKUP") { Description = Words.BackupFileDescription };
        var data = new Option<string>("--data")
        {
            Description = Words.DataDescription,
            HelpName = "DATA",
            Required = true
        };
        var force = new Option<bool>("--force") { Description = Words.ForceDescription };
        var opener =
            new Option<string?>("--private-key") { Description = Words.PrivateKeyDescription, HelpName = "PATH" };
        var unsigned = new Option<bool>("--sign-as-it-stands") { Description = Words.SignAsItStandsDescription };
        var command = new Command("restore", Words.RestoreDescription) { backup, data, force, unsigned, opener };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => Run(
            parsed.GetRequiredValue(backup), parsed.GetRequiredValue(data), parsed.GetValue(force),
            new RestoreOptions(key.Candidates(parsed, parsed.GetRequiredValue(data)), parsed.GetValue(unsigned),
                parsed.GetValue(opener)),
            output, error, time)));
        return command;
    }

    private static int Run(string backup, string data, bool force, RestoreOptions options, TextWriter output,
        TextWriter error, TimeProvider time)
    {
        if (options.PrivateKey is not null)
            output.WriteLine(Words.RestoreNeedsPrivateKey);
        else if (KeySearch.SignerOf(backup) is { } signer)
            output.WriteLine(Say.Text(Words.RestoreNeeds, signer,
                KeySearch.Choose(backup, options.KeyFiles ?? []) ?? Words.RestoreKeyNowhere));
        var done = DataRestore.Run(backup, data, force, time.GetUtcNow().ToInstant(), options);
        output.WriteLine(Say.Text(Words.Restored, done.Restored.Path));
        if (done.Kept is { } kept)
            output.WriteLine(Say.Text(Words.RestoreKept, kept));
        DataFiles.Write(done.Restored, output);
        DataFiles.Write(done.Restored.Seals.Select(unsealed => Say.Text(Words.RestoreLeftOut, unsealed.Stream)),
            done.Restored.Tables, output, error);
        if (done.Restored.Tables.Count > 0)
            output.WriteLine(Words.RestoreMakesAnew);
        return KeyPlace.Judge(done.Restored.Signatures, done.Restored.Signer, error);
    }
}

/// <summary>What commands on data files have in common.</summary>
internal static class DataFiles
{
    /// <summary>Does something with a data file; what stands in the way is told in its own sentence.</summary>
    public static int Try(TextWriter error, Action act) => Try(error, () =>
    {
        act();
        return ExitCode.Done;
    });

    /// <summary>The same for something that has an exit code of its own.</summary>
    public static int Try(TextWriter error, Func<int> act)
    {
        try
        {
            return act();
        }
        catch (BackupException fault)
        {
            error.WriteLine(fault.Message);
            return fault.Problem == BackupProblem.Broken ? ExitCode.RuleBroken : ExitCode.NotUnderstood;
        }
        catch (Exception fault) when (fault is LogBrokenException or UnreadableEventException)
        {
            error.WriteLine(fault.Message);
            return ExitCode.RuleBroken;
        }
        catch (Exception fault)
            when (fault is DataFileException or AppendException or IOException or UnauthorizedAccessException
                or InvalidDataException)
        {
            error.WriteLine(fault.Message);
            return ExitCode.NotUnderstood;
        }
    }

    /// <summary>
    /// Says what a data file holds: the heads, noted elsewhere, prove later that nothing was cut off.
    /// </summary>
    public static void Write(DataFileReport report, TextWriter output)
    {
        output.WriteLine(report.LastArrived is { } last
            ? Say.Text(Words.ReportEvents, report.Events, last)
            : Words.ReportEmpty);
        foreach (var stream in report.Streams)
            output.WriteLine(Say.Text(Words.ReportStream, stream.Stream, stream.Head.Sequence, stream.Head.Hash));
    }

    /// <summary>
    /// Says what is wrong: the faults that were found, then in what the tables differ from the record that they are
    /// made from.
    /// </summary>
    public static void Write(IEnumerable<string> faults, ProjectionVerdict tables, TextWriter output, TextWriter error)
    {
        foreach (var fault in faults)
            error.WriteLine(fault);
        foreach (var difference in tables.Differences)
            error.WriteLine(difference.Message);
        foreach (var stream in tables.NotReplayed)
            error.WriteLine(Say.Text(Words.TablesNotReplayed, stream));
        if (tables.Count > 0)
            error.WriteLine(Say.Text(Words.TablesDiffer, tables.Count));
        else if (tables.Rows > 0)
            output.WriteLine(Say.Text(Words.TablesAgree, tables.Rows));
        if (tables.Behind.Count > 0)
            output.WriteLine(Say.Text(Words.TablesBehind, string.Join(", ", tables.Behind)));
    }
}
