using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Where a batch stands.</summary>
public enum BatchPhase
{
    /// <summary>Requests are gathered; the plan is a preview.</summary>
    Preparing,

    /// <summary>Steps are offered.</summary>
    Running,
}

/// <summary>How far a request has come on the bench.</summary>
public abstract record CartridgeStage
{
    private CartridgeStage() { }

    /// <summary>Not mixed.</summary>
    public sealed record Waiting : CartridgeStage;

    /// <summary>In work.</summary>
    public sealed record InWork(CartridgePhase Phase) : CartridgeStage;

    /// <summary>In work, but later reports contradict where it was believed to be; left out of plans until settled by a clear or a discard.</summary>
    /// <param name="By">The report that contradicts it.</param>
    /// <param name="Last">How far it had come: only its place is in doubt.</param>
    /// <param name="Since">When that was reported.</param>
    public sealed record Astray(ReportId By, CartridgePhase Last, Instant Since) : CartridgeStage;

    /// <summary>Read and taken out.</summary>
    public sealed record Cleared(Instant End) : CartridgeStage;

    /// <summary>Thrown away.</summary>
    public sealed record Discarded(Instant End, DiscardReason Reason, string? InWords) : CartridgeStage;

    /// <summary>Taken back before it was mixed.</summary>
    public sealed record Withdrawn : CartridgeStage;
}

/// <summary>A request and its cartridge on the bench.</summary>
/// <param name="Wanted">The request with the assay facts that it runs under.</param>
/// <param name="Stage">How far it has come.</param>
/// <param name="Deviations">Everything in which its reports differed; not empty means that its result is held until somebody releases it.</param>
/// <param name="ReadInWindow">Whether the read started inside the window; null while not read.</param>
/// <param name="Result">What the reader gave, or null.</param>
/// <param name="Repeat">The request that repeats this one, or null.</param>
public sealed record Cartridge(
    BenchRequest Wanted,
    CartridgeStage Stage,
    ImmutableArray<Deviation> Deviations,
    bool? ReadInWindow,
    ReadResult? Result,
    RequestId? Repeat)
{
    public RequestId Id => Wanted.Request.Id;

    /// <summary>Not ready after all, and nobody knows when it will be: left out of plans until it has a time.</summary>
    public bool HeldBack { get; init; }

    /// <summary>Why it must be thrown away although its window may still be open; null where nothing says so.</summary>
    public DiscardReason? MustGo { get; init; }

    /// <summary>For how long in all, until the incubator was last back in its tolerance, it has reacted outside it.</summary>
    public Duration OutsideFor { get; init; }

    /// <summary>The phase, or null when not in work.</summary>
    public CartridgePhase? Phase => (Stage as CartridgeStage.InWork)?.Phase;

    /// <summary>How far it has come, wherever it is; null when not in work.</summary>
    public CartridgePhase? Reached => Phase ?? (Stage as CartridgeStage.Astray)?.Last;

    /// <summary>Whether nothing remains to be done with the cartridge itself.</summary>
    public bool IsOver => Stage is CartridgeStage.Cleared or CartridgeStage.Discarded or CartridgeStage.Withdrawn;

    /// <summary>Whether its result was entered while its lot's controls were not accepted, and they have not been since.</summary>
    public bool HeldForControls { get; init; }

    /// <summary>Whether its result is held.</summary>
    public bool IsHeld => Standing?.Released is null
        && (!Deviations.IsEmpty || HeldForControls || Standing?.Identity is ResultIdentity.Missing or ResultIdentity.Different);

    /// <summary>What has become of its result since it was entered; null before.</summary>
    public ResultStanding? Standing { get; init; }

    /// <summary>The value as it is reported, with its marks; null where there is none.</summary>
    public MarkedResult? Marked => Result is ReadResult.Measured measured
        ? MarkedResult.Of(Wanted.Facts?.Results ?? ResultRule.AsDisplayed, measured.Value)
        : null;

    /// <summary>Whether its value is critical, and nobody was told yet.</summary>
    public bool MustBeTold => Wanted.Request.Kind == RequestKind.Patient && Marked is { IsCritical: true } && Standing?.Told is null;

    /// <summary>Whether it was read and taken out, and its result is wanted and has not been entered.</summary>
    public bool ResultMissing => Stage is CartridgeStage.Cleared && Result is null && MustGo is null;
}

