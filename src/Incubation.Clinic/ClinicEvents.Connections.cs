using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>There is a destination more; its secret lies beside the log.</summary>
    /// <param name="Destination">Names it in the log.</param>
    /// <param name="What">What it is.</param>
    /// <param name="After">It is told of what comes after these rows, and after this one.</param>
    public sealed record DestinationAdded(DestinationId Destination, Destination What,
        ImmutableArray<StreamEnd> After) : ClinicEvent;

    /// <summary>A destination is another than before.</summary>
    /// <param name="Destination">Which.</param>
    /// <param name="What">What it is now: told of the same things by a way of the same kind.</param>
    public sealed record DestinationChanged(DestinationId Destination, Destination What) : ClinicEvent;

    /// <summary>A destination has another secret. Messages bear both signatures for a while.</summary>
    /// <param name="Destination">Which.</param>
    /// <param name="BothUntil">Until when.</param>
    public sealed record DestinationSecretReplaced(DestinationId Destination, Instant BothUntil) : ClinicEvent;

    /// <summary>A destination is sent to again, or not for now: what is for it waits.</summary>
    /// <param name="Destination">Which.</param>
    /// <param name="IsOn">Whether it is sent to.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record DestinationSwitched(DestinationId Destination, bool IsOn, string Why) : ClinicEvent;

    /// <summary>A destination is used no more, and what waited for it is given up.</summary>
    /// <param name="Destination">Which.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record DestinationEnded(DestinationId Destination, string Why) : ClinicEvent;

    /// <summary>A message that waits, or was refused for good, is to be sent now.</summary>
    /// <param name="Destination">To where.</param>
    /// <param name="Notice">Which.</param>
    public sealed record DeliveryResent(DestinationId Destination, NoticeId Notice) : ClinicEvent;

    /// <summary>
    /// A destination is told once more, or for the first time, of a day's results: of all of which others were told
    /// between two instants, also before it was added. Each goes under the id that it has, so that a repeat is known.
    /// </summary>
    /// <param name="Destination">To where.</param>
    /// <param name="Day">The clinic's day.</param>
    /// <param name="From">When it began.</param>
    /// <param name="Until">When it ended.</param>
    public sealed record DayResent(DestinationId Destination, LocalDate Day, Instant From, Instant Until) : ClinicEvent;

    /// <summary>A message is not sent any more.</summary>
    /// <param name="Destination">To where.</param>
    /// <param name="Notice">Which.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record DeliveryGivenUp(DestinationId Destination, NoticeId Notice, string Why) : ClinicEvent;

    /// <summary>
    /// Destinations are told of a result of a closed batch, or of one whose lot's controls were wrong.
    /// </summary>
    /// <param name="Bench">The bench.</param>
    /// <param name="Batch">The batch.</param>
    /// <param name="Request">The cartridge's request.</param>
    /// <param name="Kind">What they are told.</param>
    public sealed record ResultNoticed(BenchId Bench, int Batch, RequestId Request, NoticeKind Kind) : ClinicEvent;

    /// <summary>Destinations are told of an alarm that nobody has seen.</summary>
    /// <param name="Bench">Where.</param>
    /// <param name="Kind">Which.</param>
    /// <param name="Place">"slot 3", "the reader", or null.</param>
    /// <param name="Since">Since when it stands.</param>
    /// <param name="Deadline">Until when what is at risk can still be kept, or null.</param>
    public sealed record AlarmNoticed(BenchId Bench, AlarmKind Kind, string? Place, Instant Since, Instant? Deadline)
        : ClinicEvent;
}
