using Incubation.Clinic.Connections;
using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>
/// Something of which destinations are told: one row for each notice, written in the transaction of the event that it
/// follows from. Who is told, and of what, is worked out when it is sent.
/// </summary>
internal sealed record NoticeRow
{
    public required string Stream { get; init; }

    /// <summary>The row of the log from which it follows: the last of its command.</summary>
    public required long Sequence { get; init; }

    /// <summary>Which request; empty for an alarm.</summary>
    public required string Request { get; init; }
    public required NoticeKind Kind { get; init; }
    public required string Bench { get; init; }

    /// <summary>The batch; 0 for an alarm.</summary>
    public required int Batch { get; init; }

    /// <summary>When the event arrived.</summary>
    public required Instant At { get; init; }

    /// <summary>Its place among all: the order in which they were written.</summary>
    public long Number { get; init; }

    /// <summary>Which of the notices about its request; 1 for an alarm.</summary>
    public int Revision { get; init; }

    /// <summary>Seal of all of the above: the log alone does not say in which order streams were written.</summary>
    public byte[]? Seal { get; init; }
}

/// <summary>
/// What became of a notice at a destination, once it was tried. No projection: where there is no row, or one whose seal
/// does not hold, the notice is sent, again if need be.
/// </summary>
internal sealed record DeliveryRow
{
    public required string Destination { get; init; }
    public required string Stream { get; init; }
    public required long Sequence { get; init; }
    public required string Request { get; init; }
    public required DeliveryStatus Status { get; init; }
    public required int Tries { get; init; }
    public required Instant NextTry { get; init; }
    public required Instant? LastTry { get; init; }
    public required string? Answer { get; init; }
    public byte[]? Seal { get; init; }
}
