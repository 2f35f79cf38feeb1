using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// What a person answers when the bench asks, corrects when it was told wrongly, and says before stepping away.
/// </summary>
internal sealed partial class Aide
{
    private readonly Dictionary<QuestionKey, Instant> asked = [];
    private BenchState? questioned;
    private ImmutableArray<Question> questions = [];
    private Instant awayUntil = Instant.MinValue;

    /// <summary>Whether these hands have left the bench.</summary>
    public bool HasLeft { get; set; }

    private bool IsAway => HasLeft || awayUntil > world.Now;

    /// <summary>
    /// Says that these hands step away; goes where the bench has nothing against it, and sometimes though it has.
    /// </summary>
    public void StepAway(Duration length)
    {
        world.Count("hands away, announced");
        Leave(length, anyway: false);
    }

    private void Leave(Duration length, bool anyway) =>
        tablet.Say(new BenchCommand.PutOutOfUse(new BenchResource.Hands(new HandsNumber(hands.Value)), length, "break",
            anyway), tablet.Time, taken =>
        {
            if (taken)
                awayUntil = world.Now + length;
            else if (!anyway && world.Chance(0.5))
                Leave(length, anyway: true);
        });

    /// <summary>Answers one question as it truly is; true where the hands wait for what comes of it.</summary>
    private bool AnswerOne(BenchState state)
    {
        // What is asked follows from the state alone.
        if (!ReferenceEquals(state, questioned))
            (questioned, questions) = (state, LiveBench.View(state, tablet.Time).Questions);
        foreach (var question in questions)
        {
            if (question.Key.Kind == QuestionKind.TooQuick && world.Recipe.Kind == DayKind.ToPlan)
                world.Watch.Violated("hands in time are not asked how quick they were", $"{question.Key.Of}");
            if (!asked.TryGetValue(question.Key, out var since))
                asked[question.Key] = since = world.Now + Duration.FromSeconds(world.Between(1, 40));
            if (world.Now < since || TrueAnswer(question) is not { } answer)
                continue;
            asked.Remove(question.Key);
            world.Count("question answered");
            if (question.Key.Kind == QuestionKind.TooQuick)
                world.Count("asked about a quick tap");
            busy = true;
            tablet.Say(answer.Command, answer.At ?? tablet.Time, _ => Free());
            return true;
        }

        return false;
    }

    private (BenchCommand.AnswerQuestion Command, Instant? At)? TrueAnswer(Question question)
    {
        var c = question.Request is { } id ? world.Truth.Find(id) : null;
        if (c is { InHand: true } || (question.Other is { } otherId && world.Truth.Find(otherId) is { InHand: true }))
            return null;
        BenchCommand.AnswerQuestion Say(Answer answer, SlotNumber? slot = null, bool stated = false,
            LotCode? lot = null) => new(question.Key, answer, slot, stated, lot);
        switch (question.Key.Kind)
        {
            case QuestionKind.PowerCut:
                return (Say(Answer.Seen), null);
            case QuestionKind.CardInDoubt:
                return world.Truth.Cards.TryGetValue(((CartridgePlace.InReader)question.Place!).Reader.Value,
                    out var lot) ? (Say(Answer.CardIs, lot: lot), null) : null;
            case QuestionKind.ReaderStopped:
                return (Say(c is { IsGone: true } ? Answer.ThrownAway : Answer.ReadToTheEnd), null);
            case QuestionKind.TooQuick:
                return TrueEnd(question, c) is { } done
                    ? (Say(Answer.AtThatTime, stated: true), Known(done)) : (Say(Answer.Mistake), null);
            case QuestionKind.StepNotKnown:
                return NotKnown(question, c) is not { } known ? null
                    : (Say(known.Answer, stated: known.At is not null), known.At is { } at ? Known(at) : null);
            case QuestionKind.WhenLoaded:
                return c?.LoadEnd is { } end && !world.Chance(0.2)
                    ? (Say(Answer.AtThatTime, stated: true), Known(end)) : (Say(Answer.NotKnown), null);
            case QuestionKind.WhenMixed:
                return c?.MixEnd is { } mixed && !world.Chance(0.2)
                    ? (Say(Answer.AtThatTime, stated: true), Known(mixed)) : (Say(Answer.NotKnown), null);
            default:
                foreach (var option in question.Answers)
                    if (IsTrue(option, question, c) is { } said)
                        return (Say(option.Answer, said.Slot, option.TakesTime), said.At);
                var last = question.Answers.FirstOrDefault(option => option.Answer == Answer.Stands)
                    ?? question.Answers[^1];
                return (Say(last.Answer), null);
        }
    }

    /// <summary>When the step that a question is about really ended; null where it never did.</summary>
    private Instant? TrueEnd(Question question, TrueCartridge? c) =>
        tablet.Shown!.Story.Find(told => told.Id == question.Report)?.Event switch
        {
            BenchEvent.Mixed => c?.MixEnd,
            BenchEvent.Loaded => c?.LoadEnd,
            BenchEvent.ReadStarted => c?.ReadStarted,
            BenchEvent.Cleared => c?.ClearEnd,
            _ => null,
        };

