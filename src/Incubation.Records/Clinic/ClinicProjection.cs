using System.Text.Json;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records.Assays;
using Incubation.Records.Events;
using Incubation.Records.Integrity;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Clinic;

/// <summary>
/// The tables of the clinic, made from its stream. They hold nothing of their own: dropping and making them anew gives
/// the same tables.
/// </summary>
internal static class ClinicProjection
{
    /// <summary>Name under which the tables' position is kept.</summary>
    public const string Name = "clinic";

    /// <summary>
    /// Grows with every change of what is written into the tables; older tables are made anew at the next start.
    /// </summary>
    public const int CodeVersion = 2;

    /// <summary>Whether the tables have read the stream up to a sequence, with this version of the code.</summary>
    public static bool IsAt(RecordsContext context, long sequence)
    {
        var position = Positions.Of(context.Database, Name);
        return position is null ? sequence == 0 : position == (sequence, CodeVersion);
    }

    /// <summary>Writes what an entry changes.</summary>
    public static void Apply(RecordsContext context, ClinicEntry entry, long sequence)
    {
        if (RowOf(entry, sequence, lot => context.Lots.Find(lot) is not null) is { } row)
            context.Add(row);
    }

    /// <summary>The row that an entry adds to a table, or null: rows are added alone, never changed.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its sequence.</param>
    /// <param name="hasLot">Whether a kit lot has a row already.</param>
    public static object? RowOf(ClinicEntry entry, long sequence, Func<LotCode, bool> hasLot) => entry.Event switch
    {
        ClinicEvent.ClinicOpened opened =>
            new ClinicRow { Name = opened.Name, TimeZone = opened.TimeZone, Sequence = sequence },
        ClinicEvent.AssayApproved approved => RowOf(approved, entry, sequence),
        ClinicEvent.LotReceived lot => RowOf(lot.Lot, lot.Assay, lot.Expiry, entry, sequence),
        ClinicEvent.StockReceived { Kind: StockKind.Kit, Assay: { } assay } kit when !hasLot(kit.Lot) =>
            RowOf(kit.Lot, assay, kit.Expiry, entry, sequence),
        ClinicEvent.BenchRegistered bench =>
            new BenchRow { Bench = bench.Bench, Name = bench.Name, Sequence = sequence },
        ClinicEvent.RequestReceived received => RowOf(received, entry, sequence),
        _ => null,
    };

    /// <summary>Notes how far the tables have read.</summary>
    public static void MoveTo(RecordsContext context, long sequence) =>
        context.MoveProjection(Name, sequence, CodeVersion);

    /// <summary>Empties the tables.</summary>
    public static void Clear(RecordsContext context)
    {
        context.Requests.ExecuteDelete();
        context.Benches.ExecuteDelete();
        context.Lots.ExecuteDelete();
        context.Assays.ExecuteDelete();
        context.Clinics.ExecuteDelete();
    }

    /// <summary>The requests before, as they stand in their column.</summary>
    public static string AfterColumn(IReadOnlyList<RequestId> after) =>
        JsonSerializer.Serialize(after, EventJson.Options);

    /// <summary>What else is known of a request, from its column.</summary>
    public static Particulars? ParticularsOf(string? column) =>
        column is null ? null : JsonSerializer.Deserialize<Particulars>(column, EventJson.Options);

    /// <summary>The column read back.</summary>
    public static IReadOnlyList<RequestId> AfterOf(string column) =>
        JsonSerializer.Deserialize<List<RequestId>>(column, EventJson.Options) ?? [];

    private static LotRow RowOf(LotCode lot, AssayCode assay, LocalDate expiry, ClinicEntry entry, long sequence) =>
        new()
        {
            Lot = lot,
            Assay = assay,
            Expiry = expiry,
            ReceivedAt = entry.Provenance.At,
            Sequence = sequence,
        };

    private static AssayRow RowOf(ClinicEvent.AssayApproved approved, ClinicEntry entry, long sequence) => new()
    {
        Code = approved.Sheet.Assay.Code,
        Version = approved.Version,
        Sheet = SheetJson.Write(approved.Sheet),
        ApprovedAt = entry.Provenance.At,
        Sequence = sequence,
    };

    private static RequestRow RowOf(ClinicEvent.RequestReceived received, ClinicEntry entry, long sequence) => new()
    {
        Id = received.Request.Id,
        Bench = received.Bench,
        Specimen = received.Request.Specimen,
        Assay = received.Request.Assay,
        AssayVersion = received.AssayVersion,
        Lot = received.Request.Lot,
        Ready = received.Request.Ready,
        Kind = received.Request.Kind,
        RepeatLeft = received.Request.RepeatLeft,
        Priority = received.Request.Priority,
        Due = received.Request.Due,
        LoadBy = received.Request.LoadBy,
        After = AfterColumn(received.Request.After),
        Particulars = received.Particulars is { } particulars
            ? JsonSerializer.Serialize(particulars, EventJson.Options) : null,
        ReceivedAt = entry.Provenance.At,
        Sequence = sequence,
    };
}
