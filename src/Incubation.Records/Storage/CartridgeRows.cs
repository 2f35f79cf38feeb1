namespace Incubation.Records.Storage;

/// <summary>A batch of a bench: where it stands in the bench's stream, and what the bench knew before it.</summary>
internal sealed class BatchRow
{
    public required string Bench { get; init; }
    public required int Number { get; init; }
    public required long First { get; init; }

    /// <summary>Its last row; null while it is open.</summary>
    public required long? Last { get; init; }
    public required long? StartedAt { get; init; }
    public required long? ClosedAt { get; init; }
    public required int Cartridges { get; init; }

    /// <summary>What the bench knew before its first row, as JSON; null at the beginning of the stream.</summary>
    public required string? Before { get; init; }

    /// <summary>The end of its last step so far; null, as what follows, while nothing was done.</summary>
    public required long? WorkedTo { get; init; }
    public required int? Hands { get; init; }
    public required int? Slots { get; init; }
    public required int? Readers { get; init; }
    public required long? HandsBusy { get; init; }
    public required long? SlotsBusy { get; init; }
    public required long? ReadersBusy { get; init; }

    /// <summary>
    /// When its first plan after the start said that it would end, and how many cartridges that plan held.
    /// </summary>
    public required long? PlannedEnd { get; init; }
    public required int? PlannedCartridges { get; init; }

    /// <summary>Its cartridges without those withdrawn.</summary>
    public required int? Worked { get; init; }
}

/// <summary>
/// A cartridge in times: narrow, so that a report reads a hundred thousand of them at once. All times in nanoseconds.
/// </summary>
internal sealed class CartridgeTimesRow
{
    public required string Bench { get; init; }
    public required int Batch { get; init; }
    public required string Request { get; init; }
    public required long Asked { get; init; }
    public required string Assay { get; init; }
    public required int AssayVersion { get; init; }
    public required string Lot { get; init; }
    public required int Kind { get; init; }
    public required int Priority { get; init; }
    public required int Standing { get; init; }
    public required int? Reason { get; init; }
    public required long? MixPlanned { get; init; }
    public required long? MixBegun { get; init; }
    public required long? MixEnd { get; init; }
    public required long? LoadPlanned { get; init; }
    public required long? LoadBegun { get; init; }
    public required long? LoadEnd { get; init; }
    public required long? MovePlanned { get; init; }
    public required long? MoveBegun { get; init; }
    public required long? MoveEnd { get; init; }
    public required long? ClearPlanned { get; init; }
    public required long? ClearBegun { get; init; }
    public required long? ClearEnd { get; init; }
    public required long? Opens { get; init; }
    public required long? Closes { get; init; }
    public required long? ReadStart { get; init; }
    public required bool? InWindow { get; init; }
    public required long? ResultAt { get; init; }
    public required long? DiscardedAt { get; init; }
    public required long? Spare { get; init; }
    public required int? Slot { get; init; }
    public required int? Reader { get; init; }
}

/// <summary>A cartridge, by what people look for; everything else is in its JSON.</summary>
internal sealed class CartridgeRow
{
    public required string Bench { get; init; }
    public required int Batch { get; init; }
    public required string Request { get; init; }
    public required string Specimen { get; init; }
    public required string Assay { get; init; }
    public required string Lot { get; init; }
    public required long At { get; init; }
    public required string Standing { get; init; }
    public required string Json { get; init; }
}
