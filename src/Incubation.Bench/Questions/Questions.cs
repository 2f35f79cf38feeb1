using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Bench;

/// <summary>What a question is about.</summary>
public enum QuestionKind
{
    /// <summary>The end of a load is too uncertain: when was it? Names its report.</summary>
    WhenLoaded,

    /// <summary>The end of a mix is so uncertain that the mixture may be too old: when was it? Names its
    /// report.</summary>
    WhenMixed,

    /// <summary>A report contradicts what was believed: what is true? Names the report.</summary>
    Contradiction,

    /// <summary>Which card is in a reader is not known. Names the reader.</summary>
    CardInDoubt,

    /// <summary>A reader went out of use with a cartridge inside: what became of it? Names the request.</summary>
    ReaderStopped,

    /// <summary>
    /// The time that came with a report cannot be: when was it? Names the report.
    /// </summary>
    WhenDone,

    /// <summary>
    /// The server was down: has somebody seen what that meant? Names the instant at which it was back.
    /// </summary>
    PowerCut,

    /// <summary>A step was told sooner than hands can have done it: when was it? Names the report.</summary>
    TooQuick,

    /// <summary>
    /// Nobody knows whether a step was done, and its hands count as free: was it, and when? Names the request.
    /// </summary>
    StepNotKnown,
}

/// <summary>Names a question: one of a kind for each thing that it is about.</summary>
/// <param name="Kind">What it is about.</param>
/// <param name="Of">The report, reader or request meant, as <paramref name="Kind"/> says.</param>
public sealed record QuestionKey(QuestionKind Kind, string Of);

/// <summary>What can be answered with one tap; hosts have the words.</summary>
public enum Answer
{
    /// <summary>The report was a mistake: it and what rests on it are taken back.</summary>
    Mistake,

    /// <summary>
    /// The report is right; an earlier report that contradicts it is taken back. A deviation from a rule stays, and the
    /// result stays held.
    /// </summary>
    Stands,

    /// <summary>It was at the time stated.</summary>
    AtThatTime,

    /// <summary>Nobody can say: the time stays uncertain.</summary>
    NotKnown,

    /// <summary>It had been mixed just before it was loaded.</summary>
    WasMixed,

    /// <summary>Its read was started at the time stated.</summary>
    WasRead,

    /// <summary>The card of its own lot was in the reader.</summary>
    CardWasRight,

    /// <summary>It is in the slot named.</summary>
    InSlot,

    /// <summary>The other cartridge had been read and taken out.</summary>
    OtherCleared,

    /// <summary>The other cartridge had been put into the reader; its read was started at the time stated.</summary>
    OtherMoved,

    /// <summary>The other cartridge had been thrown away.</summary>
    OtherDiscarded,

    /// <summary>The other cartridge is in the slot named.</summary>
    OtherInSlot,

    /// <summary>The card named is in.</summary>
    CardIs,

    /// <summary>It was read to the end; it is cleared as usual.</summary>
    ReadToTheEnd,

    /// <summary>It was not read, and is back in the slot named.</summary>
    BackInSlot,

    /// <summary>It was thrown away.</summary>
    ThrownAway,

    /// <summary>A person has seen it.</summary>
    Seen,

    /// <summary>The step was not begun: everything is as it was before it.</summary>
    NotBegun,

    /// <summary>It fell or was spilled, and is thrown away.</summary>
    Spoilt,
}

/// <summary>An answer that a question takes.</summary>
/// <param name="Answer">The answer.</param>
/// <param name="Slots">The slots from which one must be named; empty where none is.</param>
/// <param name="TakesTime">Whether the time at which it was must be stated.</param>
/// <param name="TakesLot">Whether the card's lot must be named.</param>
public sealed record AnswerOption(Answer Answer, ImmutableArray<SlotNumber> Slots, bool TakesTime = false,
    bool TakesLot = false);

