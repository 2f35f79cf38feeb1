using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>A bench at a later instant, and the plan that it follows, as it stands there.</summary>
/// <param name="Day">The day as it is then.</param>
/// <param name="Plan">The plan without the rows that have ended, those begun at their true start, all others as
/// planned.</param>
public sealed record PlayedDay(BenchDay Day, Plan Plan);

/// <summary>
/// Plays a valid plan up to an instant: every step begins at its planned start and takes any length between its
/// shortest and its allowed one (hands other than at a mix or a load may be as quick as they like); ends are known as
/// intervals.
/// </summary>
public static class PlanPlay
{
    /// <summary>
    /// Whether a plan can be played: not where it gives a cartridge up that is on its way to the reader, since no state
    /// tells of one that has arrived there unread.
    /// </summary>
    public static bool CanPlay(BenchDay day, Plan plan) => !(day.MidRun?.Steps ?? []).Any(
        step => step.Action is StepAction.Move move && plan.Lost.Any(lost => lost.Request == move.Request));

    /// <summary>Plays a plan on its day until <paramref name="now"/>, no earlier than the day's own now.</summary>
    public static PlayedDay Until(BenchDay day, Plan plan, Instant now, SeededRandom random)
    {
        var walks = day.Requests.Select(request => new CartridgeWalk(day, plan, request, now, random)).ToList();
        var changes = plan.Steps.Where(step => step.Action is StepAction.CardChange)
            .Select(step => new CardChangeWalk(day, step, now, random)).ToList();

        var left = walks.Where(walk => !walk.IsGone).ToList();
        var cards = (day.MidRun?.Cards ?? []).ToDictionary(card => card.Reader, card => card.Card);
        foreach (var change in changes.Where(change => change.HasEnded).OrderBy(change => change.Planned.End))
            cards[change.Action.Reader] = change.Action.Lot;
        var midRun = new MidRun(
            now,
            [.. cards.OrderBy(card => card.Key.Value).Select(card => new CardInReader(card.Key, card.Value))],
            [.. left.Select(walk => walk.Step).OfType<StepInProgress>(), .. changes.Where(change => change.IsInProgress)
                .Select(change => change.Step)],
            [.. left.Where(walk => walk.Phase is not null)
                .Select(walk => new CartridgeInWork(walk.Request.Id, walk.Phase!))]);
        var later = day with { Requests = [.. left.Select(walk => walk.Request)], MidRun = midRun };

        // What takes no time happens at its instant in the plan's order.
        var order = plan.Steps.Select((step, index) => (step.Action, index))
            .ToLookup(row => row.Action, row => row.index);
        var stands = new Plan(
            [.. left.SelectMany(walk => walk.Rows)
                .Concat(changes.Where(change => !change.HasEnded).Select(change => change.Row))
                .OrderBy(row => row.Start).ThenBy(row => order[row.Action].DefaultIfEmpty().First())],
            0, Duration.Zero, Duration.Zero, 0, false,
            [.. left.Where(walk => walk.UsesGuard).Select(walk => walk.Request.Id)],
            plan.Unplaced,
            [.. plan.Lost.Where(lost => left.Any(walk => walk.Request.Id == lost.Request))]);
        var figures = PlanFigures.Of(later, stands);
        return new PlayedDay(later, stands with { Cost = figures.Cost, Finish = figures.Finish, Late = figures.Late });
    }

    internal static Instant Draw(SeededRandom random, Instant from, Instant to)
    {
        var span = (to - from).BclCompatibleTicks / NodaConstants.TicksPerMillisecond;
        return random.Between(0, 5) switch
        {
            0 => from,
            1 => to,
            _ => from + Duration.FromMilliseconds(random.Between(0, (int)span)),
        };
    }
}

/// <summary>One card change played.</summary>
internal sealed class CardChangeWalk
{
    public CardChangeWalk(BenchDay day, PlannedStep planned, Instant now, SeededRandom random)
    {
        Planned = planned;
        var wasInProgress = (day.MidRun?.Steps ?? []).Contains(Step);
        if (!wasInProgress && planned.Start >= now)
            return;
        HasEnded = PlanPlay.Draw(random, wasInProgress ? day.Now : planned.Start, planned.End) <= now;
        IsInProgress = !HasEnded;
        Row = IsInProgress ? planned with { End = Instant.Max(planned.Start + day.Bench.CardChange, now) } : planned;
    }

    public PlannedStep Planned { get; }
    public StepAction.CardChange Action => (StepAction.CardChange)Planned.Action;
    public StepInProgress Step => new(Planned.Action, Planned.Hands!.Value, Planned.Start);
    public PlannedStep Row => field ?? Planned;
    public bool HasEnded { get; }
    public bool IsInProgress { get; }
}
