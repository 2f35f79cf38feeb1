using System.CommandLine;
using System.CommandLine.Help;

namespace Incubation.Cli;

/// <summary>
/// The program `incubation`: planning, checking, simulating, backing up and restoring without a browser. The README of
/// the exchange room is its contract.
/// </summary>
public static class CommandLine
{
    /// <summary>Runs one command.</summary>
    /// <param name="args">The command's words, without the program's name.</param>
    /// <param name="output">Where what was asked for is told.</param>
    /// <param name="error">Where what is wrong is told.</param>
    /// <param name="time">Measures the time that a search may take, and gives files made by a clock their
    /// names.</param>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public static int Run(IReadOnlyList<string> args, TextWriter output, TextWriter error, TimeProvider time)
    {
        var program = new Command("incubation", Words.ProgramDescription)
        {
            PlanCommand.Build(output, error, time),
            CheckCommand.Build(output, error),
            SimulateCommand.Build(output, error),
            CapacityCommand.Build(output, error),
            BackupCommand.Build(output, error, time),
            RestoreCommand.Build(output, error, time),
            VerifyLogCommand.Build(output, error),
            RebuildCommand.Build(output, error, time),
            NewKeyCommand.Build(output, error, time),
            ExportCommand.Build(output, error),
            CopiesCommand.Build(output, error, time),
            EraseRecordCommand.Build(output, error, time),
            new HelpOption(),
            new VersionOption(),
        };
        // A word that begins with @ is a file's name like any other.
        var parsed = program.Parse(args, new ParserConfiguration { ResponseFileTokenReplacer = null });
        if (parsed.Errors.Count == 0 || parsed.Action is HelpAction)
            return parsed.Invoke(new InvocationConfiguration { Output = output, Error = error });
        foreach (var fault in parsed.Errors)
            error.WriteLine(fault.Message);
        error.WriteLine(Words.TryHelp);
        return ExitCode.NotUnderstood;
    }
}
