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
}
