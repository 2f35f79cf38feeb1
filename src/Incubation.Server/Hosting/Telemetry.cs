using Incubation.Records;
using Incubation.Service.Benches;
using Incubation.Service.Settings;
using OpenTelemetry;
using OpenTelemetry.Metrics;
using OpenTelemetry.Resources;
using OpenTelemetry.Trace;

namespace Incubation.Server.Hosting;

/// <summary>Metrics and traces, sent by OTLP where a collector is named; else nothing is collected.</summary>
internal static class Telemetry
{
    private const string Service = "incubation";

    /// <summary>Adds what is collected. The usual OTEL_ variables say the protocol and the headers.</summary>
    public static void Add(WebApplicationBuilder builder, ServiceSettings settings)
    {
        if (settings.Telemetry is not { } collector)
            return;
        builder.Configuration.AddInMemoryCollection([new("OTEL_EXPORTER_OTLP_ENDPOINT", collector.ToString())]);
        builder.Services.AddOpenTelemetry()
            .ConfigureResource(resource =>
                resource.AddService(Service, serviceVersion: typeof(Telemetry).Assembly.GetName().Version?.ToString()))
            .WithMetrics(metrics => metrics
                .AddMeter(BenchMeter.Name, RecordsMeter.Name, "Microsoft.AspNetCore.Hosting",
                    "Microsoft.AspNetCore.Server.Kestrel", "Microsoft.AspNetCore.Http.Connections", "System.Runtime"))
            .WithTracing(traces => traces
                .AddSource(BenchMeter.Name)
                .AddAspNetCoreInstrumentation(options => options.Filter = context =>
                    !context.Request.Path.StartsWithSegments("/health", StringComparison.Ordinal)))
            .UseOtlpExporter();
    }
}
