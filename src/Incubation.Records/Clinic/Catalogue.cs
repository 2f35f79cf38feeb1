using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Assays;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Clinic;

/// <summary>The clinic's name and zone.</summary>
public sealed record ClinicFacts(string Name, DateTimeZone Zone);

/// <summary>An approved assay.</summary>
/// <param name="Sheet">What its kit's instructions state.</param>
/// <param name="Version">Its version, from 1.</param>
/// <param name="ApprovedAt">When it was approved.</param>
public sealed record CatalogueAssay(AssaySheet Sheet, int Version, Instant ApprovedAt)
{
    /// <summary>Its times.</summary>
    public Assay Assay => Sheet.Assay;

    /// <summary>UCUM unit of the result.</summary>
    public string Unit => Sheet.Unit;
}

/// <summary>A kit lot that has come in.</summary>
/// <param name="Lot">The lot.</param>
/// <param name="Assay">The assay that it is for.</param>
/// <param name="Expiry">The last day on which it may be used.</param>
/// <param name="ReceivedAt">When it came in.</param>
public sealed record CatalogueLot(LotCode Lot, AssayCode Assay, LocalDate Expiry, Instant ReceivedAt);

/// <summary>A bench of the clinic.</summary>
public sealed record CatalogueBench(BenchId Bench, string Name);

/// <summary>A request that has come in.</summary>
/// <param name="Bench">The bench that is to run it.</param>
/// <param name="Request">What is wanted.</param>
/// <param name="AssayVersion">The version of the assay that it runs under.</param>
/// <param name="ReceivedAt">When it came in.</param>
public sealed record ReceivedRequest(BenchId Bench, Request Request, int AssayVersion, Instant ReceivedAt);

/// <summary>
/// What the clinic's tables say: read models of its stream, current as soon as a command has been recorded. May be used
/// from any thread.
/// </summary>
/// <param name="file">The data file.</param>
public sealed class Catalogue(DataFile file)
{
    /// <summary>The clinic, or null while it has not been opened.</summary>
    public ClinicFacts? Clinic()
    {
        using var context = file.Read();
        return context.Clinics.OrderBy(row => row.Sequence).FirstOrDefault() is { } clinic
            ? new ClinicFacts(clinic.Name, DateTimeZoneProviders.Tzdb.GetZoneOrNull(clinic.TimeZone)
                ?? DateTimeZone.Utc)
            : null;
    }

    /// <summary>
    /// Whether a request that came in for a bench is not in the bench's own stream: its intake was cut short.
    /// </summary>
    public bool HasRequestsMissingOn(BenchId bench)
    {
        using var connection = file.OpenReader();
        return Queries.Scalar(
            connection,
            """
            SELECT 1 FROM "Requests" r
            JOIN "EventHeaders" c ON c."Stream" = @clinic AND c."Sequence" = r."Sequence"
            WHERE r."Bench" = @bench
              AND NOT EXISTS (SELECT 1 FROM "EventHeaders" b WHERE b."Stream" = @stream AND b."Report" = c."Report")
            LIMIT 1
            """,
            ("@clinic", StreamName.Clinic.ToString()), ("@bench", bench.Value),
                ("@stream", StreamName.OfBench(bench).ToString())) is not null;
    }

    /// <summary>The latest version of each assay, by code.</summary>
    public IReadOnlyList<CatalogueAssay> Assays()
    {
        using var context = file.Read();
        var rows = context.Assays
            .Where(row => row.Version == context.Assays.Where(other => other.Code == row.Code)
                .Max(other => other.Version))
            .OrderBy(row => row.Code)
            .ToList();
        return [.. rows.Select(AssayOf)];
    }

    /// <summary>An assay in a version, or in its latest when that is null; null when there is none.</summary>
    public CatalogueAssay? Assay(AssayCode code, int? version = null)
    {
        using var context = file.Read();
        var row = context.Assays
            .Where(row => row.Code == code && (version == null || row.Version == version))
            .OrderByDescending(row => row.Version)
            .FirstOrDefault();
        return row is null ? null : AssayOf(row);
    }

    /// <summary>All lots, by code.</summary>
    public IReadOnlyList<CatalogueLot> Lots()
    {
        using var context = file.Read();
        return [.. context.Lots.OrderBy(row => row.Lot).AsEnumerable().Select(LotOf)];
    }

    /// <summary>A lot, or null.</summary>
    public CatalogueLot? Lot(LotCode lot)
    {
        using var context = file.Read();
        return context.Lots.SingleOrDefault(row => row.Lot == lot) is { } found ? LotOf(found) : null;
    }

    /// <summary>All benches, in the order in which they were registered.</summary>
    public IReadOnlyList<CatalogueBench> Benches()
    {
        using var context = file.Read();
        return [.. context.Benches.OrderBy(row => row.Sequence).AsEnumerable()
            .Select(row => new CatalogueBench(row.Bench, row.Name))];
    }

    /// <summary>A bench's requests, in the order in which they came in.</summary>
    public IReadOnlyList<ReceivedRequest> Requests(BenchId bench)
    {
        using var context = file.Read();
        return [.. context.Requests.Where(row => row.Bench == bench).OrderBy(row => row.Sequence).AsEnumerable()
            .Select(RequestOf)];
    }

    /// <summary>
    /// A bench's requests as its commands take them: each with the facts of its assay in the version that it runs
    /// under.
    /// </summary>
    public IReadOnlyList<BenchRequest> BenchRequests(BenchId bench)
    {
        using var context = file.Read();
        var rows =
            from request in context.Requests
            where request.Bench == bench
            join assay in context.Assays
                on new { Code = request.Assay, Version = request.AssayVersion } equals new { assay.Code, assay.Version }
            orderby request.Sequence
            select new { request, assay };
        return [.. rows.AsEnumerable().Select(row =>
        {
            var sheet = SheetJson.Read(row.assay.Sheet);
            return new BenchRequest(
                RequestOf(row.request).Request, sheet.Assay, row.assay.Version, sheet.Unit,
                RunFacts.Of(sheet, ClinicProjection.ParticularsOf(row.request.Particulars)));
        })];
    }

    private static CatalogueAssay AssayOf(AssayRow row) => new(SheetJson.Read(row.Sheet), row.Version, row.ApprovedAt);

    private static CatalogueLot LotOf(LotRow row) => new(row.Lot, row.Assay, row.Expiry, row.ReceivedAt);

    private static ReceivedRequest RequestOf(RequestRow row) => new(
        row.Bench,
        new Request(
            row.Id, row.Specimen, row.Assay, row.Lot, row.Ready, row.Kind, row.RepeatLeft, row.Priority, row.Due,
            row.LoadBy, ClinicProjection.AfterOf(row.After)),
        row.AssayVersion,
        row.ReceivedAt);
}
