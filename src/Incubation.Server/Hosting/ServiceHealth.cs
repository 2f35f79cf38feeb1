using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Records;
using Incubation.Records.Log;
using Incubation.Service.Alarms;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.Hosting;
using Incubation.Service.People;
using Incubation.Service.Record;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Diagnostics.HealthChecks;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using NodaTime;

namespace Incubation.Server.Hosting;

/// <summary>
/// What a service manager asks: <c>/health/live</c>, whether the process answers; <c>/health/ready</c>, whether it can
/// do its work. Both say nothing about patients and need no sign-in.
/// </summary>
internal static class ServiceHealth
{
    /// <summary>Whether the process answers.</summary>
    public const string LivePath = "/health/live";

    /// <summary>Whether the log can be written, every bench runs and the time is agreed.</summary>
    public const string ReadyPath = "/health/ready";

    /// <summary>Adds the checks.</summary>
    public static void Add(IServiceCollection services)
    {
        services.AddSingleton<LogWritableCheck>();
        services.AddSingleton<RecordWatch>();
        services.AddHostedService(provider => provider.GetRequiredService<RecordWatch>());
        services.AddHealthChecks()
            .AddCheck<LogWritableCheck>("log")
            .AddCheck<RecordWatch>("record")
            .AddCheck<TableWatch>("tables")
            .AddCheck<RunnersCheck>("benches")
            .AddCheck<PlanningCheck>("planning")
            .AddCheck<ClockCheck>("clock")
            .AddCheck<ConnectionsCheck>("connections");
    }

    /// <summary>Maps both addresses.</summary>
    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapHealthChecks(LivePath, new HealthCheckOptions { Predicate = _ => false, ResponseWriter = WriteAsync })
            .AllowAnonymous();
        app.MapHealthChecks(ReadyPath, new HealthCheckOptions { ResponseWriter = WriteAsync }).AllowAnonymous();
    }

    private static Task WriteAsync(HttpContext context, HealthReport report) => context.Response.WriteAsJsonAsync(new
    {
        ok = report.Status == HealthStatus.Healthy,
        checks = report.Entries.ToDictionary(
            check => check.Key,
            check => new { ok = check.Value.Status == HealthStatus.Healthy, sentence = check.Value.Description }),
    });
}

/// <summary>
/// Whether the log can be written: writes and flushes a page of the data file, at most every few seconds.
/// </summary>
internal sealed class LogWritableCheck(DataFile file, TimeProvider time) : IHealthCheck
{
    /// <summary>Anyone may ask; the disk is not worn out by it.</summary>
    private static readonly TimeSpan KeepFor = TimeSpan.FromSeconds(2);

    private readonly Lock gate = new();
    private (long At, HealthCheckResult Result)? last;

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default)
    {
        lock (gate)
        {
            if (last is not { } kept || time.GetElapsedTime(kept.At) >= KeepFor)
                last = kept = (time.GetTimestamp(), Check());
            return Task.FromResult(kept.Result);
        }
    }

    private HealthCheckResult Check()
    {
        try
        {
            file.ProveWritable();
            return HealthCheckResult.Healthy();
        }
        catch (AppendException fault)
        {
            return HealthCheckResult.Unhealthy(fault.Message);
        }
    }
}

/// <summary>Whether every bench of the clinic has its runner, hears commands and can trust its log.</summary>
internal sealed class RunnersCheck(BenchRegistry benches, ClinicHost clinic) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default)
    {
        var stopped = benches.All.Where(runner => !runner.IsRunning).Select(runner => runner.Id.Value)
            .Concat(clinic.Catalogue.Benches().Select(bench => bench.Bench.Value)
                .Where(bench => benches.Find(bench) is null))
            .ToList();
        return Task.FromResult(stopped.Count == 0
            ? HealthCheckResult.Healthy()
            : HealthCheckResult.Unhealthy(Say.Of(HostWords.HealthBenchesStopped, string.Join(", ", stopped))));
    }
}

