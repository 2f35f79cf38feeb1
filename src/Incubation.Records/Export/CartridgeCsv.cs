using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Records.Export;

/// <summary>
/// Cartridges as comma-separated values (<see cref="Csv"/>): a header line and a line for each. Times are ISO 8601 in
/// the clinic's zone with their offset from UTC, so that the hour that comes twice in autumn is told apart.
/// </summary>
public static class CartridgeCsv
{
    private static readonly OffsetDateTimePattern Iso =
        OffsetDateTimePattern.CreateWithInvariantCulture("uuuu'-'MM'-'dd'T'HH':'mm':'sso<+HH:mm>");

    private static readonly (string Name, Func<CartridgeRecord, DateTimeZone, object?> Of)[] Columns =
    [
        ("bench", (one, _) => one.Bench.Value),
        ("batch", (one, _) => one.Batch),
        ("request", (one, _) => one.Request.Value),
        ("specimen", (one, _) => one.Specimen.Value),
        ("assay", (one, _) => one.Assay.Value),
        ("assayName", (one, _) => one.AssayName),
        ("assayVersion", (one, _) => one.AssayVersion),
        ("lot", (one, _) => one.Lot.Value),
        ("kind", (one, _) => Code(one.Kind)),
        ("priority", (one, _) => Code(one.Priority)),
        ("standing", (one, _) => Code(one.Standing)),
        ("begun", (one, zone) => At(one.At, zone)),
        ("mixPlanned", (one, zone) => At(one.Mix.Planned, zone)),
        ("mixBegin", (one, zone) => At(one.Mix.From, zone)),
        ("mixEnd", (one, zone) => At(one.Mix.To, zone)),
        ("mixBy", (one, _) => one.Mix.Person?.Value),
        ("loadPlanned", (one, zone) => At(one.Load.Planned, zone)),
        ("loadEndEarliest", (one, zone) => At(one.Load.From, zone)),
        ("loadEndLatest", (one, zone) => At(one.Load.To, zone)),
        ("loadBy", (one, _) => one.Load.Person?.Value),
        ("slot", (one, _) => one.Slot),
        ("windowOpens", (one, zone) => At(one.WindowOpens, zone)),
        ("windowCloses", (one, zone) => At(one.WindowCloses, zone)),
        ("readPlanned", (one, zone) => At(one.Read.Planned, zone)),
        ("readStart", (one, zone) => At(one.Read.From, zone)),
        ("readBy", (one, _) => one.Read.Person?.Value),
        ("reader", (one, _) => one.Reader),
        ("inWindow", (one, _) => one.InWindow is { } inside ? inside ? "yes" : "no" : null),
        ("clearPlanned", (one, zone) => At(one.Clear.Planned, zone)),
        ("clearEnd", (one, zone) => At(one.Clear.To, zone)),
        ("clearBy", (one, _) => one.Clear.Person?.Value),
        ("deviations", (one, _) => string.Join(' ', one.Deviations.Select(Code))),
        ("corrections", (one, _) => one.Corrections),
        ("result", (one, _) => (one.Result as ReadResult.Measured)?.Value),
        ("unit", (one, _) => (one.Result as ReadResult.Measured)?.Unit),
        ("reported", (one, _) => one.Marked?.Reported),
        ("mark", (one, _) => one.Marked is { Flag: not ResultFlag.None } marked ? Code(marked.Flag) : null),
        ("critical", (one, _) => one.Marked is { IsCritical: true } && one.Kind == RequestKind.Patient ? "yes" : null),
        ("firstResult", (one, _) => one.First is ReadResult.NoValue none
            ? none.Code : (one.First as ReadResult.Measured)?.Value),
        ("noValue", (one, _) => (one.Result as ReadResult.NoValue)?.Code),
        ("resultEntered", (one, zone) => At(one.ResultEntered.To, zone)),
        ("resultBy", (one, _) => one.ResultEntered.Person?.Value),
        ("discarded", (one, zone) => At(one.Discard.To, zone)),
        ("discardedBy", (one, _) => one.Discard.Person?.Value),
        ("discardReason", (one, _) => one.Reason is { } reason ? Code(reason) : null),
        ("discardWords", (one, _) => one.ReasonInWords),
        ("resultChecked", (one, _) => one.Result is null ? null : one.ResultNotChecked ? "no" : "yes"),
        ("resultSentBy", (one, _) => one.ResultSentBy?.Value),
        ("fate", (one, _) => one.Fate switch
        {
            RequestFate.Repeated => "repeated",
            RequestFate.CarriedOver => "carried-over",
            RequestFate.GivenUp => "given-up",
            _ => null,
        }),
        ("fateWords", (one, _) => (one.Fate as RequestFate.GivenUp)?.Why),
        ("fateBy", (one, _) => one.Fate switch
        {
            RequestFate.CarriedOver carried => carried.By.Value,
            RequestFate.GivenUp given => given.By.Value,
            _ => null,
        }),
        ("fromBatch", (one, _) => one.FromBatch),
        ("repeatOf", (one, _) => one.RepeatOf?.Value),
    ];

    /// <summary>The header and a line for each cartridge, each with its CRLF.</summary>
    public static IEnumerable<string> Lines(IEnumerable<CartridgeRecord> cartridges, DateTimeZone zone)
    {
        yield return Csv.Line(Columns.Select(column => column.Name));
        foreach (var cartridge in cartridges)
            yield return Csv.Line(Columns.Select(column => column.Of(cartridge, zone)));
    }

    private static string? At(Instant? at, DateTimeZone zone) =>
        at is { } known ? Iso.Format(known.Local(zone).ToOffsetDateTime()) : null;

    private static string Code<T>(T value)
        where T : struct, Enum => KebabCase.Of(value);
}
