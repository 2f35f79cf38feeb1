using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Everything that a bench knows, in two parts: what outlives a batch, and what belongs to it. Immutable; made from
/// events alone. The members of both parts can be read from here.
/// </summary>
public sealed record BenchState
{
    /// <summary>What outlives the batch.</summary>
    public required BenchCheckpoint Checkpoint { get; init; }

    /// <summary>What belongs to the present batch.</summary>
    public required BatchRun Run { get; init; }

    /// <summary>
    /// Whether something that a plan rests on was recorded since the last was adopted: a host that starts with it plans
    /// at once.
    /// </summary>
    public bool HasUnplanned { get; init; }

    /// <summary>The latest event on which a plan rests, where no plan was adopted after it; null before one.</summary>
    internal NewsToPlan? News { get; init; }

    /// <summary>Every command recorded, so that a repeat is harmless.</summary>
    public ImmutableHashSet<ReportId> Recorded { get; init; } = [];

    /// <summary>How many events made this state: the bench's revision.</summary>
    public long Revision { get; init; }

    /// <summary>A bench between two batches.</summary>
    /// <param name="checkpoint">What is known of it.</param>
    /// <param name="revision">The row after which the checkpoint was taken. Commands recorded up to that row are not
    /// known.</param>
    public static BenchState From(BenchCheckpoint checkpoint, long revision)
    {
        ArgumentNullException.ThrowIfNull(checkpoint);
        return new BenchState
        {
            Checkpoint = checkpoint,
            Run = NewRun(checkpoint),
            HasUnplanned = true,
            Revision = revision
        };
    }

    /// <summary>The same with its batch changed.</summary>
    internal BenchState InRun(Func<BatchRun, BatchRun> change) => this with { Run = change(Run) };

    /// <summary>The same with what outlives the batch changed.</summary>
    internal BenchState InCheckpoint(Func<BenchCheckpoint, BenchCheckpoint> change) =>
        this with { Checkpoint = change(Checkpoint) };

    /// <summary>A batch in which nothing has been told yet.</summary>
    internal static BatchRun NewRun(BenchCheckpoint checkpoint) => new()
    {
        StoryStart = checkpoint.Believed(),
        Since = checkpoint.LastArrived,
        LastHeard = checkpoint.LastArrived,
    };

    public BenchId Id => Checkpoint.Bench;

    public string Name => Checkpoint.Name;

    public BenchSetup Setup => Checkpoint.Setup;

    public Duration PromptAhead => Checkpoint.PromptAhead;

    public int Batch => Checkpoint.Batch;

    public ImmutableArray<CalendarEntry> OutOfUse => Checkpoint.OutOfUse;

    public bool IntakePaused => Checkpoint.IntakePaused;

    public IncubatorRule? Incubator => Checkpoint.Incubator;

    public TemperatureReading? Temperature => Checkpoint.Temperature;

    public Instant? InsideSince => Checkpoint.InsideSince;

    public Instant? OutsideSince => Checkpoint.OutsideSince;

    public ImmutableArray<ReadinessConfirmation> ReadinessWords => Checkpoint.ReadinessWords;

    public ImmutableArray<GatedLot> LotGates => Checkpoint.LotGates;

    public ImmutableArray<ExpectedProbe> Probes => Checkpoint.Probes;

    public LabelDemand? Labels => Checkpoint.Labels;

    public ClockMark? ClockMark => Checkpoint.ClockMark;

    public Instant LastArrived => Checkpoint.LastArrived;

    public ImmutableArray<UncheckedReport> Unchecked => Checkpoint.Unchecked;

    public BatchPhase Phase => Run.Phase;

    public Instant? StartedAt => Run.StartedAt;

    public ImmutableArray<Cartridge> Cartridges => Run.Cartridges;

    public ImmutableArray<DoneStep> Done => Run.Done;

    public AdoptedPlan? Adopted => Run.Adopted;

    public ImmutableArray<UnknownStep> NotKnown => Run.NotKnown;

    public ImmutableHashSet<AlarmKey> Acknowledged => Run.Acknowledged;

    public UndoPoint? Undo => Run.Undo;

    public ImmutableList<ReportedStep> Story => Run.Story;

    public ImmutableArray<SettledQuestion> Settled => Run.Settled;

