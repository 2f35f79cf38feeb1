using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Clinic.Stock;

/// <summary>Why a kit lot must not be used.</summary>
public enum StockStopCause
{
    /// <summary>It has not come in.</summary>
    NotIn,

    /// <summary>
    /// It has not come in, and what is there is of another lot: parts of different lots must not be mixed.
    /// </summary>
    OtherLot,

    /// <summary>It is for another assay.</summary>
    OtherAssay,

    /// <summary>Its last day has passed.</summary>
    Expired,

    /// <summary>It is in quarantine.</summary>
    Quarantined,

    /// <summary>It is finished.</summary>
    Finished,
}

/// <summary>
/// What stands in the way of a kit lot, and the rule itself: may this kit lot be used for this assay on this day?
/// </summary>
/// <param name="Kind">The part that it is about: the kit, its buffer or its card.</param>
/// <param name="Lot">The lot.</param>
/// <param name="Cause">Why.</param>
/// <param name="Detail">The other lot, the reason in a person's words, or the last day; as data for the
/// sentence.</param>
public sealed record StockStop(StockKind Kind, LotCode Lot, StockStopCause Cause, string Detail)
{
    /// <summary>
    /// Why a kit lot must not be used for an assay on a day, or null: it, its buffer and its card are in, of one lot,
    /// in date, and neither in quarantine nor finished. An expired lot is never used (42 CFR 493.1252(d)).
    /// </summary>
    /// <param name="stock">Every lot.</param>
    /// <param name="lot">The kit lot.</param>
    /// <param name="assay">The assay.</param>
    /// <param name="day">The day in the clinic's zone.</param>
    public static StockStop? Of(StockState stock, LotCode lot, AssayCode assay, LocalDate day)
    {
        foreach (var kind in StockState.Parts)
        {
            if (stock.Find(kind, lot) is not { } item)
                return Missing(stock, kind, lot, assay);
            if (OfPart(item, assay, day) is { } stop)
                return stop;
        }

        return null;
    }

    /// <summary>
    /// Why a control material must not be used for an assay on a day, or null; null also where it is not kept in the
    /// stock, for not every clinic counts its controls. An expired one is never used (42 CFR 493.1252(d)).
    /// </summary>
    public static StockStop? OfControl(StockState stock, LotCode lot, AssayCode assay, LocalDate day) =>
        stock.Find(StockKind.Control, lot) is { } item
            ? OfPart(item with { Assay = item.Assay ?? assay }, assay, day)
            : null;

    private static StockStop Missing(StockState stock, StockKind kind, LotCode lot, AssayCode assay)
    {
        var other = kind == StockKind.Kit ? null : stock.Items.Values
            .Where(item => item.Kind == kind && item.Assay == assay && item.FinishedAt is null)
            .MinBy(item => item.Lot.Value, StringComparer.Ordinal);
        return other is null ? new StockStop(kind, lot, StockStopCause.NotIn, "")
            : new StockStop(kind, lot, StockStopCause.OtherLot, other.Lot.Value);
    }

    private static StockStop? OfPart(StockItem item, AssayCode assay, LocalDate day) =>
        item.Assay != assay ? new StockStop(item.Kind, item.Lot, StockStopCause.OtherAssay, item.Assay?.Value ?? "")
        : item.FinishedAt is not null ? new StockStop(item.Kind, item.Lot, StockStopCause.Finished, "")
        : item.Quarantine is { } shut ? new StockStop(item.Kind, item.Lot, StockStopCause.Quarantined, shut.Why)
        : day > item.Expiry
        ? new StockStop(item.Kind, item.Lot, StockStopCause.Expired, LocalDatePattern.Iso.Format(item.Expiry))
        : null;
}