/// <summary>
/// A question that stands until it is answered, or until what it asks has come to light by another report.
/// </summary>
/// <param name="Key">Names it.</param>
/// <param name="Report">The report that raised it, or null.</param>
/// <param name="Request">The cartridge it is about, or null.</param>
/// <param name="Other">Another cartridge that was believed to be in the same place, or null.</param>
/// <param name="Place">The place meant, or null.</param>
/// <param name="Since">Since when it stands.</param>
/// <param name="Deviations">In what the report differs.</param>
/// <param name="Answers">What can be answered, the likeliest first.</param>
public sealed record Question(
    QuestionKey Key,
    ReportId? Report,
    RequestId? Request,
    RequestId? Other,
    CartridgePlace? Place,
    Instant Since,
    ImmutableArray<Deviation> Deviations,
    ImmutableArray<AnswerOption> Answers);

/// <summary>A question that was answered.</summary>
public sealed record SettledQuestion(QuestionKey Question, Answer Answer, ReportId By);

/// <summary>
/// The questions of a bench. They follow from its story, so that a report which brings the missing fact ends its
/// question too.
/// </summary>
internal static class Questions
{
    private static readonly ImmutableArray<Deviation> Contradicting =
    [
        Deviation.OutOfOrder, Deviation.SlotBelievedTaken, Deviation.ReaderBelievedTaken, Deviation.OtherCard,
            Deviation.OtherPlace, Deviation.ReadBeforeLoad,
    ];

    public static ImmutableArray<Question> List(BenchState state)
    {
        var answered = state.Settled.Select(settled => settled.By).ToHashSet();
        var others = Others(state, answered).ToList();
        return
        [
            // First what keeps others from being planned, above all a reader. The same step of a cartridge can be not
            // known again, after it was answered.
            .. state.NotKnown.Where(step => !others.Exists(question => question.Other == step.Action.Subject))
                .OrderByDescending(step => step.Action.NeedsReader is not null)
                .Select(step => NotKnown(state, step)),
            .. others,
        ];
    }

    private static IEnumerable<Question> Others(BenchState state, HashSet<ReportId> answered) =>
        state.Story.Where(told => !answered.Contains(told.Id))
            .SelectMany(told => new[]
            {
                WhenDone(told), WhenLoaded(state, told), WhenMixed(state, told), Contradiction(state, told),
                TooQuick(state, told),
            })
            .Concat(state.Readers.SelectMany(reader =>
                new[] { CardInDoubt(state, reader), ReaderStopped(state, reader) }))
            .Append(PowerCut(state))
            .OfType<Question>()
            .Where(question => !state.Settled.Any(settled => settled.Question == question.Key));

    /// <summary>Whether it is asked when a mixture was mixed: it may be younger than it is taken to be.</summary>
    public static bool AsksWhenMixed(BenchState state, Cartridge cartridge) =>
        cartridge.Phase is CartridgePhase.Mixed
        && state.Story.FindLast(told => told.Event is BenchEvent.Mixed mixed && mixed.Request == cartridge.Id)
            is { } told
        && (WhenMixed(state, told) ?? WhenDone(told)) is { } asked
        && !state.Settled.Any(settled => settled.By == told.Id || settled.Question == asked.Key);

    /// <summary>The question about a step that is not known.</summary>
    public static QuestionKey KeyOf(UnknownStep step) =>
        new(QuestionKind.StepNotKnown, step.Action.Subject!.Value.Value);

    private static Question NotKnown(BenchState state, UnknownStep step) => new(
        KeyOf(step), null, step.Action.Subject, null,
        (step.Action as StepAction.Load)?.Place ?? (step.Action.NeedsReader is { } reader
            ? new CartridgePlace.InReader(reader) : state.Find(step.Action.Subject!.Value)?.Phase?.FindPlace()),
        step.Since, [],
        [
            new AnswerOption(Answer.AtThatTime, [], TakesTime: true),
            new AnswerOption(Answer.NotBegun, []),
            .. step.Action is StepAction.Mix or StepAction.Load or StepAction.Move
                ? [new AnswerOption(Answer.Spoilt, [])] : Array.Empty<AnswerOption>(),
        ]);

