using Incubation.Service.Settings;

namespace Incubation.Server.Hosting;

/// <summary>
/// Finds settings that nothing reads: a mistyped name would else silently leave the usual value in force.
/// </summary>
internal static class SettingNames
{
    /// <summary>Every member of the section. A new setting must be named here, or the server refuses it.</summary>
    public static readonly string[] Known =
        ["Data", "Demo", "Autopilot", "Month", "Pace", "SearchBudget", "Seed", "Config", "Logs", "Telemetry",
            "Webhook", "Certificate", "CertificateKey", "CertificatePassword", "TrustedProxy",
         "TabletIdle", "BrowserIdle", "NewCodeFor", "ExpiryWarning", "RecordKey", "CommandRate",
            "Patience", "SignAsItStands", "PasskeyDomain", "RemovePasskeysOf", "InspectorDays", "EscalateAfter",
            "EscalateTo", "LabelScans", "DemoReaders"];

    /// <summary>A name this far from a known one, in letters, is probably meant for it.</summary>
    private const int Near = 3;

    /// <summary>Adds a sentence for each unknown member, wherever it was set.</summary>
    public static void Check(IConfiguration configuration, ICollection<string> faults)
    {
        foreach (var member in configuration.GetSection(ServerSettings.Section).GetChildren())
            if (!Known.Contains(member.Key, StringComparer.OrdinalIgnoreCase))
                faults.Add(Unknown(member.Path, [.. Known.Select(name => $"{ServerSettings.Section}:{name}")], null));
    }

    /// <summary>The sentence for an unknown name, with the one that may be meant.</summary>
    public static string Unknown(string name, IReadOnlyList<string> known, string? where)
    {
        var nearest = known.MinBy(other => Distance(name, other))!;
        var sentence = Distance(name, nearest) <= Near
            ? Service.Text.Say.Of(HostWords.SettingUnknownNear, name, nearest)
            : Service.Text.Say.Of(HostWords.SettingUnknown, name, string.Join(", ", known));
        return where is null ? sentence : $"{where}: {sentence}";
    }

    /// <summary>Letters to insert, leave out or change (Levenshtein), case apart.</summary>
    private static int Distance(string one, string other)
    {
        var row = Enumerable.Range(0, other.Length + 1).ToArray();
        for (var i = 1; i <= one.Length; i++)
        {
            var diagonal = row[0];
            row[0] = i;
            for (var j = 1; j <= other.Length; j++)
            {
                var change = diagonal + (char.ToUpperInvariant(one[i - 1]) == char.ToUpperInvariant(other[j - 1])
                    ? 0 : 1);
                diagonal = row[j];
                row[j] = Math.Min(change, Math.Min(row[j], row[j - 1]) + 1);
            }
        }

        return row[^1];
    }
}
