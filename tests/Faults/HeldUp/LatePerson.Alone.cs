using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>What is done without the server.</summary>
internal sealed partial class LatePerson
{
    /// <summary>The outage in which these hands have said on a screen without its server that they are back.</summary>
    private Instant saidBackIn = Instant.MinValue;

    /// <summary>Alone, what was done is told to the screen's box.</summary>
    private void TellAlone(BenchState state)
    {
        if (untold is not { } done)
            return;
        untold = null;
        if (IsStillWanted(Screen.Alone(state).State, done))
            Tell(done.Action, done.End, null);
    }

    /// <summary>
    /// Alone, the screen asks what became of the steps with which its patience has ended, and what it was asked before.
    /// </summary>
    private void AnswerAlone(BenchState state)
    {
        var page = Screen.Alone(state);
        var mine = new BenchResource.Hands(hands);
        if (page.State.OutOfUse.Any(entry => entry.Resource == mine) && saidBackIn != world.OutageSince)
        {
            saidBackIn = world.OutageSince;
            Screen.Say(new BenchCommand.PutBackInUse(mine));
            page = Screen.Alone(state);
        }

        foreach (var step in page.NotKnown(world.Now))
        {
            if (step.Action.Subject is not { } id || world.Find(id) is not { InHand: null } c)
                continue;
            world.Count("question answered alone");
            var (answer, at) = BecameOf(step, c);
            if (answer == Bench.Answer.AtThatTime)
                Tell(step.Action, at!.Value, Instant.MinValue);
            else
                Screen.Say(new BenchCommand.AnswerQuestion(new QuestionKey(QuestionKind.StepNotKnown, id.Value),
                    answer));
            page = Screen.Alone(state);
        }

        foreach (var question in LiveBench.View(page.State, world.Now).Questions
            .Where(question => question.Key.Kind == QuestionKind.CardInDoubt))
            if (TrueAnswer(question) is { } said)
                Screen.Say(said.Command, said.At);
    }

    /// <summary>
    /// Without the server the screen goes on with its last plan, re-timed in its own order, and shows first what can
    /// wait least, whose hands it may be.
    /// </summary>
    private void BeginAlone(BenchState state)
    {
        var page = Screen.Alone(state);
        var view = LiveBench.View(page.State, world.Now);
        if (AlarmAct(page.State, view, alone: true) is { } act)
        {
            Begin(act, null, AllowedOf(act));
            return;
        }

        var mine = MyHands().ToList();
        // Whoever sees that what they are asked for has been done says so.
        foreach (var offer in page.Offers(world.Now).Where(offer => mine.Contains(offer.Hands)
            && offer.MayBegin <= world.Now))
            if (offer.Action.Subject is { } id && world.Find(id) is { InHand: null } c
                && DoneAt(offer.Action, c) is { } end)
                Tell(offer.Action, end, Instant.MinValue);
            else if (offer.Action is StepAction.CardChange card && world.Cards.GetValueOrDefault(card.Reader.Value)
                == card.Lot)
                Tell(card, world.Now, null);
        page = Screen.Alone(state);
        var offers = page.Offers(world.Now).Where(offer => mine.Contains(offer.Hands)
            && IsPossible(offer.Action) is not null).OrderBy(offer => Instant.Max(offer.MayBegin, world.Now))
            .ThenBy(offer => offer.LatestStart ?? Instant.MaxValue).ThenBy(offer => offer.Hands.Value).ToList();
        if (world.IsTraced)
            world.Trace($"  tablet of {hands} alone: " + string.Join(", ", page.Offers(world.Now).Select(offer =>
                $"{Words.Of(offer.Action)} by {offer.Hands} from {Words.Of(offer.MayBegin)}"))
                + "; not known " + string.Join(", ", page.NotKnown(world.Now).Select(step => Words.Of(step.Action)))
                + "; rows " + string.Join(", ", page.State.Adopted!.Remaining.Select(row =>
                    $"{Words.Of(row.Step.Action)} by {row.Step.Hands} at {Words.Of(row.Step.Start)}")));
        if (offers.Find(offer => offer.MayBegin <= world.Now) is { } now)
        {
            var possible = IsPossible(now.Action)!;
            Begin(possible, now, AllowedOf(possible));
            return;
        }

        var next = offers.Select(offer => offer.MayBegin).Append(world.Now + Duration.FromSeconds(10)).Min();
        LookAt(Instant.Min(next, world.Now + Duration.FromSeconds(10)));
    }

    /// <summary>
    /// Their own hands, and those of everybody who is away: whoever is there takes these over on their screen.
    /// </summary>
    private IEnumerable<HandsNumber> MyHands()
    {
        yield return hands;
        foreach (var other in world.People.Where(other => other != this && other.IsAway))
        {
            if (other.Screen != Screen)
                Screen.Taken.Add(other.Hands);
            yield return other.Hands;
        }
    }
}
