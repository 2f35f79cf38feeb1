using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Screens;
using Incubation.Service.Settings;

namespace Incubation.Service.Labels;

/// <summary>What is asked of the labels on a bench's cartridges: told, and set by a supervisor.</summary>
public sealed class LabelRuleService(BenchRegistry benches, BenchService desk, BenchClock clock,
    LabelSettings? labels = null)
{
    /// <summary>What is asked at a bench now; null where there is no bench of that name.</summary>
    public LabelDemand? Of(string bench) =>
        benches.Find(bench) is { } runner ? (labels ?? LabelSettings.Usual).Of(runner.Present.State) : null;

    /// <summary>Sets what is asked from the next report on.</summary>
    /// <param name="actor">Who; a supervisor.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="demand">What is asked.</param>
    public async Task<Outcome> SetAsync(Actor? actor, string bench, LabelDemand demand)
    {
        if (actor is null)
            return new Outcome(Words.SignInFirst);
        var answer = await desk.SendAsync(actor, bench,
            new CommandEnvelope(new BenchCommand.AskForLabels(demand), Provenances.Of(actor, clock)));
        return new Outcome(answer.Recorded ? null : answer.Sentence);
    }
}
