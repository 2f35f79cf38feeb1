using System.CommandLine;
using System.Text.Json;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Log;

namespace Incubation.Cli;

/// <summary>
/// Where a record's key is: where <c>--key</c> says, else where the service's own settings do (its variables, its
/// settings' file), else beside the data file. Of several the one counts by whose name the record is signed.
/// </summary>
internal sealed class KeyPlace
{
    /// <summary>Where the settings' file of an installed service lies (deploy/README.md).</summary>
    private const string UsualSettings = "/etc/incubation/incubation.json";

    private readonly Option<string?> key = new("--key") { Description = Words.KeyDescription, HelpName = "PATH" };
    private readonly Option<string?> config =
        new("--config") { Description = Words.ConfigDescription, HelpName = "FILE" };

    /// <summary>Gives a command the options.</summary>
    public void AddTo(Command command)
    {
        command.Add(key);
        command.Add(config);
    }

    /// <summary>
    /// Where the key may lie, the likeliest first. Throws <see cref="InvalidDataException"/> for settings that cannot
    /// be read, and <see cref="DataFileException"/> where the file that was named is not there.
    /// </summary>
    /// <param name="parsed">What was typed.</param>
    /// <param name="dataFile">The data file.</param>
    public IReadOnlyList<string> Candidates(ParseResult parsed, string dataFile)
    {
        if (parsed.GetValue(key) is { } named)
            return File.Exists(named) ? [named]
                : throw new FileNotFoundException(Say.Text(Words.KeyNotThere, named));
        var settings = parsed.GetValue(config) ?? Environment.GetEnvironmentVariable("INCUBATION_CONFIG")
            ?? (File.Exists(UsualSettings) ? UsualSettings : null);
        return
        [
            .. new[] { Environment.GetEnvironmentVariable("Incubation__RecordKey") }.OfType<string>(),
            .. settings is null ? [] : In(settings),
            SigningKey.PathBeside(dataFile),
        ];
    }

    /// <summary>The key of a data file; null where it is nowhere.</summary>
    public string? Of(ParseResult parsed, string dataFile) =>
        KeySearch.Choose(dataFile, Candidates(parsed, dataFile));

    /// <summary>
    /// Says on the standard error where signatures were not checked; the exit code.
    /// </summary>
    public static int Judge(SignatureCheck signatures, string? signer, TextWriter error)
    {
        if (signatures == SignatureCheck.Checked)
            return ExitCode.Done;
        error.WriteLine(signatures switch
        {
            SignatureCheck.Unsigned => Words.NotCheckedUnsigned,
            SignatureCheck.OtherKey => Say.Text(Words.NotCheckedOtherKey, signer ?? ""),
            _ => Say.Text(Words.NotCheckedNoKey, signer ?? ""),
        });
        return ExitCode.NotChecked;
    }

    /// <summary>The places that a settings' file names: its key, and what lies beside its data file.</summary>
    private static IEnumerable<string> In(string settings)
    {
        try
        {
            using var document = JsonDocument.Parse(File.ReadAllText(settings),
                new JsonDocumentOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
            var (named, data) = (Member(document.RootElement, "RecordKey"), Member(document.RootElement, "Data"));
            return [.. new[] { named, data is null ? null : SigningKey.PathBeside(data) }.OfType<string>()];
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            throw new InvalidDataException(Say.Text(Words.SettingsUnreadable, settings, e.Message), e);
        }
    }

    private static string? Member(JsonElement root, string name)
    {
        if (root.ValueKind != JsonValueKind.Object)
            return null;
        foreach (var member in root.EnumerateObject())
        {
            if (member.Name.Equals("Incubation:" + name, StringComparison.OrdinalIgnoreCase)
                && member.Value.ValueKind == JsonValueKind.String)
                return member.Value.GetString();
            if (!member.Name.Equals("Incubation", StringComparison.OrdinalIgnoreCase)
                || member.Value.ValueKind != JsonValueKind.Object)
                continue;
            foreach (var inner in member.Value.EnumerateObject())
                if (inner.Name.Equals(name, StringComparison.OrdinalIgnoreCase)
                    && inner.Value.ValueKind == JsonValueKind.String)
                    return inner.Value.GetString();
        }
        return null;
    }
}
