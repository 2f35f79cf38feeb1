using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Assays;
using Incubation.Clinic.Stock;
using Incubation.Model;
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
/// What the clinic has: as its stream says, replayed at the start of this process, and current as soon as a command has
/// been recorded. The tables that the file holds of it are not asked, but for which requests there are: somebody who
/// can write the file cannot change what an assay is. May be used from any thread.
/// </summary>
/// <param name="file">The data file.</param>
/// <param name="clinic">The clinic's stream in it.</param>
public sealed class Catalogue(DataFile file, ClinicLog clinic)
{
    /// <summary>The clinic, or null while it has not been opened.</summary>
    public ClinicFacts? Clinic() => clinic.State is { Zone: { } zone } state ? new ClinicFacts(state.Name, zone) : null;

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
    public IReadOnlyList<CatalogueAssay> Assays() =>
        [.. clinic.Assays.Versions.Values.Select(versions => AssayOf(versions[^1]))
            .OrderBy(known => known.Assay.Code.Value, StringComparer.Ordinal)];

    /// <summary>An assay in a version, or in its latest when that is null; null when there is none.</summary>
    public CatalogueAssay? Assay(AssayCode code, int? version = null) =>
        clinic.Assays.Versions.GetValueOrDefault(code, [])
            .LastOrDefault(known => version is null || known.Version == version) is { } found ? AssayOf(found) : null;

    /// <summary>All lots, by code.</summary>
    public IReadOnlyList<CatalogueLot> Lots() =>
        [.. clinic.Stock.Items.Values.Select(LotOf).OfType<CatalogueLot>()
            .OrderBy(known => known.Lot.Value, StringComparer.Ordinal)];

    /// <summary>A lot, or null.</summary>
    public CatalogueLot? Lot(LotCode lot) => clinic.Stock.Find(StockKind.Kit, lot) is { } found ? LotOf(found) : null;

    /// <summary>All benches, in the order in which they were registered.</summary>
    public IReadOnlyList<CatalogueBench> Benches() =>
        [.. clinic.State.BenchNames.Select(bench => new CatalogueBench(bench.Bench, bench.Name))];

    /// <summary>The ids of the requests that ever came in for a bench.</summary>
    public IReadOnlyList<string> RequestIds(BenchId bench)
    {
        using var connection = file.OpenReader();
        return Queries.Texts(connection, "SELECT \"Id\" FROM \"Requests\" WHERE \"Bench\" = @bench",
            ("@bench", bench.Value));
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
    public IReadOnlyList<BenchRequest> BenchRequests(BenchId bench) =>
        [.. clinic.Entries().Select(entry => entry.Event).OfType<ClinicEvent.RequestReceived>()
            .Where(received => received.Bench == bench).Select(BenchRequestOf).OfType<BenchRequest>()];

    private BenchRequest? BenchRequestOf(ClinicEvent.RequestReceived received) =>
        Assay(received.Request.Assay, received.AssayVersion) is not { } assay ? null : new BenchRequest(
            received.Request, assay.Assay, assay.Version, assay.Unit, RunFacts.Of(assay.Sheet, received.Particulars));

    private static CatalogueAssay AssayOf(AssayVersion known) => new(known.Sheet, known.Version, known.At);

    private static CatalogueLot? LotOf(StockItem item) => item is { Kind: StockKind.Kit, Assay: { } assay }
        ? new CatalogueLot(item.Lot, assay, item.Expiry, item.Shipments[0].At) : null;

    private static ReceivedRequest RequestOf(RequestRow row) => new(
        row.Bench,
        new Request(
            row.Id, row.Specimen, row.Assay, row.Lot, row.Ready, row.Kind, row.RepeatLeft, row.Priority, row.Due,
            row.LoadBy, ClinicProjection.AfterOf(row.After)),
        row.AssayVersion,
        row.ReceivedAt);
}
