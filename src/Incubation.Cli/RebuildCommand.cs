using System.CommandLine;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Integrity;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Cli;

/// <summary>
/// `rebuild-projections DATA`: makes the tables that are made from the record say what the record says, while the
/// server is stopped.
/// </summary>
internal static class RebuildCommand
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId AtConsole = new("console");

    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var command = new Command("rebuild-projections", Words.RebuildDescription) { data };
        var key = new KeyPlace();
        key.AddTo(command);
        command.SetAction(parsed => DataFiles.Try(error, () => Run(parsed.GetRequiredValue(data),
            key.Of(parsed, parsed.GetRequiredValue(data)), time.GetUtcNow().ToInstant(), output, error)));
        return command;
    }

    private static int Run(string data, string? key, Instant now, TextWriter output, TextWriter error)
    {
        if (!File.Exists(data))
            throw new FileNotFoundException(Say.Text(Words.EraseNoFile, data));
        using var file = DataFile.Open(data, new DataFileOptions(KeyFile: key));
        file.Log.RefuseCut();
        var clinic = ClinicLog.Open(file);
        var (before, after) = ProjectionRebuild.Run(file, clinic, new CartridgeProjection(file, clinic.Amended),
            new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now, Itself, AtConsole));
        DataFiles.Write([], before, output, error);
        if (before.Count > 0)
            output.WriteLine(after.Count == 0 ? Words.Rebuilt : Words.RebuiltNotAll);
        return after.Count > 0 ? ExitCode.RuleBroken : ExitCode.Done;
    }
}
