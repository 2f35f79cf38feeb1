using Incubation.Server.Clinic;
using Incubation.Server.Demo;
using Incubation.Server.Live;
using Incubation.Server.People;
using NodaTime;

namespace Incubation.Server.Hosting;

/// <summary>What happens before the first request: the demo is seeded or continued, every bench goes on where its log ends.</summary>
public sealed class Opening(
    ClinicBook clinic, BenchBook benches, Intake intake, DemoDay demo, BenchClock clock, IBenchLog log, ServerSettings settings,
    DemoPeople people, SetUpDesk setUp)
{
    private static readonly Duration ClockTolerance = Duration.FromSeconds(5);

    /// <summary>Opens everything.</summary>
    /// <exception cref="StartException">Something stands in the way that a person can put right.</exception>
    public async Task OpenAsync(CancellationToken cancellation)
    {
        if (settings.Demo is not null)
            demo.OpenClinic(settings.Demo);
        people.Seed();
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

    /// <summary>Says how to come in: with which code to set the server up, or in a demo as whom to sign in.</summary>
    public void SayHowToComeIn(string address)
    {
        if (!setUp.IsDone)
            Console.WriteLine(Say.Of(Words.StartSetUp, address.TrimEnd('/') + "/set-up", setUp.Code));
        else if (people.All.Count > 0)
            Console.WriteLine(people.Say());
    }
}
