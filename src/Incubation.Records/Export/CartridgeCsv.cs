using Incubation.Bench;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using NodaTime;

namespace Incubation.Records.Export;

/// <summary>A cartridge, and what else its line of an export says.</summary>
/// <param name="Cartridge">The cartridge.</param>
/// <param name="Batch">Its batch; null where that is not known.</param>
/// <param name="Judged">How it was judged last; null for a patient's, or a control that never was.</param>
/// <param name="InReview">Whether its result went out on a lot that proves wrong, and is to be reviewed.</param>
public sealed record CartridgeLine(CartridgeRecord Cartridge, BatchFacts? Batch = null, ControlRun? Judged = null,
    bool InReview = false);

/// <summary>
/// Cartridges as comma-separated values (<see cref="Csv"/>): a header line and a line for each. Times are ISO 8601 in
/// the clinic's zone with their offset from UTC, so that the hour that comes twice in autumn is told apart, as exactly
/// as they are on record; lengths are seconds. The room's README says what each column holds. Every number of every
/// report can be counted again from these lines alone.
/// </summary>
public static class CartridgeCsv
{
    private static readonly (string Name, Func<CartridgeRecord, DateTimeZone, object?> Of)[] OfCartridge =
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
        ("begun", (one, zone) => Csv.At(one.At, zone)),
        ("mixPlanned", (one, zone) => Csv.At(one.Mix.Planned, zone)),
        ("mixBegin", (one, zone) => Csv.At(one.Mix.From, zone)),
        ("mixEnd", (one, zone) => Csv.At(one.Mix.To, zone)),
        ("mixBy", (one, _) => one.Mix.Person?.Value),
        ("loadPlanned", (one, zone) => Csv.At(one.Load.Planned, zone)),
        ("loadEndEarliest", (one, zone) => Csv.At(one.Load.From, zone)),
        ("loadEndLatest", (one, zone) => Csv.At(one.Load.To, zone)),
        ("loadBy", (one, _) => one.Load.Person?.Value),
        ("slot", (one, _) => one.Slot),
        ("windowOpens", (one, zone) => Csv.At(one.WindowOpens, zone)),
        ("windowCloses", (one, zone) => Csv.At(one.WindowCloses, zone)),
        ("readPlanned", (one, zone) => Csv.At(one.Read.Planned, zone)),
        ("readStart", (one, zone) => Csv.At(one.Read.From, zone)),
        ("readBy", (one, _) => one.Read.Person?.Value),
        ("reader", (one, _) => one.Reader),
        ("inWindow", (one, _) => one.InWindow is { } inside ? inside ? "yes" : "no" : null),
        ("clearPlanned", (one, zone) => Csv.At(one.Clear.Planned, zone)),
        ("clearEnd", (one, zone) => Csv.At(one.Clear.To, zone)),
        ("clearBy", (one, _) => one.Clear.Person?.Value),
        ("deviations", (one, _) => string.Join(' ', one.Deviations.Select(Code))),
        ("corrections", (one, _) => one.Corrections + one.Amendments.Length),
        ("result", (one, _) => (one.Result as ReadResult.Measured)?.Value),
        ("unit", (one, _) => (one.Result as ReadResult.Measured)?.Unit),
        ("reported", (one, _) => one.Use.IsReported ? one.Marked?.Reported : null),
        ("mark", (one, _) => one is { Kind: RequestKind.Patient, Marked: { Flag: not ResultFlag.None } marked }
            ? Code(marked.Flag) : null),
        ("critical", (one, _) => one.Marked is { IsCritical: true } && one.Kind == RequestKind.Patient ? "yes" : null),
        ("firstResult", (one, _) => one.First is { } first ? Csv.Of(first) : null),
        ("noValue", (one, _) => (one.Result as ReadResult.NoValue)?.Code),
        ("resultEntered", (one, zone) => Csv.At(one.ResultEntered.To, zone)),
        ("resultBy", (one, _) => one.ResultEntered.Person?.Value),
        ("discarded", (one, zone) => Csv.At(one.Discard.To, zone)),
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
        ("hold", (one, _) => one.Hold is ResultHold.None or ResultHold.NoResult ? null : Code(one.Hold)),
        ("doubts", (one, _) => string.Join(' ', one.HoldsUnreleased.Select(Code))),
        ("shownIdentity", (one, _) => one.ShownIdentity),
        ("released", (one, zone) => Csv.At(one.Release.To, zone)),
        ("releasedBy", (one, _) => one.Release.Person?.Value),
        ("releaseWords", (one, _) => one.Released),
        ("releasedBefore", (one, zone) => Csv.At(one.EndedRelease?.At, zone)),
        ("outBefore", (one, zone) => Csv.At(one.OutBefore, zone)),
        ("replaced", (one, _) => one.Replaced.Length),
        ("amendments", (one, _) => one.Amendments.Length),
        ("amended", (one, zone) => Csv.At(one.Amendments is [.., var last] ? last.At : null, zone)),
        ("amendedBy", (one, _) => one.Amendments is [.., var last] ? last.By.Value : null),
        ("amendWords", (one, _) => one.Amendments is [.., var last] ? last.Why : null),
        ("ready", (one, zone) => Csv.At(one.Timing?.Ready, zone)),
        ("asked", (one, zone) => Csv.At(one.Timing?.Asked, zone)),
        ("mixPlannedEnd", (one, zone) => Csv.At(one.Timing?.Mix.PlannedEnd, zone)),
        ("loadPlannedEnd", (one, zone) => Csv.At(one.Timing?.Load.PlannedEnd, zone)),
        ("loadBegin", (one, zone) => Csv.At(one.Timing?.Load.Begun, zone)),
        ("movePlannedEnd", (one, zone) => Csv.At(one.Timing?.Move.PlannedEnd, zone)),
        ("moveBegin", (one, zone) => Csv.At(one.Timing?.Move.Begun, zone)),
        ("moveEnd", (one, zone) => Csv.At(one.Timing?.Move.End, zone)),
        ("clearPlannedEnd", (one, zone) => Csv.At(one.Timing?.Clear.PlannedEnd, zone)),
        ("clearBegin", (one, zone) => Csv.At(one.Timing?.Clear.Begun, zone)),
        ("spare", (one, _) => Seconds(one.Timing?.Spare)),
        ("mixAllowed", (one, _) => Seconds(one.Timing?.Allowed.Mix)),
        ("mixShortest", (one, _) => Seconds(one.Timing?.Allowed.MixShortest)),
        ("loadAllowed", (one, _) => Seconds(one.Timing?.Allowed.Load)),
        ("loadShortest", (one, _) => Seconds(one.Timing?.Allowed.LoadShortest)),
        ("moveAllowed", (one, _) => Seconds(one.Timing?.Allowed.Move)),
        ("clearAllowed", (one, _) => Seconds(one.Timing?.Allowed.Clear)),
        ("controlLot", (one, _) => one.Control?.Lot.Value),
        ("controlLevel", (one, _) => one.Control?.Level),
    ];

    private static readonly (string Name, Func<ControlRun, DateTimeZone, object?> Of)[] OfJudgement =
    [
        ("controlAt", (run, zone) => Csv.At(run.At, zone)),
        ("controlValue", (run, _) => run.Value),
        ("controlMean", (run, _) => run.Target?.Mean),
        ("controlDeviation", (run, _) => run.Target?.StandardDeviation),
        ("controlVerdict", (run, _) => Code(run.Verdict)),
        ("controlRules", (run, _) => string.Join(' ', run.Violations.Select(broken => Code(broken.Rule)))),
        ("controlJudged", (run, zone) => Csv.At(run.JudgedAt, zone)),
        ("controlJudgements", (run, _) => run.Revision + 1),
    ];

    private static readonly (string Name, Func<BatchFacts, DateTimeZone, object?> Of)[] OfBatch =
    [
        ("batchStarted", (batch, zone) => Csv.At(batch.StartedAt, zone)),
        ("batchClosed", (batch, zone) => Csv.At(batch.ClosedAt, zone)),
        ("batchWorkEnd", (batch, zone) => Csv.At(batch.Use?.To, zone)),
        ("batchPlannedEnd", (batch, zone) => Csv.At(batch.Use?.PlannedEnd, zone)),
        ("batchPlannedCartridges", (batch, _) => batch.Use?.PlannedCartridges),
        ("batchCartridges", (batch, _) => batch.Use?.Cartridges),
        ("batchHands", (batch, _) => batch.Use?.Hands),
        ("batchSlots", (batch, _) => batch.Use?.Slots),
        ("batchReaders", (batch, _) => batch.Use?.Readers),
        ("batchHandsBusy", (batch, _) => Seconds(batch.Use?.HandsBusy)),
        ("batchSlotsBusy", (batch, _) => Seconds(batch.Use?.SlotsBusy)),
        ("batchReadersBusy", (batch, _) => Seconds(batch.Use?.ReadersBusy)),
    ];

    private static readonly (string Name, Func<CartridgeRecord, DateTimeZone, object?> Of)[] OfSecondLook =
    [
        ("amendConfirmed", (one, zone) => Csv.At(one.Amendments is [.., { Second: { } last }] ? last.At : null, zone)),
        ("amendConfirmedBy", (one, _) => one.Amendments is [.., { Second: { } last }] ? last.By.Value : null),
        ("amendConfirmWords", (one, _) => one.Amendments is [.., { Second: { } last }] ? last.Why : null),
        ("amendWaits", (one, _) => one.Proposal is { } waits ? Csv.Of(waits.After) : null),
        ("amendWaitsSince", (one, zone) => Csv.At(one.Proposal?.At, zone)),
        ("amendWaitsBy", (one, _) => one.Proposal?.By.Value),
        ("amendWaitsWords", (one, _) => one.Proposal?.Why),
        ("amendsDeclined", (one, _) => one.Declined.Length),
        ("amendDeclined", (one, _) => one.Declined is [.., var last] ? Csv.Of(last.Proposal.After) : null),
        ("amendDeclinedEntered", (one, zone) => Csv.At(one.Declined is [.., var last] ? last.Proposal.At : null, zone)),
        ("amendDeclinedEnteredBy", (one, _) => one.Declined is [.., var last] ? last.Proposal.By.Value : null),
        ("amendDeclinedAt", (one, zone) => Csv.At(one.Declined is [.., var last] ? last.Look.At : null, zone)),
        ("amendDeclinedBy", (one, _) => one.Declined is [.., var last] ? last.Look.By.Value : null),
        ("amendDeclinedWords", (one, _) => one.Declined is [.., var last] ? last.Look.Why : null),
    ];

    /// <summary>The names of the columns in their order.</summary>
    public static IEnumerable<string> Names => OfCartridge.Select(column => column.Name)
        .Concat(OfJudgement.Select(column => column.Name)).Concat(OfBatch.Select(column => column.Name))
        .Concat(OfSecondLook.Select(column => column.Name)).Append("inReview");

    /// <summary>The header and a line for each cartridge, each with its CRLF.</summary>
    public static IEnumerable<string> Lines(IEnumerable<CartridgeLine> cartridges, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridges);
        yield return Csv.Line(Names);
        foreach (var line in cartridges)
            yield return Csv.Line([
                .. OfCartridge.Select(column => column.Of(line.Cartridge, zone)),
                .. OfJudgement.Select(column => line.Judged is { } run ? column.Of(run, zone) : null),
                .. OfBatch.Select(column => line.Batch is { } batch ? column.Of(batch, zone) : null),
                .. OfSecondLook.Select(column => column.Of(line.Cartridge, zone)),
                line.InReview ? "yes" : null,
            ]);
    }

    /// <summary>Seconds, as many digits as it takes: a decimal holds nanoseconds exactly.</summary>
    private static decimal? Seconds(Duration? length) =>
        length is { } known ? (decimal)known.ToBigIntegerNanoseconds() / NodaConstants.NanosecondsPerSecond : null;

    private static string Code<T>(T value)
        where T : struct, Enum => KebabCase.Of(value);
}