/// <summary>A step as it was really done.</summary>
public sealed record DoneStep(StepAction Action, HandsNumber? Hands, Instant Start, Instant End);

/// <summary>The plan that the bench follows.</summary>
/// <param name="Plan">The plan as adopted.</param>
/// <param name="Origin">Where it comes from.</param>
/// <param name="At">The instant from which it is valid.</param>
/// <param name="Remaining">Its rows that no report has ended, by start.</param>
public sealed record AdoptedPlan(Plan Plan, PlanOrigin Origin, Instant At, ImmutableArray<RemainingStep> Remaining)
{
    /// <summary>The plan without the rows that reports have ended.</summary>
    public Plan AsItStands => Plan with { Steps = [.. Remaining.Select(r => r.Step)] };

    /// <summary>The first row that a pair of hands has not ended, or null.</summary>
    public RemainingStep? NextOf(HandsNumber hands) => Remaining.FirstOrDefault(r => r.Step.Hands == hands);

    /// <summary>The row of a cartridge's move that is not ended, or null.</summary>
    public RemainingStep? MoveOf(RequestId request) =>
        Remaining.FirstOrDefault(r => r.Step.Action is StepAction.Move move && move.Request == request);

    /// <summary>The first row not ended that does this, or null.</summary>
    public RemainingStep? RowOf(StepAction action) => Remaining.FirstOrDefault(r => r.Step.Action == action);
}

/// <summary>A row of the adopted plan that no report has ended.</summary>
/// <param name="Step">The row.</param>
/// <param name="Spare">Its spare time, or null where nothing is at stake.</param>
public sealed record RemainingStep(PlannedStep Step, Duration? Spare);

/// <summary>The last report, which its own device may take back.</summary>
public sealed record UndoPoint(ReportId Report, DeviceId Device, BenchEvent Event, BenchState Before);

/// <summary>A report of which it is not known who made it.</summary>
/// <param name="Report">The report.</param>
/// <param name="At">When it happened, as reported.</param>
/// <param name="Person">The last who was signed in on the device.</param>
/// <param name="Device">The device that was locked.</param>
public sealed record UncheckedReport(ReportId Report, Instant At, PersonId Person, DeviceId Device);

/// <summary>Everything that a bench knows. Immutable; made from events alone.</summary>
public sealed record BenchState
{
    public required BenchId Id { get; init; }
    public required string Name { get; init; }
    public required BenchSetup Setup { get; init; }

    /// <summary>A step is prompted so long ahead of its planned start.</summary>
    public required Duration PromptAhead { get; init; }

    /// <summary>Number of the present batch, from 1.</summary>
    public int Batch { get; init; } = 1;

    public BatchPhase Phase { get; init; } = BatchPhase.Preparing;

    public Instant? StartedAt { get; init; }

    /// <summary>This batch's requests, in the order in which they came.</summary>
    public ImmutableArray<Cartridge> Cartridges { get; init; } = [];

    /// <summary>The cards known to be in readers.</summary>
    public ImmutableSortedDictionary<int, LotCode> Cards { get; init; } = ImmutableSortedDictionary<int, LotCode>.Empty;

    /// <summary>When each pair of hands last reported.</summary>
    public ImmutableSortedDictionary<int, Instant> LastReport { get; init; } = ImmutableSortedDictionary<int, Instant>.Empty;

    /// <summary>What was really done in this batch, in the order of the reports.</summary>
    public ImmutableArray<DoneStep> Done { get; init; } = [];

    public AdoptedPlan? Adopted { get; init; }

    /// <summary>Whether something that a plan rests on was recorded since the last was adopted: a host that starts with it plans at once.</summary>
    public bool HasUnplanned { get; init; }

    /// <summary>Cartridges that the adopted plan gives up, and since when plans have done so without a break.</summary>
    public ImmutableSortedDictionary<string, Instant> GivenUp { get; init; } = ImmutableSortedDictionary<string, Instant>.Empty;

    public ImmutableHashSet<AlarmKey> Acknowledged { get; init; } = [];

    /// <summary>Every command recorded, so that a repeat is harmless.</summary>
    public ImmutableHashSet<ReportId> Recorded { get; init; } = [];