    /// <summary>What became of a step that is not known, and when it was done; null while nobody can say.</summary>
    private (Answer Answer, Instant? At)? NotKnown(Question question, TrueCartridge? c)
    {
        if (tablet.Shown!.NotKnown.FirstOrDefault(step => step.Action.Subject == question.Request) is not { } step)
            return null;
        var done = step.Action switch
        {
            StepAction.Mix => c?.MixEnd,
            StepAction.Load => c?.LoadEnd,
            StepAction.Move => c?.ReadStart,
            StepAction.Clear => c?.ClearEnd,
            _ => c?.ThrownAway,
        };
        if (done is not null)
            return (Answer.AtThatTime, done);
        return c?.ThrownAway is not null && question.Answers.Any(option => option.Answer == Answer.Spoilt)
            ? (Answer.Spoilt, null) : (Answer.NotBegun, null);
    }

    private (SlotNumber? Slot, Instant? At)? IsTrue(AnswerOption option, Question question, TrueCartridge? c)
    {
        var other = question.Other is { } id ? world.Truth.Find(id) : null;
        SlotNumber? SlotOf(TrueCartridge? of) => of?.Place is CartridgePlace.InSlot at
            && option.Slots.Contains(at.Slot) ? at.Slot : null;
        return option.Answer switch
        {
            Answer.OtherMoved => other is { ReadStart: { } began, ClearEnd: null } && began <= world.Now
                ? (null, Known(began)) : null,
            Answer.OtherCleared => other?.ClearEnd is not null ? (null, null) : null,
            Answer.OtherDiscarded => other?.ThrownAway is not null ? (null, null) : null,
            Answer.OtherInSlot => SlotOf(other) is { } slot ? (slot, null) : null,
            Answer.InSlot => SlotOf(c) is { } slot ? (slot, null) : null,
            Answer.WasMixed => c?.MixEnd is not null ? (null, null) : null,
            Answer.WasRead => c?.ReadStart is { } read && read <= world.Now ? (null, Known(read)) : null,
            Answer.CardWasRight => question.Place is CartridgePlace.InReader inside && c is not null
                && world.Truth.Cards.GetValueOrDefault(inside.Reader.Value) == c.Wanted.Request.Lot
                ? (null, null) : null,
            Answer.AtThatTime => c is not null && TrueTime(question, c) is { } at && at <= world.Now
                ? (null, Known(at)) : null,
            _ => null,
        };
    }

    /// <summary>
    /// When what the report of a question tells was really so; null where it was not, or nobody knows.
    /// </summary>
    private Instant? TrueTime(Question question, TrueCartridge c) =>
        tablet.Shown!.Story.Find(told => told.Id == question.Report)?.Event switch
        {
            BenchEvent.Mixed => c.MixEnd,
            BenchEvent.Loaded => c.LoadEnd,
            BenchEvent.ReadStarted => c.ReadStart,
            BenchEvent.Cleared => c.ClearEnd,
            BenchEvent.Discarded => c.ThrownAway,
            _ => null,
        };

    /// <summary>A true instant as a person knows it, in the server's time.</summary>
    private Instant Known(Instant at) =>
        Instant.Min(tablet.Time, at + tablet.Offset + Duration.FromMilliseconds(world.Between(-2000, 2000)));

    /// <summary>Corrects what the screen shows in another slot than where it is; null where it is right.</summary>
    private Action? CorrectSlot(TrueCartridge c, CartridgePhase.Reacting shown) =>
        shown.Place != c.Place ? CorrectPlace(c) : null;

    /// <summary>
    /// Corrects in which slot the load of a cartridge was told; null where it is in none, or no load was told.
    /// </summary>
    private Action? CorrectPlace(TrueCartridge c) =>
        c.Place is CartridgePlace.InSlot
            && tablet.Shown!.Story.FindLast(told => told.Event is BenchEvent.Loaded && told.Subject == c.Id) is { } load
            ? () => Correct(load.Id, null, c.Place)
            : null;

    private void Correct(ReportId report, Instant? at, CartridgePlace? place)
    {
        world.Count("report corrected");
        busy = true;
        tablet.Say(new BenchCommand.CorrectReport(report, at, place, null, "told wrongly"), tablet.Time, _ => Free());
    }

    /// <summary>"This was so long ago": the time of a report that was told late is put right.</summary>
    private void CorrectLater(ReportId report, Instant end)
    {
        if (!world.Chance(Habits.Corrected))
            return;
        var known = Known(end);
        world.Agenda.In(Duration.FromSeconds(world.Between(2, 90)), () =>
        {
            world.Count("report corrected");
            tablet.Say(new BenchCommand.CorrectReport(report, known, null, null, "told late"), tablet.Time);
        });
    }
}
