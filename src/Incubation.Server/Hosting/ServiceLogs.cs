using Incubation.Service.Settings;

namespace Incubation.Server.Hosting;

/// <summary>
/// The log's lines: text, or one JSON object a line for a collector. They name benches, commands and faults, never
/// specimens, requests or results.
/// </summary>
internal static class ServiceLogs
{
    public static void Add(ILoggingBuilder logging, ServiceSettings settings)
    {
        if (!settings.JsonLogs)
            return;
        logging.ClearProviders();
        logging.AddJsonConsole(options =>
        {
            options.UseUtcTimestamp = true;
            options.TimestampFormat = "O";
            options.IncludeScopes = true;
        });
    }
}