    private static Question? CardInDoubt(BenchState state, ReaderNumber reader) => state.DoubtOf(reader) is not null
        ? new Question(
            new QuestionKey(QuestionKind.CardInDoubt, reader.Value.ToString(CultureInfo.InvariantCulture)), null, null,
                null,
            new CartridgePlace.InReader(reader),
            state.Story.FindLast(told => told.Event is BenchEvent.CardDoubted doubted && doubted.Reader == reader)?.At
                ?? Instant.MinValue, [],
            [new AnswerOption(Answer.CardIs, [], TakesLot: true)])
        : null;

    private static Question? ReaderStopped(BenchState state, ReaderNumber reader)
    {
        if (state.OutOfUse.FirstOrDefault(entry => entry.Resource == new BenchResource.Reader(reader)) is not
            {
            } outOfUse
            || state.InReader(reader) is not { } inside)
            return null;
        var free = Free(state);
        return new Question(
            new QuestionKey(QuestionKind.ReaderStopped, inside.Id.Value), null, inside.Id, null,
                new CartridgePlace.InReader(reader), outOfUse.From, [],
            [
                new AnswerOption(Answer.ReadToTheEnd, []),
                .. LoadOf(state, inside.Id) is { Event: BenchEvent.Loaded { Place: CartridgePlace.InSlot } }
                    && !free.IsEmpty ? [new AnswerOption(Answer.BackInSlot, free)] : Array.Empty<AnswerOption>(),
                new AnswerOption(Answer.ThrownAway, []),
            ]);
    }

    private static Question? PowerCut(BenchState state) => state.Outage is { } outage
        ? new Question(new QuestionKey(QuestionKind.PowerCut, InstantPattern.ExtendedIso.Format(outage.Until)), null,
            null, null, null, outage.Until, [], [new AnswerOption(Answer.Seen, [])])
        : null;

    /// <summary>Asks when it was, where it stands as of its arrival because its time cannot be.</summary>
    private static Question? WhenDone(ReportedStep told) => told.Claimed is null ? null : new Question(
        new QuestionKey(QuestionKind.WhenDone, told.Id.Value), told.Id, told.Subject, null, told.Place, told.At,
        told.Deviations.Contains(Deviation.TimeNotTaken) ? [Deviation.TimeNotTaken] : [],
        [new AnswerOption(Answer.AtThatTime, [], TakesTime: true), new AnswerOption(Answer.NotKnown, [])]);

    /// <summary>Asks when a step was, where it was told sooner than hands can have done it.</summary>
    private static Question? TooQuick(BenchState state, ReportedStep told) =>
        !told.Deviations.Contains(Deviation.TooQuick) || IsMoot(state, told) ? null : new Question(
            new QuestionKey(QuestionKind.TooQuick, told.Id.Value), told.Id, told.Subject, null, told.Place, told.At,
            [Deviation.TooQuick],
            [new AnswerOption(Answer.AtThatTime, [], TakesTime: true), new AnswerOption(Answer.Stands, []),
                new AnswerOption(Answer.Mistake, [])]);

    /// <summary>
    /// Asks when the load ended, if that is uncertain by more than the load's usual spread plus half the guard.
    /// </summary>
    private static Question? WhenLoaded(BenchState state, ReportedStep told)
    {
        if (told.Claimed is not null || told.Event is not BenchEvent.Loaded loaded
            || state.Find(loaded.Request) is not { IsOver: false } cartridge)
            return null;
        var assay = cartridge.Wanted.Assay;
        if (loaded.End.Latest - loaded.End.Earliest <= assay.Load - assay.LoadShortest + (state.Setup.ReadGuard / 2))
            return null;
        return new Question(
            new QuestionKey(QuestionKind.WhenLoaded, told.Id.Value), told.Id, cartridge.Id, null, loaded.Place,
                told.At, [],
            [new AnswerOption(Answer.AtThatTime, [], TakesTime: true), new AnswerOption(Answer.NotKnown, [])]);
    }

