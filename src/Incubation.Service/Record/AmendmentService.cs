using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>What is to be amended, as it was filled in.</summary>
/// <param name="Value">The value, or "!" and the reader's code where it gave none.</param>
/// <param name="Why">Why.</param>
/// <param name="Told">Who was told of it.</param>
public sealed record WantedAmendment(string? Value, string? Why, string? Told);

/// <summary>Amends results of closed batches: the first one is kept, with who, when and why.</summary>
public sealed class AmendmentService(CartridgeProjection book, ClinicHost clinic, BenchClock clock)
{
    private const int MaxWords = 200;

    /// <summary>The cartridge of a closed batch whose result may be amended; null where there is none.</summary>
    public CartridgeRecord? Find(string bench, int batch, string? request) =>
        TextId.IsValid(bench) && book.Batch(new BenchId(bench), batch) is { Closed: not null } closed
            ? closed.Cartridges.FirstOrDefault(one => one.Request.Value == request
                && one.Result is not null)
            : null;

    /// <summary>Amends a result.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="shown">The cartridge as it was shown.</param>
    /// <param name="wanted">What it is to be.</param>
    /// <param name="late">The late report for which it is amended, which is decided by that; null where there is
    /// none.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public IReadOnlyList<FormFault> Amend(Actor? actor, CartridgeRecord shown, WantedAmendment wanted,
        ReportId? late = null)
    {
        ArgumentNullException.ThrowIfNull(shown);
        ArgumentNullException.ThrowIfNull(wanted);
        if (!Access.May(actor, Right.Supervise, shown.Bench.Value))
            return [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)];
        var (value, why, told) = (wanted.Value?.Trim() ?? "", wanted.Why?.Trim() ?? "", wanted.Told?.Trim() ?? "");
        var after = Read(shown, value);
        List<FormFault> faults = [];
        if (after is null)
            faults.Add(new FormFault("value", RecordWords.ResultNoNumber));
        if (why.Length is 0 or > MaxWords)
            faults.Add(new FormFault("why", RecordWords.WhyMissing));
        if (told.Length > MaxWords
            || (told.Length == 0 && after is ReadResult.Measured measured && IsCritical(shown, measured)))
            faults.Add(new FormFault("told", RecordWords.AmendMustTell));
        if (faults.Count > 0)
            return faults;
        List<ClinicEvent> events = [new ClinicEvent.ClosedResultAmended(shown.Bench, shown.Batch, shown.Request,
            shown.Result!, after!, why, told.Length == 0 ? null : told)];
        if (late is { } report)
            events.Add(new ClinicEvent.LateReportSettled(shown.Bench, shown.Request, report,
                LateReportDecision.Amended, why));
        var outcome = Outcome.Of(() => clinic.Log.Record(events, Provenances.Of(actor!, clock)));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>UCUM unit of a cartridge's result.</summary>
    public string UnitOf(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return (cartridge.Result as ReadResult.Measured ?? cartridge.First as ReadResult.Measured)?.Unit
            ?? SheetOf(cartridge)?.Unit ?? "";
    }

    private ReadResult? Read(CartridgeRecord shown, string value) =>
        value.StartsWith('!') ? TextId.IsValid(value[1..].Trim()) ? new ReadResult.NoValue(value[1..].Trim()) : null
        : ResultText.IsValue(value) ? new ReadResult.Measured(value, UnitOf(shown))
        : null;

    private bool IsCritical(CartridgeRecord shown, ReadResult.Measured after) =>
        MarkedResult.Of(SheetOf(shown)?.Results ?? ResultRule.AsDisplayed, after.Value).IsCritical;

    private AssaySheet? SheetOf(CartridgeRecord cartridge) =>
        clinic.Log.Assays.Versions.GetValueOrDefault(cartridge.Assay, [])
            .ElementAtOrDefault(cartridge.AssayVersion - 1)?.Sheet;
}
