using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A reader's card as it was known.</summary>
/// <param name="Reader">Which reader.</param>
/// <param name="Card">The card known to be in, or null.</param>
/// <param name="Doubt">Why the card is not known, or null.</param>
public sealed record StandingReader(ReaderNumber Reader, LotCode? Card, CardDoubt? Doubt);

/// <summary>When a pair of hands last reported.</summary>
public sealed record StandingHands(HandsNumber Hands, Instant LastReport);

/// <summary>
/// What a bench knows between two batches: everything that the events after it rest on, and nothing of the batches before.
/// From here a replay can begin.
/// </summary>
/// <param name="Bench">Which bench.</param>
/// <param name="Name">Its name.</param>
/// <param name="Setup">Its hands, slots and readers.</param>
/// <param name="PromptAhead">How long ahead steps are prompted.</param>
/// <param name="Batch">Number of the batch that comes next, from 1.</param>
/// <param name="Readers">The cards in its readers.</param>
/// <param name="Hands">When its hands last reported.</param>
/// <param name="OutOfUse">What is out of use.</param>
/// <param name="IntakePaused">Whether new requests are turned away.</param>
/// <param name="Incubator">How warm the incubator must be, or null.</param>
/// <param name="Temperature">What was measured last, or null.</param>
/// <param name="OutsideSince">Since when the incubator is outside its tolerance, or null.</param>
/// <param name="ClockMark">Since when the host's time is in doubt, or null.</param>
/// <param name="Unchecked">Reports of which it is not known who made them.</param>
/// <param name="LastArrived">When the last event arrived.</param>
/// <param name="LotGates">Kit lots whose gate is not open.</param>
/// <param name="InsideSince">Since when the incubator is inside its tolerance, or null.</param>
/// <param name="ReadinessWords">What persons have given their word for.</param>
public sealed record BenchStanding(
    BenchId Bench,
    string Name,
    BenchSetup Setup,
    Duration PromptAhead,
    int Batch,
    ImmutableArray<StandingReader> Readers,
    ImmutableArray<StandingHands> Hands,
    ImmutableArray<CalendarEntry> OutOfUse,
    bool IntakePaused,
    IncubatorRule? Incubator,
    TemperatureReading? Temperature,
    Instant? OutsideSince,
    ClockMark? ClockMark,
    ImmutableArray<UncheckedReport> Unchecked,
    Instant LastArrived,
    ImmutableArray<GatedLot> LotGates,
    Instant? InsideSince,
    ImmutableArray<ReadinessWord> ReadinessWords)
{
    /// <summary>The standing of a bench whose last batch has just been closed; throws <see cref="ArgumentException"/> in the midst of one.</summary>
    public static BenchStanding Of(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        if (state.Phase != BatchPhase.Preparing || !state.Cartridges.IsEmpty || !state.Story.IsEmpty)
            throw new ArgumentException("A bench stands between two batches when the last is closed and nothing has been told since.", nameof(state));
        return new BenchStanding(
            state.Id, state.Name, state.Setup, state.PromptAhead, state.Batch,
            [
                .. state.Cards.Keys.Union(state.CardDoubts.Keys).Order().Select(reader => new StandingReader(
                    new ReaderNumber(reader), state.Cards.TryGetValue(reader, out var card) ? card : null, state.CardDoubts.GetValueOrDefault(reader))),
            ],
            [.. state.LastReport.Select(hands => new StandingHands(new HandsNumber(hands.Key), hands.Value))],
            state.OutOfUse, state.IntakePaused, state.Incubator, state.Temperature, state.OutsideSince, state.ClockMark, state.Unchecked, state.LastArrived,
            state.LotGates, state.InsideSince, state.ReadinessWords);
    }

    /// <summary>The state after the row that this stands after. The commands recorded up to there are not in it.</summary>
    /// <param name="revision">That row.</param>
    public BenchState ToState(long revision)
    {
        var cards = Readers.Where(reader => reader.Card is not null).ToImmutableSortedDictionary(reader => reader.Reader.Value, reader => reader.Card!.Value);
        var hands = Hands.ToImmutableSortedDictionary(one => one.Hands.Value, one => one.LastReport);
        var doubts = Readers.Where(reader => reader.Doubt is not null).ToImmutableSortedDictionary(reader => reader.Reader.Value, reader => reader.Doubt!);
        return new BenchState
        {
            Id = Bench,
            Name = Name,
            Setup = Setup,
            PromptAhead = PromptAhead,
            Batch = Batch,
            Cards = cards,
            LastReport = hands,
            CardDoubts = doubts,
            StoryStart = new StoryStart(cards, hands, doubts),
            OutOfUse = OutOfUse,
            IntakePaused = IntakePaused,
            Incubator = Incubator,
            Temperature = Temperature,
            OutsideSince = OutsideSince,
            ClockMark = ClockMark,
            Unchecked = Unchecked,
            LastArrived = LastArrived,
            LotGates = LotGates,
            InsideSince = InsideSince,
            ReadinessWords = ReadinessWords,
            HasUnplanned = true,
            Revision = revision,
        };
    }
}