    /// <summary>
    /// Asks when the mix ended, if a quarter of the time in which the mixture must be loaded may have gone by before it
    /// was told: hands that were called away before it, and hands that were before telling it, look the same.
    /// </summary>
    private static Question? WhenMixed(BenchState state, ReportedStep told)
    {
        if (told.Claimed is not null || told.Event is not BenchEvent.Mixed mixed
            || state.Find(mixed.Request) is not { Phase: CartridgePhase.Mixed } cartridge)
            return null;
        var assay = cartridge.Wanted.Assay;
        return mixed.End.Latest - mixed.End.Earliest <= assay.Mix - assay.MixShortest + (assay.MixToLoad / 4) ? null
            : new Question(new QuestionKey(QuestionKind.WhenMixed, told.Id.Value), told.Id, cartridge.Id, null, null,
                told.At, [],
                [new AnswerOption(Answer.AtThatTime, [], TakesTime: true), new AnswerOption(Answer.NotKnown, [])]);
    }

    private static Question? Contradiction(BenchState state, ReportedStep told)
    {
        ImmutableArray<Deviation> deviations =
            [.. told.Deviations.Where(deviation => Contradicting.Contains(deviation))];
        var other = Displaced(state, told);
        if (deviations.IsEmpty && other is null)
            return null;
        var own = deviations.RemoveAll(deviation => deviation is Deviation.SlotBelievedTaken
            or Deviation.ReaderBelievedTaken
            || (deviation == Deviation.OtherCard && IsAnsweredByACard(state, told)));
        if (other is null && (own.IsEmpty || IsMoot(state, told)))
            return null;
        return new Question(
            new QuestionKey(QuestionKind.Contradiction, told.Id.Value), told.Id, told.Subject, other?.Id, told.Place,
                told.At, deviations,
            [.. OfOther(state, told, other), .. OfItself(state, told, own), new AnswerOption(Answer.Mistake, [])]);
    }

    /// <summary>
    /// The cartridge that was believed to be where this report puts something, and that nobody has accounted for.
    /// </summary>
    internal static Cartridge? Displaced(BenchState state, ReportedStep told) =>
        told.Event is BenchEvent.CardChanged changed
        ? (told.Deviations.Contains(Deviation.ReaderBelievedTaken) ? state.InReader(changed.Reader) : null)
        : state.Cartridges.FirstOrDefault(cartridge => cartridge.Stage is CartridgeStage.Astray astray
            && astray.By == told.Id) ?? LeftBehind(state, told);

    /// <summary>
    /// The cartridge still recorded in a slot into which another was loaded, once its move is no longer its hands' next
    /// step. Until then there is no contradiction.
    /// </summary>
    private static Cartridge? LeftBehind(BenchState state, ReportedStep told)
    {
        if (told.Event is not BenchEvent.Loaded { Place: CartridgePlace.InSlot } loaded
            || state.Find(loaded.Request)?.Phase is not CartridgePhase.Reacting { Place: var place }
            || place != loaded.Place)
            return null;
        return state.Cartridges.FirstOrDefault(cartridge => cartridge.Id != loaded.Request
            && cartridge.Phase is CartridgePhase.Reacting { Place: var other } && other == place
            && !IsMovedNext(state, cartridge.Id)
            && LoadOf(state, cartridge.Id) is { } earlier && earlier.InOrder <= told.InOrder);
    }

    private static bool IsMovedNext(BenchState state, RequestId request) =>
        state.Adopted?.MoveOf(request) is { Step.Hands: { } hands } row && state.Adopted.NextOf(hands) == row;

    /// <summary>
    /// Whether the question of the card is answered elsewhere: while the reader's card is in doubt, the reader's own
    /// question asks for it; once somebody has seen the card, it is known.
    /// </summary>
    private static bool IsAnsweredByACard(BenchState state, ReportedStep told)
    {
        if (told.Place is not CartridgePlace.InReader inside)
            return false;
        var next = state.Story.Find(later => later.InOrder >= told.InOrder && later.Id != told.Id
            && later.Place == told.Place
            && later.Event is BenchEvent.CardSeen or BenchEvent.CardChanged);
        return next is null ? state.DoubtOf(inside.Reader) is not null : next.Event is BenchEvent.CardSeen;
    }

    /// <summary>
    /// Whether the cartridge has been discarded since, so that the contradiction needs no answer any more.
    /// </summary>
    private static bool IsMoot(BenchState state, ReportedStep told) =>
        state.Story.Exists(later => later.Event is BenchEvent.Discarded && later.Subject == told.Subject
            && later.InOrder >= told.InOrder && later.Id != told.Id);