/// <summary>
/// Whether every bench can plan. One that plans without a request does its work: that is said, and the answer's status
/// stays that of a server that is well.
/// </summary>
internal sealed class PlanningCheck(BenchRegistry benches) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default)
    {
        var faults = benches.All.Select(FaultOf).OfType<(bool Works, string Sentence)>().ToList();
        var sentences = string.Join(" ", faults.OrderBy(fault => fault.Works).Select(fault => fault.Sentence));
        return Task.FromResult(faults.Count == 0
            ? HealthCheckResult.Healthy()
            : faults.TrueForAll(fault => fault.Works)
                ? HealthCheckResult.Degraded(sentences) : HealthCheckResult.Unhealthy(sentences));
    }

    private static (bool Works, string Sentence)? FaultOf(BenchRunner runner)
    {
        var state = runner.Present.State;
        if (!runner.ShowsItself)
            return (false, Say.Of(HostWords.HealthBenchNotShown, runner.Id));
        return state.Run.Trouble switch
        {
            { Works: false, Because: { } because } when AlarmText.PlaceOf(state, because) is { } place =>
                (false, Say.Of(HostWords.HealthCannotPlanBecause, runner.Id, place)),
            { Works: false } => (false, Say.Of(HostWords.HealthCannotPlan, runner.Id)),
            { SetAside.IsEmpty: false } trouble => (true, Say.Of(
                trouble.SetAside.All(aside => state.Find(aside.Request) is { } cartridge
                    && PlanObstacles.IsTooFar(cartridge, runner.Present.View.At))
                    ? HostWords.HealthSetAsideTooFar : HostWords.HealthSetAside,
                runner.Id, trouble.SetAside.Length)),
            { WithoutEnd: { IsEmpty: false } resources } =>
                (true, Say.Of(HostWords.HealthWithoutEnd, runner.Id, resources.Length)),
            _ => null,
        };
    }
}

/// <summary>Whether the server's time is agreed.</summary>
internal sealed class ClockCheck(ClockGuard guard) : IHealthCheck
{
    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default) =>
        Task.FromResult(guard.Doubt is { } doubt
            ? HealthCheckResult.Unhealthy(doubt.Sentence) : HealthCheckResult.Healthy());
}

/// <summary>
/// Whether every destination takes its messages, and no certificate ends soon. The server does its work all
/// the same: what waits lies on the disk.
/// </summary>
internal sealed class ConnectionsCheck(ClinicHost clinic, OutboxSender sender, CertificateEnds certificates,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real) : IHealthCheck
{
    private static readonly Duration Patience = Duration.FromMinutes(15);

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default)
    {
        var now = Instant.FromDateTimeOffset(real.GetUtcNow());
        var faults = clinic.Log.Connections.InUse.Select(one => FaultOf(one, sender.FiguresOf(one.Id), now))
            .OfType<string>().ToList();
        faults.AddRange(certificates.Soonest(clinic.Log.Connections.InUse, now).Select(one => one.End > now
            ? Say.Of(HostWords.HealthCertificateEnds, one.Connection.Id, (one.End - now).Days)
            : Say.Of(HostWords.HealthCertificateEnded, one.Connection.Id)));
        return Task.FromResult(faults.Count == 0 ? HealthCheckResult.Healthy()
            : HealthCheckResult.Degraded(string.Join(" ", faults)));
    }

    /// <summary>By its name in the log: who asks here need not be signed in.</summary>
    private static string? FaultOf(Connection connection, DestinationFigures figures, Instant now) =>
        connection.WhyOff is not null && figures.Waiting > 0 ? Say.Of(HostWords.HealthDestinationOff, connection.Id)
        : now - figures.FailingSince > Patience ? Say.Of(HostWords.HealthDestinationFails, connection.Id)
        : figures.ParkedCount > 0 ? Say.Of(HostWords.HealthDestinationRefused, connection.Id) : null;
}
