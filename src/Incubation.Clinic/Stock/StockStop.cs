using Incubation.Model;

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

/// <summary>What stands in the way of a kit lot.</summary>
/// <param name="Kind">The part that it is about: the kit, its buffer or its card.</param>
/// <param name="Lot">The lot.</param>
/// <param name="Cause">Why.</param>
/// <param name="Detail">The other lot, the reason in a person's words, or the last day; as data for the
/// sentence.</param>
public sealed record StockStop(StockKind Kind, LotCode Lot, StockStopCause Cause, string Detail);
