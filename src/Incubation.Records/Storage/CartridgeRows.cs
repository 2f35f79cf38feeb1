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