    public UndoPoint? Undo { get; init; }

    /// <summary>What was believed when this batch's story began.</summary>
    public StoryStart StoryStart { get; init; } = StoryStart.Nothing;

    /// <summary>This batch's reports of steps as they stand now, in the order in which they were told.</summary>
    public ImmutableList<Told> Story { get; init; } = [];

    /// <summary>Readers whose card is not known until somebody has seen it, with the card that was believed to be in.</summary>
    public ImmutableSortedDictionary<int, CardDoubt> CardDoubts { get; init; } = ImmutableSortedDictionary<int, CardDoubt>.Empty;

    /// <summary>Hands that are away, slots, readers and the incubator that are out of use; what is over stays until the batch is closed.</summary>
    public ImmutableArray<CalendarEntry> OutOfUse { get; init; } = [];

    /// <summary>Whether new requests are turned away.</summary>
    public bool IntakePaused { get; init; }

    /// <summary>How warm the incubator must be, or null where that was never said.</summary>
    public IncubatorRule? Incubator { get; init; }

    /// <summary>What was measured last in the incubator, or null.</summary>
    public TemperatureReading? Temperature { get; init; }

    /// <summary>Since when the incubator is inside its tolerance, as far as was measured; null where it is not, or was never measured.</summary>
    public Instant? InsideSince { get; init; }

    /// <summary>What persons have given their word for; what is old is asked again.</summary>
    public ImmutableArray<ReadinessWord> ReadinessWords { get; init; } = [];

    /// <summary>Since when the incubator is outside its tolerance, or null.</summary>
    public Instant? OutsideSince { get; init; }

    /// <summary>Kit lots whose gate is not open.</summary>
    public ImmutableArray<GatedLot> LotGates { get; init; } = [];

    /// <summary>The last time that the server was down, until it is seen by a person; or null.</summary>
    public Outage? Outage { get; init; }

    /// <summary>Since when the host's time is in doubt, or null.</summary>
    public ClockMark? ClockMark { get; init; }

    /// <summary>The latest arrival of a command.</summary>
    public Instant LastArrived { get; init; } = Instant.MinValue;

    /// <summary>Questions that have been answered in this batch.</summary>
    public ImmutableArray<SettledQuestion> Settled { get; init; } = [];

    /// <summary>Reports made on locked devices that nobody has settled, the oldest first.</summary>
    public ImmutableArray<UncheckedReport> Unchecked { get; init; } = [];

    /// <summary>How many events made this state: the bench's revision.</summary>
    public long Revision { get; init; }

    /// <summary>Finds a cartridge of this batch, or null.</summary>
    public Cartridge? Find(RequestId request)
    {
        foreach (var cartridge in Cartridges)
            if (cartridge.Id == request)
                return cartridge;
        return null;
    }

    /// <summary>The gate of a kit lot where it is not open, or null.</summary>
    public GatedLot? GateOf(LotCode lot) => LotGates.FirstOrDefault(gate => gate.Lot == lot);

    /// <summary>The read window of a cartridge that reacts in a slot, or null for any other.</summary>
    public ReadWindow? WindowOf(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return WindowOf(cartridge, cartridge.Phase);
    }

    /// <summary>The read window of a cartridge that has come so far, or null where it has none.</summary>
    internal ReadWindow? WindowOf(Cartridge cartridge, CartridgePhase? phase) => phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot } reacting
        ? ReadWindow.Of(cartridge.Wanted.Assay, Setup, reacting.LoadEnd)
        : null;

    /// <summary>The cartridge believed to be in a reader, or null.</summary>
    public Cartridge? InReader(ReaderNumber reader) => Cartridges.FirstOrDefault(c => c.Phase?.FindReader() == reader);

    /// <summary>Whether a reader is the last place of a cartridge that is astray, and nothing else is known to be in it: nobody knows that it is empty.</summary>
    public bool IsInDoubt(ReaderNumber reader) =>
        InReader(reader) is null && Cartridges.Any(c => c.Stage is CartridgeStage.Astray astray && astray.Last.FindReader() == reader);

    /// <summary>The cartridge believed to be in a slot, or null.</summary>
    public Cartridge? InSlot(SlotNumber slot) => Cartridges.FirstOrDefault(c =>
        c.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at } && at.Slot == slot);
}
