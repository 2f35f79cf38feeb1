using Incubation.Model;
using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>How far the tables of a projection have read their stream, and by which version of the code.</summary>
internal sealed class ProjectionRow
{
    public required string Name { get; init; }
    public required long Sequence { get; set; }
    public required int CodeVersion { get; set; }
}

/// <summary>The clinic; one row.</summary>
internal sealed record ClinicRow
{
    public required string Name { get; init; }
    public required string TimeZone { get; init; }
    public required long Sequence { get; init; }
}

/// <summary>An approved version of an assay.</summary>
internal sealed record AssayRow
{
    public required AssayCode Code { get; init; }
    public required int Version { get; init; }

    /// <summary>The whole sheet as JSON, as its event has it.</summary>
    public required string Sheet { get; init; }

    public required Instant ApprovedAt { get; init; }
    public required long Sequence { get; init; }
}

/// <summary>A kit lot.</summary>
internal sealed record LotRow
{
    public required LotCode Lot { get; init; }
    public required AssayCode Assay { get; init; }
    public required LocalDate Expiry { get; init; }
    public required Instant ReceivedAt { get; init; }
    public required long Sequence { get; init; }
}

/// <summary>A bench of the clinic.</summary>
internal sealed record BenchRow
{
    public required BenchId Bench { get; init; }
    public required string Name { get; init; }
    public required long Sequence { get; init; }
}

/// <summary>A request as it came in. What became of it stands in its bench's stream.</summary>
internal sealed record RequestRow
{
    public required RequestId Id { get; init; }
    public required BenchId Bench { get; init; }
    public required SpecimenId Specimen { get; init; }
    public required AssayCode Assay { get; init; }
    public required int AssayVersion { get; init; }
    public required LotCode Lot { get; init; }
    public required Instant Ready { get; init; }
    public required RequestKind Kind { get; init; }
    public required bool RepeatLeft { get; init; }
    public required Priority Priority { get; init; }
    public required Instant? Due { get; init; }
    public required Instant? LoadBy { get; init; }

    /// <summary>Ids of the requests that come before, as a JSON list.</summary>
    public required string After { get; init; }

    /// <summary>What else is known of it as JSON, or null.</summary>
    public required string? Particulars { get; init; }

    public required Instant ReceivedAt { get; init; }
    public required long Sequence { get; init; }
}
