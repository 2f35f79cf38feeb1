using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A slot and what is in it.</summary>
/// <param name="Slot">Which.</param>
/// <param name="Cartridge">What is in it, or null.</param>
/// <param name="Window">Its read window, or null.</param>
/// <param name="MoveAt">Planned start of its move, or null.</param>
/// <param name="OutOfUse">Until when it is out of use and why, or null.</param>
/// <param name="NotKnown">The step that is not known and would fill or empty it, or null.</param>
public sealed record SlotView(SlotNumber Slot, Cartridge? Cartridge, ReadWindow? Window, Instant? MoveAt,
    CalendarEntry? OutOfUse = null, UnknownStep? NotKnown = null);

/// <summary>A reader and what is in it.</summary>
/// <param name="Reader">Which.</param>
/// <param name="Card">The card known to be in it, or null.</param>
/// <param name="Cartridge">The cartridge in it, or null.</param>
/// <param name="ReadyAt">When its read has ended by the assay's time, or null.</param>
/// <param name="CardDoubt">Why its card is not known until somebody sees it, or null.</param>
/// <param name="OutOfUse">Until when it is out of use and why, or null.</param>
/// <param name="NotKnown">The step that is not known and would fill or empty it, or null.</param>
public sealed record ReaderView(ReaderNumber Reader, LotCode? Card, Cartridge? Cartridge, Instant? ReadyAt,
    CardDoubt? CardDoubt = null, CalendarEntry? OutOfUse = null, UnknownStep? NotKnown = null);

/// <summary>What a bench shows at an instant.</summary>
/// <param name="At">The instant.</param>
/// <param name="Offers">The next step of each pair of hands that has one: of those that may begin, what must begin
/// first. A mix or load that would keep hands from saving a cartridge is left out.</param>
/// <param name="Upcoming">What comes after the offers, by planned start.</param>
/// <param name="Slots">Every slot.</param>
/// <param name="Readers">Every reader.</param>
/// <param name="Alarms">Alarms that stand, and those that will stand if nothing is reported; by start.</param>
/// <param name="Questions">Questions that stand, the oldest first.</param>
/// <param name="Losses">Cartridges that are given up, and why.</param>
/// <param name="Repeats">Cartridges without a value whose repeat can be ordered.</param>
/// <param name="NotPlanned">Requests that wait without a plan, and why.</param>
/// <param name="Totals">The batch in numbers.</param>
/// <param name="ChangesAt">The next instant after <paramref name="At"/> at which what is shown changes by time alone,
/// or null.</param>
/// <param name="ReplanAt">When the adopted plan should be made anew if nothing is reported until then, or null.</param>
/// <param name="LastMoments">Until when the hands may stay idle before a cartridge in work is lost.</param>
/// <param name="NotKnown">Steps of which nobody knows whether they were done.</param>
/// <param name="NotKnownAt">When patience with a step in progress ends, and it is to be noted as not known; or
/// null.</param>
public sealed record BenchView(
    Instant At,
    ImmutableArray<Offer> Offers,
    ImmutableArray<UpcomingStep> Upcoming,
    ImmutableArray<SlotView> Slots,
    ImmutableArray<ReaderView> Readers,
    ImmutableArray<Alarm> Alarms,
    ImmutableArray<Question> Questions,
    ImmutableArray<Loss> Losses,
    ImmutableArray<RequestId> Repeats,
    ImmutableArray<NotPlanned> NotPlanned,
    BatchTotals Totals,
    Instant? ChangesAt,
    Instant? ReplanAt,
    LastMoments LastMoments,
    ImmutableArray<UnknownStep> NotKnown,
    Instant? NotKnownAt);
