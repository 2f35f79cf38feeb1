using Incubation.Clinic.Stock;
using Incubation.Model;

namespace Incubation.Service.Stock;

/// <summary>Which lots are shown.</summary>
public enum StockShown
{
    /// <summary>Those not finished.</summary>
    There,

    /// <summary>Those that may be used today.</summary>
    Usable,

    /// <summary>Those in quarantine.</summary>
    Quarantined,

    /// <summary>Those whose last day has passed, finished or not.</summary>
    Expired,

    /// <summary>Those that are finished.</summary>
    Finished,

    /// <summary>All.</summary>
    All,
}

/// <summary>By what lots are ordered.</summary>
public enum StockOrder
{
    /// <summary>By their last day.</summary>
    Expiry,

    /// <summary>By lot.</summary>
    Lot,

    /// <summary>By what they are, and for which assay.</summary>
    Kind,

    /// <summary>By assay.</summary>
    Assay,

    /// <summary>By their last delivery.</summary>
    Received,
}

/// <summary>What is asked of the list of lots.</summary>
/// <param name="Text">Part of the lot, the assay or the item number; empty for all.</param>
/// <param name="Kind">One kind, or null for all.</param>
/// <param name="Shown">Which.</param>
/// <param name="Order">By what.</param>
/// <param name="IsDown">Whether the order is turned round.</param>
/// <param name="Page">Which page, from 0.</param>
public sealed record StockQuery(string Text, StockKind? Kind, StockShown Shown, StockOrder Order, bool IsDown, int Page)
{
    /// <summary>Lots on one page.</summary>
    public const int PageLines = 25;

    /// <summary>What is asked at first.</summary>
    public static StockQuery First { get; } = new("", null, StockShown.There, StockOrder.Expiry, false, 0);
}

/// <summary>A lot in the list.</summary>
/// <param name="Item">The lot.</param>
/// <param name="Left">How many are left by the count; null where that is not counted.</param>
/// <param name="Status">Whether it may be used, in words.</param>
/// <param name="IsStopped">Whether something stands in the way.</param>
public sealed record StockLine(StockItem Item, int? Left, string Status, bool IsStopped);

/// <summary>One page of the list.</summary>
/// <param name="Lines">Its lines.</param>
/// <param name="Total">How many lots there are on all pages.</param>
/// <param name="Page">Which page this is, from 0: the last one where fewer are there than asked for.</param>
public sealed record StockPage(IReadOnlyList<StockLine> Lines, int Total, int Page)
{
    /// <summary>How many pages there are, at least one.</summary>
    public int Pages => Math.Max(1, (Total + StockQuery.PageLines - 1) / StockQuery.PageLines);
}

/// <summary>A kit lot that is offered for a request.</summary>
/// <param name="Lot">The lot.</param>
/// <param name="Text">With its last day and what is left.</param>
public sealed record LotChoice(LotCode Lot, string Text);
