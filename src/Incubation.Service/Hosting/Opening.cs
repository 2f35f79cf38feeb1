using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Demo;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Settings;
using Incubation.Service.Text;

namespace Incubation.Service.Hosting;

/// <summary>
/// What happens before the first request: the demo is seeded or continued, every bench goes on where its log ends.
/// </summary>
public sealed class Opening(
    ClinicHost clinic, BenchRegistry benches, Intake intake, DemoDay demo, IBenchLog log, ServerSettings settings,
    ClockService clockDesk, DemoPeople people, SetUpService setUp, LifeSign life, LotGateService gates)
{
    /// <summary>Opens everything.</summary>
    /// <exception cref="StartException">Something stands in the way that a person can put right.</exception>
    public async Task OpenAsync(CancellationToken cancellation)
    {
        BenchMeter.Watch(benches);
        if (settings.Demo is not null)
            demo.OpenClinic(settings.Demo, settings.Month);
        else if (DemoDay.IsIn(clinic))
            throw new StartException(OpeningWords.RealOnDemoData);
        people.Seed();
        if (settings.Demo is not null)
            demo.WriteMonth(settings.Demo);
        if (clockDesk.CompareWithLog() is { } doubt)
            Console.WriteLine(Say.Of(OpeningWords.ClockHeld, doubt.Sentence));
        foreach (var bench in clinic.Catalogue.Benches())
        {
            if (await log.LoadAsync(bench.Bench, cancellation) is { } state)
            {
                var runner = benches.Continue(state);
                if (!demo.HasWrittenMonth)
                    await runner.NoteRestartAsync(life.Last);
                await intake.MendAsync(runner);
            }
        }

        // A control whose result was in when the server died is judged now.
        await gates.OpenAsync();
        if (settings.Demo is not null)
            await demo.OpenBenchesAsync(settings.Demo, cancellation);
    }

    /// <summary>Says how to come in: with which code to set the server up, or in a demo as whom to sign in.</summary>
    public void SayHowToComeIn(string address)
    {
        if (!setUp.IsDone)
            Console.WriteLine(Say.Of(OpeningWords.StartSetUp, address.TrimEnd('/') + "/set-up", setUp.Code));
        else if (people.All.Count > 0)
            Console.WriteLine(people.Say());
    }
}
