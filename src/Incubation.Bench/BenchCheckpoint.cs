using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A reader's card as it is known; one of the two stands.</summary>
/// <param name="Reader">Which reader.</param>
/// <param name="Card">The card known to be in, or null.</param>
/// <param name="Doubt">Why the card is not known until somebody has seen it, or null.</param>
public sealed record CardStatus(ReaderNumber Reader, LotCode? Card, CardDoubt? Doubt);

/// <summary>When a pair of hands last reported.</summary>
public sealed record HandsStatus(HandsNumber Hands, Instant LastReport);

/// <summary>
/// What reports of steps say of a bench beyond its batch: its cards and its hands' last reports. A batch's story begins
/// with this, and an undone report gives it back.
/// </summary>
/// <param name="Readers">The cards in readers, by number.</param>
/// <param name="Hands">When hands last reported, by number.</param>
public sealed record Beliefs(ImmutableArray<CardStatus> Readers, ImmutableArray<HandsStatus> Hands)
{
    /// <summary>Nothing known yet.</summary>
    public static Beliefs None { get; } = new([], []);
}

/// <summary>A report of which it is not known who made it.</summary>
/// <param name="Report">The report.</param>
/// <param name="At">When it happened, as reported.</param>
/// <param name="Person">The last who was signed in on the device.</param>
/// <param name="Device">The device that was locked.</param>
public sealed record UncheckedReport(ReportId Report, Instant At, PersonId Person, DeviceId Device);

/// <summary>
/// What outlives a batch: everything that the events after it rest on, and nothing of the batches before. Kept in the
/// log between two batches, so that a replay can begin there; its members are the names on disk.
/// </summary>
/// <param name="Bench">Which bench.</param>
/// <param name="Name">Its name.</param>
/// <param name="Setup">Its hands, slots and readers.</param>
/// <param name="PromptAhead">How long ahead of its planned start a step is prompted.</param>
/// <param name="Batch">Number of the present batch, from 1.</param>
/// <param name="Readers">The cards in its readers, by number.</param>
/// <param name="Hands">When its hands last reported, by number.</param>
/// <param name="OutOfUse">Hands that are away, slots, readers and the incubator that are out of use; what is over stays
/// until something else changes.</param>
/// <param name="IntakePaused">Whether new requests are turned away.</param>
/// <param name="Incubator">How warm the incubator must be, or null where that was never said.</param>
/// <param name="Temperature">What was measured last in the incubator, or null.</param>
/// <param name="OutsideSince">Since when the incubator is outside its tolerance, or null.</param>
/// <param name="ClockMark">Since when the host's time is in doubt, or null.</param>
/// <param name="Unchecked">Reports made on locked devices that nobody has settled, the oldest first.</param>
/// <param name="LastArrived">The latest arrival of a command.</param>
/// <param name="LotGates">Kit lots whose gate is not open.</param>
/// <param name="InsideSince">Since when the incubator is inside its tolerance, as far as was measured; null where it is
/// not, or was never measured.</param>
/// <param name="ReadinessWords">What persons have confirmed to be ready; asked again when it is too old.</param>
/// <param name="Probes">Probes that are expected to send what they measure, by their ids.</param>
/// <param name="Labels">What is asked of the labels on its cartridges, or null where nobody has said.</param>
public sealed record BenchCheckpoint(
    BenchId Bench,
    string Name,
    BenchSetup Setup,
    Duration PromptAhead,
    int Batch,
    ImmutableArray<CardStatus> Readers,
    ImmutableArray<HandsStatus> Hands,
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
    ImmutableArray<ReadinessConfirmation> ReadinessWords,
    ImmutableArray<ExpectedProbe> Probes,
    LabelDemand? Labels)
{
    /// <summary>A bench of which nothing is known but that it was opened.</summary>
    internal static BenchCheckpoint Opened(BenchEvent.BenchOpened opened) => new(
        opened.Bench, opened.Name, opened.Setup, opened.PromptAhead, Batch: 1, Readers: [], Hands: [], OutOfUse: [],
            IntakePaused: false,
        Incubator: null, Temperature: null, OutsideSince: null, ClockMark: null, Unchecked: [],
            LastArrived: Instant.MinValue, LotGates: [],
        InsideSince: null, ReadinessWords: [], Probes: [], Labels: null);

    /// <summary>
    /// The checkpoint of a bench whose last batch has just been closed; throws <see cref="ArgumentException"/> in the
    /// midst of one.
    /// </summary>
    public static BenchCheckpoint Of(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        if (state.Phase != BatchPhase.Preparing || !state.Cartridges.IsEmpty || !state.Story.IsEmpty)
            throw new ArgumentException(
                "A checkpoint is taken when the last batch is closed and nothing has been told since.", nameof(state));
        return state.Checkpoint;
    }

    /// <summary>The card known to be in a reader, or null.</summary>
    public LotCode? CardIn(ReaderNumber reader) => StatusOf(reader)?.Card;

    /// <summary>Why a reader's card is not known until somebody has seen it, or null.</summary>
    public CardDoubt? DoubtOf(ReaderNumber reader) => StatusOf(reader)?.Doubt;

    /// <summary>When a pair of hands last reported, or null.</summary>
    public Instant? LastReportOf(HandsNumber hands)
    {
        foreach (var status in Hands)
            if (status.Hands == hands)
                return status.LastReport;
        return null;
    }

    /// <summary>Its cards and its hands' last reports, as reports of steps have said.</summary>
    internal Beliefs Believed() => new(Readers, Hands);

    /// <summary>The same with what reports of steps had said at another time.</summary>
    internal BenchCheckpoint Believing(Beliefs believed) =>
        this with { Readers = believed.Readers, Hands = believed.Hands };

    /// <summary>The same with another status of a reader's card.</summary>
    internal BenchCheckpoint With(CardStatus status) => this with
    {
        Readers = [.. Readers.Where(other => other.Reader != status.Reader).Append(status)
            .OrderBy(one => one.Reader.Value)],
    };

    /// <summary>The same after a pair of hands reported.</summary>
    internal BenchCheckpoint Reported(HandsNumber hands, Instant at) => this with
    {
        Hands = [.. Hands.Where(other => other.Hands != hands).Append(new HandsStatus(hands, at))
            .OrderBy(one => one.Hands.Value)],
    };

    private CardStatus? StatusOf(ReaderNumber reader)
    {
        foreach (var status in Readers)
            if (status.Reader == reader)
                return status;
        return null;
    }
}
