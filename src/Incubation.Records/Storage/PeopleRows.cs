using Incubation.Clinic.People;
using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>The hash of a secret of a person, device or program. No projection: it stands nowhere else.</summary>
internal sealed record SecretRow
{
    public required string Owner { get; init; }
    public required SecretKind Kind { get; init; }
    public required string Hash { get; init; }
    public required Instant? Expires { get; init; }

    /// <summary>The row of the clinic's stream that set it; 0 in a file of a program that sealed nothing.</summary>
    public long SetBy { get; init; }

    /// <summary>Seal of all of the above, or null in such a file.</summary>
    public byte[]? Seal { get; init; }
}

/// <summary>A sign-in that has not ended. No projection: what it was stands in the log, not its token.</summary>
internal sealed record SessionRow
{
    public required string Id { get; init; }
    public required string Person { get; init; }
    public required SignInWay Way { get; init; }
    public required string? Device { get; init; }
    public required string Name { get; init; }
    public required Instant Started { get; init; }
    public required Instant LastSeen { get; init; }

    /// <summary>Which browser on which system it is; null where it is not known.</summary>
    public string? Browser { get; init; }

    /// <summary>
    /// The row of the clinic's stream by which it began; 0 in a file of a program that sealed nothing.
    /// </summary>
    public long Begun { get; init; }

    /// <summary>Seal of all of the above, or null in such a file.</summary>
    public byte[]? Seal { get; init; }
}
