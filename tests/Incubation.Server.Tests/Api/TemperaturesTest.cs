using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Temperatures;
using Incubation.Service.Tests.Support;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Api;

/// <summary>What a probe posts with its key, as its page has it.</summary>
public sealed class TemperaturesTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private TemperatureService Desk => server.Services.GetRequiredService<TemperatureService>();

    private Instant Now => server.Services.GetRequiredService<BenchClock>().Now;

    public ValueTask DisposeAsync() => server.DisposeAsync();

    [Fact]
    public async Task Probe_ThatSends_IsShownWithItsName_AndExpectedByASupervisorAlone()
    {
        using var probe = server.CreateClient();
        probe.DefaultRequestHeaders.Add("Authorization", "Bearer " + server.Key("bench-1", KeyScope.Bench));
        Assert.Empty(Line().Measured);
        await SendAsync(probe, 25.1);
        await SendAsync(probe, 26.4);
        var line = Line();
        Assert.Equal(("A program", null), (line.Name, line.Every));
        Assert.Equal([25.1, 26.4], line.Measured.Select(one => one.Value.Degrees));

        Assert.False((await Desk.ExpectAsync(AnAide.Lena, "bench-1", line.Probe, "5")).IsDone);
        Assert.Contains("1440", (await Desk.ExpectAsync(AnAide.Ines, "bench-1", line.Probe, "0")).Fault!,
            StringComparison.Ordinal);
        Assert.True((await Desk.ExpectAsync(AnAide.Ines, "bench-1", line.Probe, "5")).IsDone);
        Assert.Equal(Duration.FromMinutes(5), Line().Every);
        Assert.Contains(Bench.Alarms, alarm => alarm.Key.Kind == AlarmKind.ProbeSilent);
        using var client = server.ClientAs("lena");
        var page = await client.GetStringAsync(new Uri("/temperatures", UriKind.Relative), Cancel);
        Assert.Contains("26.4", page, StringComparison.Ordinal);
        Assert.True((await Desk.ExpectAsync(AnAide.Ines, "bench-1", line.Probe, "")).IsDone);
        Assert.DoesNotContain(Bench.Alarms, alarm => alarm.Key.Kind == AlarmKind.ProbeSilent);
    }

    private BenchView Bench => server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.View;

    private ProbeLine Line() => Assert.Single(Assert.Single(Desk.List(AnAide.Lena)).Probes);

    private async Task SendAsync(HttpClient probe, double celsius)
    {
        using var answer = await probe.PostAsJsonAsync(new Uri("/api/v1/benches/bench-1/commands", UriKind.Relative),
            new
            {
                id = Guid.NewGuid().ToString("N"),
                kind = "temperature",
                at = Now.ToDateTimeUtc().ToString("O", CultureInfo.InvariantCulture),
                device = "probe",
                celsius,
            }, Cancel);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }
}
