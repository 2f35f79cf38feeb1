using Incubation.Model;
using Incubation.Planning;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Service.Tests.Contract;

/// <summary>
/// Plans re-timed in their own order: the server's answers, to which the browser's module is held in its own tests
/// (tests/Browser.Modules).
/// </summary>
public sealed class RetimingSamplesTest
{
    private const int Cases = 140;

    private static readonly DayShape[] Shapes =
        [DayShape.Running, DayShape.Any, DayShape.Running with { MaxHands = 3 }];

    [Fact]
    public void Retimings_OfRandomDays_AreThoseThatTheModuleIsTestedWith()
    {
        var many = CaseCount.Of(Cases, 40 * Cases);
        var cases = AloneSamples.Seeds(many).Select(Case).ToList();
        Assert.InRange(cases.Count(one => one.Rows is null), many / 10, many / 2);
        if (many == Cases)
            Assert.Null(CommittedFile.Fault("tests/Browser.Modules/contract/retimings.json", AloneSamples.Lines(cases),
                typeof(RetimingSamplesTest)));
        else
            AloneSamples.KeepLong("retimings.json", AloneSamples.Lines(cases));
    }

    /// <summary>A plan for a day, and the same plan some time later with nothing reported.</summary>
    private static Retiming Case(ulong seed)
    {
        var random = new SeededRandom(seed);
        var day = RandomDays.Make(seed, random.Pick(Shapes));
        var plan = Planner.Plan(day, seed, new IterationBudget(60)).Plan;
        var left = plan.Unplaced.Select(one => one.Request).ToHashSet();
        day = day with { Requests = [.. day.Requests.Where(request => !left.Contains(request.Id))] };
        plan = plan with { Unplaced = [] };
        if (random.Chance(0.6) && PlanPlay.CanPlay(day, plan))
            (day, plan) = PlanPlay.Until(day, plan, day.Now + Duration.FromSeconds(random.Between(0, 1800)), random);
        if (day.MidRun is { } run && random.Chance(0.5))
            day = day with { MidRun = run with { Now = run.Now + Duration.FromSeconds(random.Between(1, 400)) } };
        var retimed = PlanTiming.Retime(day, plan);
        var begun = (day.MidRun?.Steps ?? []).Select(step =>
            new PlannedStep(step.Action, step.Hands, step.Start, step.Start));
        return new Retiming(day.Now, AlonePlan.Of(day, plan.Steps, _ => "") with
        {
            Lost = [.. plan.Lost.Select(one => one.Request.Value)],
        },
            [.. AlonePlan.Of(day, begun, _ => "").Steps],
            retimed is null ? null : [.. PlanTiming.Spare(day, retimed).Where(spare => spare.Step.Hands is not null)
                .Select(spare => Row(day, spare))]);
    }

    private static RetimedRow Row(BenchDay day, StepSpare spare)
    {
        var action = spare.Step.Action;
        return new RetimedRow(StepText.Kind(action),
            action.Subject?.Value ?? (action as StepAction.CardChange)?.Lot.Value, spare.Step.Hands!.Value.Value,
            (spare.Step.Start - day.Now).TotalMilliseconds,
            spare.Spare == StepSpare.Unlimited ? null : spare.Spare.TotalMilliseconds);
    }

    /// <param name="Now">The present.</param>
    /// <param name="Alone">The day and the plan's rows.</param>
    /// <param name="Begun">Steps in progress.</param>
    /// <param name="Rows">The rows re-timed, or null where their order cannot be kept.</param>
    private sealed record Retiming(Instant Now, AloneSnapshot Alone, IReadOnlyList<AloneStep> Begun,
        IReadOnlyList<RetimedRow>? Rows);

    /// <param name="Kind">The step.</param>
    /// <param name="Of">Its request, or the lot of a card change.</param>
    /// <param name="Hands">Whose.</param>
    /// <param name="Start">Milliseconds from now.</param>
    /// <param name="Spare">The most that it may begin later, in milliseconds; null where nothing ever breaks.</param>
    private sealed record RetimedRow(string Kind, string? Of, int Hands, double Start, double? Spare);
}
