using System.Data.Common;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>What a report is about; what is null does not matter.</summary>
/// <param name="From">Asked for no earlier.</param>
/// <param name="To">Asked for earlier than this.</param>
/// <param name="Bench">On this bench.</param>
/// <param name="Assay">By this assay.</param>
public sealed record ReportScope(Instant From, Instant To, BenchId? Bench = null, AssayCode? Assay = null);

/// <summary>
/// Cartridges and batches in times, out of the tables that <see cref="CartridgeProjection"/> keeps. May be used from
/// any thread.
/// </summary>
public sealed class ReportProjection(DataFile file, CartridgeProjection book)
{
    /// <summary>A report is made of so many cartridges at most: about half a gigabyte of them.</summary>
    public const int MaxCartridges = 500_000;

    /// <summary>How many cartridges a report would be made of.</summary>
    public int Count(ReportScope scope)
    {
        book.CatchUp();
        using var connection = file.OpenReader();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT COUNT(*) FROM \"CartridgeTimes\"" + Where(command, scope);
        return Convert.ToInt32(command.ExecuteScalar(), System.Globalization.CultureInfo.InvariantCulture);
    }

    /// <summary>The cartridges that were asked for in a scope, in that order.</summary>
    public IReadOnlyList<CartridgeTimes> Cartridges(ReportScope scope)
    {
        book.CatchUp();
        using var connection = file.OpenReader();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT " + TimesRows.Columns + " FROM \"CartridgeTimes\"" + Where(command, scope)
            + " ORDER BY \"Asked\"";
        var (found, known) = (new List<CartridgeTimes>(), new KnownIds());
        using var row = command.ExecuteReader();
        while (row.Read())
            found.Add(TimesRows.Read(row, known));
        return found;
    }

    /// <summary>The batches that were started in a scope, whatever their assays, in that order.</summary>
    public IReadOnlyList<BatchUse> Batches(ReportScope scope)
    {
        ArgumentNullException.ThrowIfNull(scope);
        book.CatchUp();
        var (from, to) = (Nanoseconds.Of(scope.From), Nanoseconds.Of(scope.To));
        using var context = file.Read();
        var rows = context.Batches.Where(row => row.WorkedTo != null && row.StartedAt >= from && row.StartedAt < to);
        if (scope.Bench is { Value: var bench })
            rows = rows.Where(row => row.Bench == bench);
        return [.. rows.OrderBy(row => row.StartedAt).AsEnumerable().Select(UseOf)];
    }

    /// <summary>When the first and the last cartridge on record were asked for; null where there is none.</summary>
    public (Instant First, Instant Last)? Span(BenchId? bench = null)
    {
        book.CatchUp();
        using var connection = file.OpenReader();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT MIN(\"Asked\"), MAX(\"Asked\") FROM \"CartridgeTimes\""
            + (bench is null ? "" : " WHERE \"Bench\" = @bench");
        if (bench is { } one)
            command.Add("@bench", one.Value);
        using var row = command.ExecuteReader();
        return row.Read() && !row.IsDBNull(0)
            ? (Nanoseconds.ToInstant(row.GetInt64(0)), Nanoseconds.ToInstant(row.GetInt64(1))) : null;
    }

    private static string Where(DbCommand command, ReportScope scope)
    {
        command.Add("@from", Nanoseconds.Of(scope.From));
        command.Add("@to", Nanoseconds.Of(scope.To));
        var where = " WHERE \"Asked\" >= @from AND \"Asked\" < @to";
        if (scope.Bench is { } bench)
        {
            command.Add("@bench", bench.Value);
            where += " AND \"Bench\" = @bench";
        }

        if (scope.Assay is { } assay)
        {
            command.Add("@assay", assay.Value);
            where += " AND \"Assay\" = @assay";
        }

        return where;
    }

    internal static BatchUse UseOf(BatchRow row) => new(
        BenchId.Of(row.Bench), row.Number, Nanoseconds.ToInstant(row.StartedAt!.Value),
            Nanoseconds.ToInstant(row.WorkedTo!.Value),
        row.Hands!.Value, row.Slots!.Value, row.Readers!.Value,
        Duration.FromNanoseconds(row.HandsBusy!.Value), Duration.FromNanoseconds(row.SlotsBusy!.Value),
            Duration.FromNanoseconds(row.ReadersBusy!.Value),
        row.PlannedEnd is { } end ? Nanoseconds.ToInstant(end) : null, row.PlannedCartridges, row.Worked!.Value);
}
