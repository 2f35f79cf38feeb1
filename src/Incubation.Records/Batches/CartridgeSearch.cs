using System.Linq.Expressions;
using Incubation.Records.Storage;

namespace Incubation.Records.Batches;

/// <summary>A query for cartridges as the tables' indexes serve it.</summary>
internal static class CartridgeSearch
{
    /// <summary>Sorts after every character of an id.</summary>
    private const string AfterAll = "\U0010FFFF";

#pragma warning disable CA1309 // Becomes a comparison in SQL, by the column's own order.
    public static IQueryable<CartridgeRow> Where(IQueryable<CartridgeRow> rows, CartridgeQuery query)
    {
        if (Given(query.Specimen) is { } specimen)
        {
            var end = specimen + AfterAll;
            rows = rows.Where(row => string.Compare(row.Specimen, specimen) >= 0
                && string.Compare(row.Specimen, end) < 0);
        }

        if (Given(query.Lot) is { } lot)
        {
            var end = lot + AfterAll;
            rows = rows.Where(row => string.Compare(row.Lot, lot) >= 0 && string.Compare(row.Lot, end) < 0);
        }

        if (query.From is { } from)
        {
            var nanoseconds = Nanoseconds.Of(from);
            rows = rows.Where(row => row.At >= nanoseconds);
        }

        if (query.To is { } to)
        {
            var nanoseconds = Nanoseconds.Of(to);
            rows = rows.Where(row => row.At < nanoseconds);
        }

        if (query.Bench is { } bench)
            rows = rows.Where(row => row.Bench == bench.Value);
        return rows;
    }

#pragma warning restore CA1309

    /// <summary>In the order asked for; those alike by time, and then by request.</summary>
    public static IQueryable<CartridgeRow> Ordered(IQueryable<CartridgeRow> rows, CartridgeQuery query) =>
        query.Order switch
        {
            CartridgeOrder.Specimen => By(rows, row => row.Specimen, query.Descending),
            CartridgeOrder.Assay => By(rows, row => row.Assay, query.Descending),
            CartridgeOrder.Lot => By(rows, row => row.Lot, query.Descending),
            CartridgeOrder.Standing => By(rows, row => row.Standing, query.Descending),
            _ => query.Descending ? rows.OrderByDescending(row => row.At).ThenByDescending(row => row.Request)
                : rows.OrderBy(row => row.At).ThenBy(row => row.Request),
        };

    private static IQueryable<CartridgeRow> By(IQueryable<CartridgeRow> rows,
        Expression<Func<CartridgeRow, string>> column, bool descending) =>
        (descending ? rows.OrderByDescending(column) : rows.OrderBy(column)).ThenByDescending(row => row.At)
            .ThenBy(row => row.Request);

    private static string? Given(string? text) => string.IsNullOrWhiteSpace(text) ? null : text.Trim();
}
