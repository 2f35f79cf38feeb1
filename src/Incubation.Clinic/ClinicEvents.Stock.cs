using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>
    /// Something has come in. The same lot again is a further delivery: a new shipment, counted on its own.
    /// </summary>
    /// <param name="Kind">What it is.</param>
    /// <param name="Lot">Its lot.</param>
    /// <param name="Assay">The assay that it is for; null only for a control material that serves several.</param>
    /// <param name="Expiry">The last day on which it may be used, in the clinic's zone.</param>
    /// <param name="Count">How many came: cartridges, or bottles, cards, vials.</param>
    /// <param name="Item">The maker's item number, where it was scanned or typed.</param>
    /// <param name="Serial">The serial number, where it was scanned or typed.</param>
    public sealed record StockReceived(StockKind Kind, LotCode Lot, AssayCode? Assay, LocalDate Expiry, int Count,
        Gtin? Item, string? Serial) : ClinicEvent;

    /// <summary>It has been opened.</summary>
    public sealed record StockOpened(StockKind Kind, LotCode Lot) : ClinicEvent;

    /// <summary>Somebody has counted what is left.</summary>
    /// <param name="Kind">What it is.</param>
    /// <param name="Lot">Its lot.</param>
    /// <param name="Count">So many are there.</param>
    /// <param name="Why">Why it was counted, in a person's words.</param>
    public sealed record StockCounted(StockKind Kind, LotCode Lot, int Count, string Why) : ClinicEvent;

    /// <summary>It must not be used until somebody lets it out.</summary>
    public sealed record StockQuarantined(StockKind Kind, LotCode Lot, string Why) : ClinicEvent;

    /// <summary>It may be used again.</summary>
    public sealed record StockLetOut(StockKind Kind, LotCode Lot, string Why) : ClinicEvent;

    /// <summary>Below which number something is ordered.</summary>
    /// <param name="Kind">Kits or control material.</param>
    /// <param name="Assay">The assay; null only for a control material that serves several.</param>
    /// <param name="Least">The number; null where it is not ordered by a number any more.</param>
    public sealed record ReorderPointSet(StockKind Kind, AssayCode? Assay, int? Least) : ClinicEvent;

    /// <summary>Nothing is left, or what is left will not be used.</summary>
    public sealed record StockFinished(StockKind Kind, LotCode Lot) : ClinicEvent;
}
