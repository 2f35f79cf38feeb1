using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>What this person answers when the bench asks: the truth, at once.</summary>
internal sealed partial class LatePerson
{
    /// <summary>A time that is told at the tap is right within this.</summary>
    private static readonly Duration Off = Duration.FromSeconds(5);

    private bool Answer(BenchView view)
    {
        foreach (var question in view.Questions)
        {
            if (TrueAnswer(question) is not { } said)
                continue;
            world.Count("question answered");
            Screen.Say(said.Command, said.At);
            return true;
        }

        return false;
    }

    private (BenchCommand.AnswerQuestion Command, Instant? At)? TrueAnswer(Question question)
    {
        var c = question.Request is { } id ? world.Find(id) : null;
        if (c is { InHand: not null } || (question.Other is { } other && world.Find(other) is { InHand: not null }))
            return null;
        BenchCommand.AnswerQuestion Say(Answer answer, SlotNumber? slot = null, bool stated = false,
            LotCode? lot = null) => new(question.Key, answer, slot, stated, lot);
        switch (question.Key.Kind)
        {
            case QuestionKind.PowerCut:
                return (Say(Bench.Answer.Seen), null);
            case QuestionKind.CardInDoubt:
                return world.Cards.TryGetValue(((CartridgePlace.InReader)question.Place!).Reader.Value, out var lot)
                    ? (Say(Bench.Answer.CardIs, lot: lot), null) : null;
            case QuestionKind.StepNotKnown:
                return NotKnown(question, c) is not { } known ? null
                    : (Say(known.Answer, stated: known.At is not null), known.At);
            case QuestionKind.WhenLoaded:
                return c?.LoadEnd is { } end ? (Say(Bench.Answer.AtThatTime, stated: true), end)
                    : (Say(Bench.Answer.NotKnown), null);
            case QuestionKind.WhenMixed:
                return c?.MixEnd is { } mixed ? (Say(Bench.Answer.AtThatTime, stated: true), mixed)
                    : (Say(Bench.Answer.NotKnown), null);
            default:
                if (IsToldTwice(question) && question.Answers.Any(option => option.Answer == Bench.Answer.Mistake))
                    return (Say(Bench.Answer.Mistake), null);
                foreach (var option in question.Answers)
                    if (IsTrue(option, question, c) is { } said)
                        return (Say(option.Answer, said.Slot, option.TakesTime), said.At);
                var last = question.Answers.FirstOrDefault(option => option.Answer == Bench.Answer.Stands)
                    ?? question.Answers[^1];
                return (Say(last.Answer), null);
        }
    }

    /// <summary>
    /// Whether the report of a question tells, at another time, what was told before: by somebody who saw it done and
    /// could not see that it was told.
    /// </summary>
    private bool IsToldTwice(Question question)
    {
        var story = Screen.Shown!.Story;
        return story.FirstOrDefault(told => told.Id == question.Report) is { Subject: { } subject } second
            && DoneAt(second.Event, world.Find(subject)) is { } at
            && (second.At - at is var off && (off > Off || off < -Off))
            && story.Any(first => first.Id != second.Id && first.Subject == subject
                && first.Event.GetType() == second.Event.GetType());
    }

    private static Instant? DoneAt(BenchEvent told, TrueWork? c) => told switch
    {
        BenchEvent.ReadStarted => c?.ReadStart,
        BenchEvent.Cleared => c?.ClearEnd,
        BenchEvent.Discarded => c?.ThrownAway,
        _ => null,
    };

    /// <summary>What became of a step that is not known, and when it was done; null while nobody can say.</summary>
    private (Answer Answer, Instant? At)? NotKnown(Question question, TrueWork? c)
    {
        if (Screen.Shown!.NotKnown.FirstOrDefault(step => step.Action.Subject == question.Request) is not { } step)
            return null;
        var (answer, at) = BecameOf(step, c);
        return answer == Bench.Answer.NotBegun && c?.ThrownAway is not null
            && question.Answers.Any(option => option.Answer == Bench.Answer.Spoilt)
            ? (Bench.Answer.Spoilt, null) : (answer, at);
    }

