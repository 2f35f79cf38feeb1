using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.Clinic.Stock;

/// <summary>One delivery of a lot.</summary>
/// <param name="At">When it came in.</param>
/// <param name="Count">How many; null where that was not said (lots of before there was a count).</param>
/// <param name="Serial">Its serial number, or null.</param>
public sealed record Shipment(Instant At, int? Count, string? Serial);

/// <summary>What somebody counted.</summary>
public sealed record Recount(Instant At, int Count, string Why);

/// <summary>Why something must not be used.</summary>
public sealed record Quarantine(Instant At, string Why);

/// <summary>A lot of something as the clinic's stream tells.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Lot">Its lot.</param>
/// <param name="Assay">The assay that it is for; null for a control material that serves several.</param>
/// <param name="Expiry">The last day on which it may be used, in the clinic's zone.</param>
public sealed record StockItem(StockKind Kind, LotCode Lot, AssayCode? Assay, LocalDate Expiry)
{
    /// <summary>The maker's item number, or null.</summary>
    public Gtin? Item { get; init; }

    /// <summary>Its deliveries, the first first; at least one.</summary>
    public ImmutableArray<Shipment> Shipments { get; init; } = [];

    /// <summary>What was counted last, or null.</summary>
    public Recount? Recount { get; init; }

    /// <summary>When it was opened, or null.</summary>
    public Instant? OpenedAt { get; init; }

    /// <summary>Why it must not be used, or null.</summary>
    public Quarantine? Quarantine { get; init; }

    /// <summary>When it was finished, or null.</summary>
    public Instant? FinishedAt { get; init; }

    /// <summary>What tells it from all others.</summary>
    public StockKey Key => new(Kind, Lot);

    /// <summary>Whether cartridges that are run are taken from it.</summary>
    public bool IsUsedUp => Kind is StockKind.Kit or StockKind.Buffer;

    /// <summary>Uses count from here on: before, they are in what was counted.</summary>
    public Instant? CountedAt => Recount?.At;

    /// <summary>
    /// How many there were when uses began to count, with what came since; null where that is not known.
    /// </summary>
    public int? Counted
    {
        get
        {
            var since = Shipments.Where(shipment => Recount is null || shipment.At > Recount.At).ToList();
            return since.Any(shipment => shipment.Count is null)
                ? null : (Recount?.Count ?? 0) + since.Sum(shipment => shipment.Count!.Value);
        }
    }
}