    private static IEnumerable<AnswerOption> OfOther(BenchState state, ReportedStep told, Cartridge? other)
    {
        if (other is null)
            yield break;
        if (told.Place is CartridgePlace.InSlot && MovedTo(state, other) is not null)
            yield return new AnswerOption(Answer.OtherMoved, [], TakesTime: true);
        yield return new AnswerOption(Answer.OtherCleared, []);
        yield return new AnswerOption(Answer.OtherDiscarded, []);
        var free = Free(state);
        if (free.IsEmpty)
            yield break;
        if (LoadOf(state, other.Id) is { Event: BenchEvent.Loaded { Place: CartridgePlace.InSlot } }
            && FreeOfOther(state, told, free) is { IsEmpty: false } its)
            yield return new AnswerOption(Answer.OtherInSlot, its);
        if (told.Event is BenchEvent.Loaded { Place: CartridgePlace.InSlot })
            yield return new AnswerOption(Answer.InSlot, free);
    }

    /// <summary>
    /// The reader into which a cartridge can have been moved out of its slot, unheard of: where a step that is not
    /// known or the plan would put it, else the only one; null where that is taken.
    /// </summary>
    internal static ReaderNumber? MovedTo(BenchState state, Cartridge cartridge)
    {
        if (LoadOf(state, cartridge.Id) is not { Event: BenchEvent.Loaded { Place: CartridgePlace.InSlot } })
            return null;
        var reader = (UnknownSteps.Of(state, cartridge.Id)?.Action as StepAction.Move)?.Reader
            ?? (state.Adopted?.MoveOf(cartridge.Id)?.Step.Action as StepAction.Move)?.Reader
            ?? (state.Setup.Readers == 1 ? state.Readers.First() : null);
        return reader is { } one && state.InReader(one) is null ? one : null;
    }

    private static IEnumerable<AnswerOption> OfItself(BenchState state, ReportedStep told,
        ImmutableArray<Deviation> own)
    {
        if (own.IsEmpty)
            yield break;
        if (own.Contains(Deviation.OutOfOrder) && told.Event is BenchEvent.Loaded
            && !WasTold<BenchEvent.Mixed>(state, told))
            yield return new AnswerOption(Answer.WasMixed, []);
        if (own.Contains(Deviation.OutOfOrder) && told.Event is BenchEvent.Cleared
            && !WasTold<BenchEvent.ReadStarted>(state, told))
            yield return new AnswerOption(Answer.WasRead, [], TakesTime: true);
        if (own.Contains(Deviation.OtherCard))
            yield return new AnswerOption(Answer.CardWasRight, []);
        if (own.Contains(Deviation.OtherPlace) && told.Event is BenchEvent.Loaded
            && Free(state) is { IsEmpty: false } free)
            yield return new AnswerOption(Answer.InSlot, free);
        if (own.Contains(Deviation.ReadBeforeLoad))
            yield return new AnswerOption(Answer.AtThatTime, [], TakesTime: true);
        yield return new AnswerOption(Answer.Stands, []);
    }

    private static bool WasTold<T>(BenchState state, ReportedStep of) =>
        state.Story.Exists(told => told.Event is T && told.Subject == of.Subject);

    internal static ReportedStep? LoadOf(BenchState state, RequestId request) =>
        state.Story.FindLast(told => told.Event is BenchEvent.Loaded && told.Subject == request);

    /// <summary>
    /// The slots in which the other cartridge can be. In the one into which this one was told to be loaded only where
    /// this one has been thrown away since: then it was never there.
    /// </summary>
    private static ImmutableArray<SlotNumber> FreeOfOther(BenchState state, ReportedStep told,
        ImmutableArray<SlotNumber> free) =>
        told.Place is CartridgePlace.InSlot mine
            && state.Find(told.Subject!.Value)?.Stage is not CartridgeStage.Discarded ? free.Remove(mine.Slot) : free;

    private static ImmutableArray<SlotNumber> Free(BenchState state) =>
        [.. state.Slots.Where(slot => state.InSlot(slot) is null)];
}
