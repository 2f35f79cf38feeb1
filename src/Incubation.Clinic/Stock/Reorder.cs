using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Stock;

/// <summary>Something of which a clinic wants to have enough: the kits, or the control material, of an assay.</summary>
/// <param name="Kind">Kits or control material.</param>
/// <param name="Assay">The assay; null only for a control material that serves several.</param>
public readonly record struct ReorderKey(StockKind Kind, AssayCode? Assay);

/// <summary>What is left of something, beside the number below which it is ordered.</summary>
/// <param name="Key">Of what.</param>
/// <param name="Least">Below this it is ordered.</param>
/// <param name="Left">So many are left and count.</param>
/// <param name="Expiring">So many are left that do not count, because they expire soon.</param>
/// <param name="NotCounted">Of so many lots it is not known how many are left.</param>
public sealed record ReorderLine(ReorderKey Key, int Least, int Left, int Expiring, int NotCounted)
{
    /// <summary>Whether it is to be ordered; never where it is not known how many are left.</summary>
    public bool IsBelow => NotCounted == 0 && Left < Least;
}

/// <summary>Whether what is left of a lot counts for its reorder point.</summary>
public enum ReorderCount
{
    /// <summary>It must not be used.</summary>
    No,

    /// <summary>It may be used, but expires soon.</summary>
    Soon,

    /// <summary>It counts.</summary>
    Yes,
}

/// <summary>What is to be ordered. Pure.</summary>
public static class Reorder
{
    /// <summary>The largest number below which something is ordered.</summary>
    public const int Most = 100_000;

    /// <summary>
    /// Everything that has such a number, kits first. What must not be used does not count (42 CFR 493.1252(d): nor
    /// may it be used once it has expired), nor what expires within some days.
    /// </summary>
    /// <param name="stock">Every lot.</param>
    /// <param name="left">How many of a lot are left; null where that is not counted.</param>
    /// <param name="today">The day, in the clinic's zone.</param>
    /// <param name="days">What expires within so many days does not count.</param>
    public static IReadOnlyList<ReorderLine> Of(StockState stock, Func<StockItem, int?> left, LocalDate today,
        int days)
    {
        ArgumentNullException.ThrowIfNull(stock);
        ArgumentNullException.ThrowIfNull(left);
        return
        [
            .. stock.ReorderPoints.OrderBy(point => point.Key.Kind)
                .ThenBy(point => point.Key.Assay?.Value ?? "", StringComparer.Ordinal)
                .Select(point => Line(stock, point.Key, point.Value, left, today, days)),
        ];
    }

    private static ReorderLine Line(StockState stock, ReorderKey key, int least, Func<StockItem, int?> left,
        LocalDate today, int days)
    {
        var line = new ReorderLine(key, least, 0, 0, 0);
        foreach (var item in stock.Items.Values.Where(item => new ReorderKey(item.Kind, item.Assay) == key))
            line = (left(item), CountsOf(stock, item, today, days)) switch
            {
                (_, ReorderCount.No) => line,
                (null, _) => line with { NotCounted = line.NotCounted + 1 },
                ({ } there, ReorderCount.Soon) => line with { Expiring = line.Expiring + Math.Max(0, there) },
                ({ } there, _) => line with { Left = line.Left + Math.Max(0, there) },
            };
        return line;
    }

    /// <summary>Whether what is left of a lot of kits or of control material counts.</summary>
    /// <param name="stock">Every lot.</param>
    /// <param name="item">The lot.</param>
    /// <param name="today">The day, in the clinic's zone.</param>
    /// <param name="days">What expires within so many days does not count.</param>
    public static ReorderCount CountsOf(StockState stock, StockItem item, LocalDate today, int days)
    {
        ArgumentNullException.ThrowIfNull(stock);
        ArgumentNullException.ThrowIfNull(item);
        return !MayBeUsed(stock, item, today) ? ReorderCount.No
            : Period.DaysBetween(today, LastDayOf(stock, item)) <= days ? ReorderCount.Soon : ReorderCount.Yes;
    }

    private static bool MayBeUsed(StockState stock, StockItem item, LocalDate today) =>
        (item.Kind == StockKind.Kit
            ? StockStop.Of(stock, item.Lot, item.Assay!.Value, today)
            : StockStop.OfControl(stock, item.Lot, item.Assay ?? default, today)) is null;

    private static LocalDate LastDayOf(StockState stock, StockItem item) =>
        item.Kind == StockKind.Kit ? stock.LastDayOf(item.Lot) : item.Expiry;
}
