using Incubation.Server.Clinic;
using Incubation.Server.Demo;
using Incubation.Server.Live;
using NodaTime;

namespace Incubation.Server.Hosting;

/// <summary>What happens before the first request: the demo is seeded or continued, every bench goes on where its log ends.</summary>
public sealed class Opening(
    ClinicBook clinic, BenchBook benches, Intake intake, DemoDay demo, BenchClock clock, IBenchLog log, ServerSettings settings)
{
    private static readonly Duration ClockTolerance = Duration.FromSeconds(5);

    /// <summary>Opens everything.</summary>
    /// <exception cref="StartException">Something stands in the way that a person can put right.</exception>
    public async Task OpenAsync(CancellationToken cancellation)
    {
        if (settings.Demo is not null)
            demo.OpenClinic(settings.Demo);
        foreach (var bench in clinic.Catalogue.Benches())
        {
            var entries = await log.ReadAsync(bench.Bench, 0, cancellation);
            if (entries.Count > 0 && entries.Max(entry => entry.Touch.Arrived) is var last && last > clock.Now + ClockTolerance)
                Console.WriteLine(Say.Of(Words.ClockBehindLog, bench.Name, Say.Clock(last, clinic.Facts.Zone), Say.Clock(clock.Now, clinic.Facts.Zone)));
            if (benches.Continue(entries))
                await intake.MendAsync(benches.Find(bench.Bench.Value)!);
        }

        if (settings.Demo is not null)
            await demo.OpenBenchesAsync(settings.Demo, cancellation);
    }
}
