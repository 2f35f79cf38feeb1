using System.Globalization;
using Incubation.Service.Settings;

namespace Incubation.Server.Hosting;

/// <summary>The command line: what was asked for, or a sentence for each thing that cannot be understood.</summary>
/// <param name="Values">Configuration keys and values that the command line sets.</param>
/// <param name="Help">Whether only the help was asked for.</param>
/// <param name="Health">Whether the server that runs is to be asked how it is.</param>
/// <param name="Faults">What cannot be understood.</param>
public sealed record ServerArguments(IReadOnlyDictionary<string, string?> Values, bool Help,
    bool Health, IReadOnlyList<string> Faults)
{
    private static readonly Dictionary<string, string> Options = new(StringComparer.OrdinalIgnoreCase)
    {
        ["--data"] = ServerSettings.Section + ":Data",
        ["--record-key"] = ServerSettings.Section + ":RecordKey",
        ["--config"] = ServerSettings.Section + ":Config",
        ["--demo"] = ServerSettings.Section + ":Demo",
        ["--pace"] = ServerSettings.Section + ":Pace",
        ["--search-budget"] = ServerSettings.Section + ":SearchBudget",
        ["--seed"] = ServerSettings.Section + ":Seed",
        ["--passkey-domain"] = ServerSettings.Section + ":PasskeyDomain",
        ["--remove-passkeys"] = ServerSettings.Section + ":RemovePasskeysOf",
        ["--new-code"] = ServerSettings.Section + ":NewCodeFor",
        ["--urls"] = "urls",
        ["--certificate"] = ServerSettings.Section + ":Certificate",
        ["--certificate-key"] = ServerSettings.Section + ":CertificateKey",
        ["--trusted-proxy"] = ServerSettings.Section + ":TrustedProxy",
        ["--hosts"] = "AllowedHosts",
        // What hosts and test hosts pass along.
        ["--environment"] = "environment",
        ["--contentRoot"] = "contentRoot",
        ["--applicationName"] = "applicationName",
    };

    private static readonly Dictionary<string, string> Flags = new(StringComparer.OrdinalIgnoreCase)
    {
        ["--autopilot"] = ServerSettings.Section + ":Autopilot",
        ["--demo-readers"] = ServerSettings.Section + ":DemoReaders",
        ["--sign-as-it-stands"] = ServerSettings.Section + ":SignAsItStands",
        ["--month"] = ServerSettings.Section + ":Month",
    };

    /// <summary>Reads the command line.</summary>
    public static ServerArguments Read(IReadOnlyList<string> arguments)
    {
        var values = new Dictionary<string, string?>(StringComparer.OrdinalIgnoreCase);
        var faults = new List<string>();
        var (help, health) = (false, false);
        for (var at = 0; at < arguments.Count; at++)
        {
            var (name, value) = Split(arguments[at]);
            if (name is "--help" or "-h" or "-?")
                help = true;
            else if (name == "--health")
                health = true;
            else if (Flags.TryGetValue(name, out var flag))
                values[flag] = value ?? "true";
            else if (name == "--" + ServerSettings.Section && string.IsNullOrEmpty(value))
                continue; // A host that passes its configuration along names the section itself too.
            else if (KeyOf(name) is not { } key)
                faults.Add(Say(HostWords.UnknownArgument, arguments[at]));
            else if (value is not null)
                values[key] = value;
            else if (at + 1 < arguments.Count && !arguments[at + 1].StartsWith("--", StringComparison.Ordinal))
                values[key] = arguments[++at];
            else
                faults.Add(Say(HostWords.ArgumentNeedsValue, name));
        }

        return new ServerArguments(values, help, health, faults);
    }

    private static string? KeyOf(string name) =>
        Options.TryGetValue(name, out var key) ? key
        : name.StartsWith("--", StringComparison.Ordinal) && name.Contains(':', StringComparison.Ordinal) ? name[2..]
        : null;

    private static (string Name, string? Value) Split(string argument)
    {
        var equals = argument.IndexOf('=', StringComparison.Ordinal);
        return equals < 0 ? (argument, null) : (argument[..equals], argument[(equals + 1)..]);
    }

    private static string Say(string sentence, string thing) =>
        string.Format(CultureInfo.CurrentCulture, sentence, thing);
}
