
namespace Incubation.Service.Settings;

/// <summary>How the server shows itself to whoever looks after it, checked.</summary>
/// <param name="JsonLogs">Whether the log's lines are JSON, for a collector, rather than text.</param>
/// <param name="Telemetry">Where metrics and traces are sent by OTLP, or null.</param>
/// <param name="Webhook">Where alarms are sent that nobody has acknowledged, or null.</param>
public sealed record ServiceSettings(bool JsonLogs, Uri? Telemetry, Uri? Webhook)
{
    /// <summary>Reads the settings; every fault is a sentence in <paramref name="faults"/>.</summary>
    public static ServiceSettings Read(IConfiguration configuration, ICollection<string> faults)
    {
        var section = configuration.GetSection(ServerSettings.Section);
        var logs = section["Logs"];
        if (!string.IsNullOrWhiteSpace(logs) && logs is not ("text" or "json"))
            faults.Add(Text.Say.Of(SettingsWords.LogsFault, logs));
        return new ServiceSettings(logs == "json",
            ReadAddress(section["Telemetry"], SettingsWords.TelemetryFault, faults),
            ReadAddress(section["Webhook"], SettingsWords.WebhookFault, faults));
    }

    private static Uri? ReadAddress(string? text, string fault, ICollection<string> faults)
    {
        if (string.IsNullOrWhiteSpace(text))
            return null;
        if (Uri.TryCreate(text, UriKind.Absolute, out var address)
            && (address.Scheme == Uri.UriSchemeHttp || address.Scheme == Uri.UriSchemeHttps))
            return address;
        faults.Add(Text.Say.Of(fault, text));
        return null;
    }
}