    private static (Answer Answer, Instant? At) BecameOf(UnknownStep step, TrueWork? c)
    {
        var done = c is null ? null : DoneAt(step.Action, c);
        return done is null ? (Bench.Answer.NotBegun, null) : (Bench.Answer.AtThatTime, done);
    }

    private static Instant? DoneAt(StepAction action, TrueWork c) => action switch
    {
        StepAction.Mix => c.MixEnd,
        StepAction.Load => c.LoadEnd,
        StepAction.Move => c.ReadStart,
        StepAction.Clear => c.ClearEnd,
        _ => c.ThrownAway,
    };

    private (SlotNumber? Slot, Instant? At)? IsTrue(AnswerOption option, Question question, TrueWork? c)
    {
        var other = question.Other is { } id ? world.Find(id) : null;
        SlotNumber? SlotOf(TrueWork? of) => of?.Place is CartridgePlace.InSlot at && option.Slots.Contains(at.Slot)
            ? at.Slot : null;
        return option.Answer switch
        {
            Bench.Answer.OtherMoved => other is { ReadStart: { } began, ClearEnd: null } ? (null, began) : null,
            Bench.Answer.OtherCleared => other?.ClearEnd is not null ? (null, null) : null,
            Bench.Answer.OtherDiscarded => other?.ThrownAway is not null ? (null, null) : null,
            Bench.Answer.OtherInSlot => SlotOf(other) is { } slot ? (slot, null) : null,
            Bench.Answer.InSlot => SlotOf(c) is { } slot ? (slot, null) : null,
            Bench.Answer.WasMixed => c?.MixEnd is not null ? (null, null) : null,
            Bench.Answer.WasRead => c?.ReadStart is { } read && read <= world.Now ? (null, read) : null,
            Bench.Answer.CardWasRight => question.Place is CartridgePlace.InReader inside && c is not null
                && HasCard(inside.Reader, c) ? (null, null) : null,
            Bench.Answer.AtThatTime => c?.ReadStart is { } start && start <= world.Now ? (null, start) : null,
            _ => null,
        };
    }

    /// <summary>
    /// Who comes to a step and finds that it cannot be done, as a cartridge lies where the screen does not have it,
    /// tells at its place what became of that: others did it, and have not told.
    /// </summary>
    private bool TellWhatIsFound(BenchState state, BenchView view)
    {
        if (view.Offers.FirstOrDefault(offer => offer.Hands == hands) is not { Action: var action } offer
            || offer.MayBegin > world.Now || !LiveBench.CanBegin(state, action, world.Now))
            return false;
        var inside = action is not StepAction.Clear && action.NeedsReader is { } reader
            ? world.At(new CartridgePlace.InReader(reader)) : null;
        var subject = action.Subject is { } id ? world.Find(id) : null;
        foreach (var c in new[] { inside, subject })
            if (c is { InHand: null } && DoneLast(state, c) is { } done && IsStillWanted(state, done)
                && TellAtItsPlace(state, done))
            {
                world.Count("found and told");
                return true;
            }

        return false;
    }

    private static Untold? DoneLast(BenchState state, TrueWork c) => c switch
    {
        { ThrownAway: { } thrown } => new Untold(new StepAction.Discard(c.Id), thrown),
        { ClearEnd: { } cleared } => state.Find(c.Id)?.Phase?.FindReader() is { } reader
            ? new Untold(new StepAction.Clear(c.Id, reader), cleared) : null,
        { ReadStarted: { } read, Place: CartridgePlace.InReader at } =>
            new Untold(new StepAction.Move(c.Id, at.Reader), read),
        { LoadEnd: { } loaded, Place: { } place } => new Untold(new StepAction.Load(c.Id, place), loaded),
        { MixEnd: { } mixed } => new Untold(new StepAction.Mix(c.Id), mixed),
        _ => null,
    };
}
