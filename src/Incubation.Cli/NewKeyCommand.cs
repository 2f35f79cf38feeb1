using System.CommandLine;
using Incubation.Records.Backup;
using NodaTime.Extensions;

namespace Incubation.Cli;

/// <summary>`new-key DATA`: gives a record whose key is lost for good a new one.</summary>
internal static class NewKeyCommand
{
    public static Command Build(TextWriter output, TextWriter error, TimeProvider time)
    {
        var data = new Argument<string>("DATA") { Description = Words.DataDescription };
        var key = new Option<string?>("--key") { Description = Words.NewKeyPathDescription, HelpName = "PATH" };
        var command = new Command("new-key", Words.NewKeyDescription) { data, key };
        command.SetAction(parsed => DataFiles.Try(error, () =>
        {
            var made = RecordKey.Renew(parsed.GetRequiredValue(data), parsed.GetValue(key),
                time.GetUtcNow().ToInstant());
            output.WriteLine(Say.Text(Words.NewKeyMade, made.Path));
            if (made.Secrets > 0)
                output.WriteLine(Say.Text(Words.NewKeySecretsLost, made.Secrets));
        }));
        return command;
    }
}
