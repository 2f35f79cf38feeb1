using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>A step of hands in times, after all corrections.</summary>
/// <param name="PlannedEnd">When it should have ended by the last plan that held it; null where no plan did.</param>
/// <param name="Begun">When it counts as begun; null where it was not done.</param>
/// <param name="End">When it ended, at the latest; null where it was not done.</param>
public readonly record struct StepSpan(Instant? PlannedEnd, Instant? Begun, Instant? End)
{
    /// <summary>How long it took; null where it was not done.</summary>
    public Duration? Length => End - Begun;
}

/// <summary>A cartridge in times: what reports are made of, without a specimen, a person or a result.</summary>
public sealed record CartridgeTimes
{
    /// <summary>The bench that ran it.</summary>
    public required BenchId Bench { get; init; }

    /// <summary>Number of its batch.</summary>
    public required int Batch { get; init; }

    /// <summary>Names the cartridge.</summary>
    public required RequestId Request { get; init; }

    /// <summary>
    /// Since when it waited: the later of its ready time and of when it came to the bench. Reports count it at this
    /// time.
    /// </summary>
    public required Instant Asked { get; init; }

    /// <summary>Its assay.</summary>
    public required AssayCode Assay { get; init; }

    /// <summary>The version that it ran under.</summary>
    public required int AssayVersion { get; init; }

    /// <summary>Lot of its kit.</summary>
    public required LotCode Lot { get; init; }

    /// <summary>Patient or control.</summary>
    public required RequestKind Kind { get; init; }

    /// <summary>Routine or urgent.</summary>
    public required Priority Priority { get; init; }

    /// <summary>What became of it.</summary>
    public required CartridgeStatus Standing { get; init; }

    /// <summary>Why it was thrown away, or null.</summary>
    public DiscardReason? Reason { get; init; }

    /// <summary>Its mix.</summary>
    public StepSpan Mix { get; init; }

    /// <summary>Its load; the reaction clock starts at its end.</summary>
    public StepSpan Load { get; init; }

    /// <summary>Its move to the reader; ends when the read starts. Not done where it reacted in the reader.</summary>
    public StepSpan Move { get; init; }

    /// <summary>Its clear.</summary>
    public StepSpan Clear { get; init; }

    /// <summary>From when it might be read; null where it had no window.</summary>
    public Instant? Opens { get; init; }

    /// <summary>By when its read had to start; null where it had no window.</summary>
    public Instant? Closes { get; init; }

    /// <summary>When its read started, by hand or by itself; null where it was not read.</summary>
    public Instant? ReadStart { get; init; }

    /// <summary>Whether the read started inside the window; null where that is not known.</summary>
    public bool? InWindow { get; init; }

    /// <summary>When its result was entered, or null.</summary>
    public Instant? ResultAt { get; init; }

    /// <summary>When it was thrown away, or null.</summary>
    public Instant? DiscardedAt { get; init; }

    /// <summary>
    /// The least spare time that was left when one of its steps began; null where nothing was at stake.
    /// </summary>
    public Duration? Spare { get; init; }

    /// <summary>Its slot, or null.</summary>
    public int? Slot { get; init; }

    /// <summary>Its reader, or null.</summary>
    public int? Reader { get; init; }

    /// <summary>Whether a kit was used for it: it was mixed or loaded.</summary>
    public bool IsUsed => Mix.End is not null || Load.End is not null;

    /// <summary>Whether a kit was used for it, and it was thrown away.</summary>
    public bool IsWasted => IsUsed && Standing == CartridgeStatus.Discarded;
}

/// <summary>What a batch had and how long it was used.</summary>
/// <param name="Bench">The bench.</param>
/// <param name="Batch">Number of the batch.</param>
/// <param name="From">When it was started.</param>
/// <param name="To">The end of its last step so far.</param>
/// <param name="Hands">Pairs of hands at its end.</param>
/// <param name="Slots">Slots.</param>
/// <param name="Readers">Readers.</param>
/// <param name="HandsBusy">How long hands were at steps, all hands together; a step counts three times its allowed time
/// at most.</param>
/// <param name="SlotsBusy">How long slots were taken, all together: from the load's begin to the move's.</param>
/// <param name="ReadersBusy">How long readers were taken, all together: from the move's begin to the clear's end, and
/// for card changes.</param>
/// <param name="PlannedEnd">When the first plan after the start said that it would end; null where none did.</param>
/// <param name="PlannedCartridges">How many cartridges that plan held.</param>
/// <param name="Cartridges">How many it held in the end, without those withdrawn.</param>
public sealed record BatchUse(
    BenchId Bench, int Batch, Instant From, Instant To, int Hands, int Slots, int Readers, Duration HandsBusy,
        Duration SlotsBusy, Duration ReadersBusy,
    Instant? PlannedEnd, int? PlannedCartridges, int Cartridges)
{
    /// <summary>From its start to the end of its last step.</summary>
    public Duration Length => To - From;
}
