using System.Data.Common;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Reports;

/// <summary>Cartridges in times, into their table and out of it.</summary>
internal static class TimesRows
{
    /// <summary>The columns in the order in which <see cref="Read"/> takes them.</summary>
    public const string Columns =
        """
        "Bench", "Batch", "Request", "Asked", "Assay", "AssayVersion", "Lot", "Kind", "Priority",
        "Standing", "Reason", "MixPlanned", "MixBegun", "MixEnd", "LoadPlanned", "LoadBegun", "LoadEnd",
        "MovePlanned", "MoveBegun", "MoveEnd", "ClearPlanned", "ClearBegun", "ClearEnd", "Opens", "Closes",
        "ReadStart", "InWindow", "ResultAt", "DiscardedAt", "Spare", "Slot", "Reader"
        """;

    public static CartridgeTimesRow RowOf(CartridgeTimes times) => new()
    {
        Bench = times.Bench.Value,
        Batch = times.Batch,
        Request = times.Request.Value,
        Asked = Nanoseconds.Of(times.Asked),
        Assay = times.Assay.Value,
        AssayVersion = times.AssayVersion,
        Lot = times.Lot.Value,
        Kind = (int)times.Kind,
        Priority = (int)times.Priority,
        Standing = (int)times.Standing,
        Reason = (int?)times.Reason,
        MixPlanned = Of(times.Mix.PlannedEnd),
        MixBegun = Of(times.Mix.Begun),
        MixEnd = Of(times.Mix.End),
        LoadPlanned = Of(times.Load.PlannedEnd),
        LoadBegun = Of(times.Load.Begun),
        LoadEnd = Of(times.Load.End),
        MovePlanned = Of(times.Move.PlannedEnd),
        MoveBegun = Of(times.Move.Begun),
        MoveEnd = Of(times.Move.End),
        ClearPlanned = Of(times.Clear.PlannedEnd),
        ClearBegun = Of(times.Clear.Begun),
        ClearEnd = Of(times.Clear.End),
        Opens = Of(times.Opens),
        Closes = Of(times.Closes),
        ReadStart = Of(times.ReadStart),
        InWindow = times.InWindow,
        ResultAt = Of(times.ResultAt),
        DiscardedAt = Of(times.DiscardedAt),
        Spare = times.Spare is { } spare ? Nanoseconds.Of(spare) : null,
        Slot = times.Slot,
        Reader = times.Reader,
    };

    /// <summary>The cartridge in the row that a reader stands at.</summary>
    public static CartridgeTimes Read(DbDataReader row, KnownIds known) => new()
    {
        Bench = known.Bench(row.GetString(0)),
        Batch = row.GetInt32(1),
        Request = RequestId.Of(row.GetString(2)),
        Asked = Nanoseconds.ToInstant(row.GetInt64(3)),
        Assay = known.Assay(row.GetString(4)),
        AssayVersion = row.GetInt32(5),
        Lot = known.Lot(row.GetString(6)),
        Kind = (RequestKind)row.GetInt32(7),
        Priority = (Priority)row.GetInt32(8),
        Standing = (CartridgeStatus)row.GetInt32(9),
        Reason = (DiscardReason?)Number(row, 10),
        Mix = SpanAt(row, 11),
        Load = SpanAt(row, 14),
        Move = SpanAt(row, 17),
        Clear = SpanAt(row, 20),
        Opens = At(row, 23),
        Closes = At(row, 24),
        ReadStart = At(row, 25),
        InWindow = Number(row, 26) is { } inside ? inside != 0 : null,
        ResultAt = At(row, 27),
        DiscardedAt = At(row, 28),
        Spare = row.IsDBNull(29) ? null : Duration.FromNanoseconds(row.GetInt64(29)),
        Slot = Number(row, 30),
        Reader = Number(row, 31),
    };

    private static StepSpan SpanAt(DbDataReader row, int column) =>
        new(At(row, column), At(row, column + 1), At(row, column + 2));

    private static Instant? At(DbDataReader row, int column) => row.IsDBNull(column)
        ? null : Nanoseconds.ToInstant(row.GetInt64(column));

    private static int? Number(DbDataReader row, int column) => row.IsDBNull(column) ? null : row.GetInt32(column);

    private static long? Of(Instant? at) => at is { } known ? Nanoseconds.Of(known) : null;
}

/// <summary>Ids that come again and again in the rows of a report, each read once.</summary>
internal sealed class KnownIds
{
    private readonly Dictionary<string, BenchId> benches = [];
    private readonly Dictionary<string, AssayCode> assays = [];
    private readonly Dictionary<string, LotCode> lots = [];

    public BenchId Bench(string text) => Of(benches, text);

    public AssayCode Assay(string text) => Of(assays, text);

    public LotCode Lot(string text) => Of(lots, text);

    private static T Of<T>(Dictionary<string, T> known, string text)
        where T : struct, ITextId<T>
    {
        if (!known.TryGetValue(text, out var id))
            known[text] = id = T.Of(text);
        return id;
    }
}