    public ImmutableArray<RejectedSpecimen> Rejected => Run.Rejected;

    public Outage? Outage => Run.Outage;

    /// <summary>The readers of the bench.</summary>
    public IEnumerable<ReaderNumber> Readers => Enumerable.Range(1, Setup.Readers)
        .Select(number => new ReaderNumber(number));

    /// <summary>The slots of the bench.</summary>
    public IEnumerable<SlotNumber> Slots => Enumerable.Range(1, Setup.Slots).Select(number => new SlotNumber(number));

    /// <summary>The pairs of hands that work on the bench.</summary>
    public IEnumerable<HandsNumber> Hands => Enumerable.Range(1, Setup.Hands).Select(number => new HandsNumber(number));

    /// <summary>The card known to be in a reader, or null.</summary>
    public LotCode? CardIn(ReaderNumber reader) => Checkpoint.CardIn(reader);

    /// <summary>Why a reader's card is not known until somebody has seen it, or null.</summary>
    public CardDoubt? DoubtOf(ReaderNumber reader) => Checkpoint.DoubtOf(reader);

    /// <summary>Whether the card of any reader is known.</summary>
    public bool HasCards => Checkpoint.Readers.Any(status => status.Card is not null);

    /// <summary>When a pair of hands last reported, or null.</summary>
    public Instant? LastReportOf(HandsNumber hands) => Checkpoint.LastReportOf(hands);

    /// <summary>
    /// Since when hands have not been heard of that left a step not known, or null: nothing that they are offered
    /// counts as begun.
    /// </summary>
    public Instant? SilentSince(HandsNumber hands) => Run.Silent.FirstOrDefault(one => one.Hands == hands)?.Since;

    /// <summary>When hands that were silent were heard of, or null where they have reported since.</summary>
    public Instant? ReturnedAt(HandsNumber hands) => Run.Returned.FirstOrDefault(one => one.Hands == hands)?.At;

    /// <summary>Since when plans have given a cartridge up without a break, or null where they do not.</summary>
    public Instant? GivenUpSince(RequestId request) => Run.GivenUp.FirstOrDefault(one => one.Request == request)?.Since;

    /// <summary>Finds a cartridge of this batch, or null.</summary>
    public Cartridge? Find(RequestId request)
    {
        foreach (var cartridge in Cartridges)
            if (cartridge.Id == request)
                return cartridge;
        return null;
    }

    /// <summary>Whether a request waits and is left out of plans, so that the rest can be planned.</summary>
    public bool IsSetAside(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge.Stage is CartridgeStage.Waiting && Run.Trouble is { } trouble
            && trouble.SetAside.Any(aside => aside.Request == cartridge.Id);
    }

    /// <summary>The gate of a kit lot where it is not open, or null.</summary>
    public GatedLot? GateOf(LotCode lot) => LotGates.FirstOrDefault(gate => gate.Lot == lot);

    /// <summary>The read window of a cartridge that reacts in a slot, or null for any other.</summary>
    public ReadWindow? WindowOf(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return WindowOf(cartridge, cartridge.Phase);
    }

    /// <summary>The read window of a cartridge in a given phase, or null where that phase has none.</summary>
    internal ReadWindow? WindowOf(Cartridge cartridge, CartridgePhase? phase) =>
        phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot } reacting
        ? ReadWindow.Of(cartridge.Wanted.Assay, Setup, reacting.LoadEnd)
        : null;

    /// <summary>The cartridge believed to be in a reader, or null.</summary>
    public Cartridge? InReader(ReaderNumber reader) =>
        Cartridges.FirstOrDefault(cartridge => cartridge.Phase?.FindReader() == reader);

    /// <summary>
    /// Whether a reader was the last place of a cartridge that is astray, and nothing else is known to be in it: it may
    /// not be empty.
    /// </summary>
    public bool IsInDoubt(ReaderNumber reader) =>
        InReader(reader) is null
            && Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.Astray astray
                && astray.Last.FindReader() == reader);

    /// <summary>The cartridge believed to be in a slot, or null.</summary>
    public Cartridge? InSlot(SlotNumber slot) => Cartridges.FirstOrDefault(cartridge =>
        cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at } && at.Slot == slot);
}
