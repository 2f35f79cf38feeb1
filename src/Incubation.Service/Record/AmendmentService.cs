using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>What is to be amended, as it was filled in.</summary>
/// <param name="Value">The value, or "!" and the reader's code where it gave none.</param>
/// <param name="Why">Why.</param>
/// <param name="Told">Who was told of it.</param>
public sealed record WantedAmendment(string? Value, string? Why, string? Told)
{
    /// <summary>Which of the usual reasons it is; null where nobody chose one.</summary>
    public AmendmentReason? Reason { get; init; }

    /// <summary>Whether who was told read it back.</summary>
    public bool ReadBack { get; init; }

    /// <summary>Why not who was told of the earlier value.</summary>
    public string? OtherWhy { get; init; }
}

/// <summary>What an amendment would make of a result: to be read back before it is saved.</summary>
/// <param name="After">The value as it was understood.</param>
/// <param name="Marked">How it is reported, with its marks; null where the reader gave none.</param>
/// <param name="Question">What is asked about it; null where it is possible.</param>
/// <param name="Duty">Why somebody must then be told; null where nobody need be.</param>
public sealed record AmendmentPreview(ReadResult After, MarkedResult? Marked, ValueQuestion? Question,
    TellingDuty? Duty);

/// <summary>
/// Amends results of closed batches, patients' and controls': the first one is kept, with who, when and why. Gates are
/// recomputed at once. Whoever was told of an earlier value is told of the correction; until then the clinic
/// lists it.
/// </summary>
/// <remarks>42 CFR 493.1291(k)(1) to (3): who ordered or uses a result is told of the error promptly, a corrected
/// report follows, the original is kept beside it (as an inspection's published statement of deficiencies quotes it,
/// clialabcitations.com, D5821). ISO 15189:2022, 7.4.1.8 (amended results: original and amended with times and persons,
/// users made aware); from memory.</remarks>
public sealed class AmendmentService(CartridgeProjection book, ClinicHost clinic, LotGateService gates,
    BenchClock clock)
{
    private const int MaxWords = 200;

    /// <summary>The cartridge of a closed batch whose result may be amended; null where there is none.</summary>
    public CartridgeRecord? Find(string bench, int batch, string? request) =>
        TextId.IsValid(bench) && book.Batch(new BenchId(bench), batch) is { Closed: not null } closed
            ? closed.Cartridges.FirstOrDefault(one => one.Request.Value == request && one.Result is not null)
            : null;

    /// <summary>What is wrong with an amendment, by member; and what it would make of the result.</summary>
    /// <param name="shown">The cartridge as it was shown.</param>
    /// <param name="wanted">What it is to be.</param>
    public (IReadOnlyList<FormFault> Faults, AmendmentPreview? Preview) Preview(CartridgeRecord shown,
        WantedAmendment wanted)
    {
        ArgumentNullException.ThrowIfNull(shown);
        ArgumentNullException.ThrowIfNull(wanted);
        var (after, fault) = Read(shown, wanted.Value?.Trim() ?? "");
        List<FormFault> faults = [];
        if (after is null || after == shown.Result)
            faults.Add(new FormFault("value", after is null ? fault! : RecordWords.AmendSame));
        if (wanted.Why?.Trim() is not { Length: > 0 and <= MaxWords })
            faults.Add(new FormFault("why", RecordWords.WhyMissing));
        if (faults.Count > 0)
            return (faults, null);
        var rule = RuleOf(shown);
        var measured = after as ReadResult.Measured;
        var duty = shown is { Kind: RequestKind.Patient, Values: { } values }
            ? TellingDuty.Of(rule, values.With(new ResultValue(after!, clock.Now, default, "", null, null)).Values)
            : null;
        return (Unexplained(duty, wanted.Told, wanted.OtherWhy), new AmendmentPreview(after!,
            measured is null ? null : MarkedResult.Of(rule, measured.Value),
            measured is null ? null : PossibleValue.QuestionOf(rule, measured.Value), duty));
    }

    /// <summary>Amends a result.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="shown">The cartridge as it was shown.</param>
    /// <param name="wanted">What it is to be.</param>
    /// <param name="late">The late report for which it is amended, which is decided by that; null where there is
    /// none.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public async Task<IReadOnlyList<FormFault>> AmendAsync(Actor? actor, CartridgeRecord shown,
        WantedAmendment wanted, ReportId? late = null)
    {
        ArgumentNullException.ThrowIfNull(shown);
        ArgumentNullException.ThrowIfNull(wanted);
        if (!Access.May(actor, Right.Supervise, shown.Bench.Value))
            return [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)];
        if (Preview(shown, wanted) is not ({ Count: 0 }, { } preview))
            return Preview(shown, wanted).Faults;
        var why = wanted.Why!.Trim();
        if (shown.Proposal is not null)
            return [new FormFault("", Say.Of(RecordWords.AmendmentWaitsLater, shown.Request))];
        if (clinic.Log.Amendments.NeedsSecond)
            return await ProposeAsync(actor!, shown, wanted, preview);
        List<ClinicEvent> events = [new ClinicEvent.ClosedResultAmended(shown.Bench, shown.Batch, shown.Request,
            shown.Result!, preview.After, why, null, wanted.Reason)];
        if (preview.Question is { } question)
            events.Add(new ClinicEvent.ClosedResultQuestioned(shown.Bench, shown.Batch, shown.Request, question));
        if (preview.Duty is { } duty)
            events.Add(new ClinicEvent.ClosedTellingDue(shown.Bench, shown.Batch, shown.Request, duty.Cause));
        if (wanted.Told?.Trim() is { Length: > 0 } whom)
            events.Add(Told(shown, whom, wanted.ReadBack, wanted.OtherWhy));
        if (late is { } report)
            events.Add(new ClinicEvent.LateReportSettled(shown.Bench, shown.Request, report,
                LateReportDecision.Amended, why));
        var faults = Record(actor!, shown, events);
        if (faults.Count == 0)
            await gates.SettleAsync();
        return faults;
    }

    /// <summary>
    /// Enters an amendment that waits for a second person: nobody has been told of it, and no late report is decided by
    /// it, before that.
    /// </summary>
    private async Task<IReadOnlyList<FormFault>> ProposeAsync(Actor actor, CartridgeRecord shown,
        WantedAmendment wanted, AmendmentPreview preview)
    {
        if (!string.IsNullOrWhiteSpace(wanted.Told))
            return [new FormFault("told", RecordWords.TellWhenConfirmed)];
        var faults = Record(actor, shown, [new ClinicEvent.ClosedAmendmentProposed(shown.Bench, shown.Batch,
            shown.Request, shown.Result!, preview.After, wanted.Why!.Trim(), wanted.Reason, preview.Duty?.Cause)]);
        if (faults.Count == 0)
            await gates.SettleAsync();
        return faults;
    }

    /// <summary>
    /// Enters an amendment that a reader sent: it waits for a supervisor whatever the clinic's rule, and holds the
    /// result.
    /// </summary>
    /// <param name="shown">The cartridge as it stands.</param>
    /// <param name="after">The value that was sent.</param>
    /// <param name="why">Why, in words.</param>
    /// <param name="provenance">Which instrument says so.</param>
    /// <returns>Whether it stands in the record; false where it was amended meanwhile.</returns>
    internal async Task<bool> ProposeAsync(CartridgeRecord shown, ReadResult after, string why, Provenance provenance)
    {
        var duty = shown is { Kind: RequestKind.Patient, Values: { } values } ? TellingDuty.Of(RuleOf(shown),
            values.With(new ResultValue(after, clock.Now, default, "", null, null)).Values) : null;
        if (clinic.Log.RecordOfClosed(shown, [new ClinicEvent.ClosedAmendmentProposed(shown.Bench, shown.Batch,
            shown.Request, shown.Result!, after, why, null, duty?.Cause)], provenance) is not ClinicOutcome.Recorded)
            return false;
        await gates.SettleAsync();
        return true;
    }

    /// <summary>Records who was told of a closed batch's result.</summary>
    /// <param name="actor">Who says so.</param>
    /// <param name="shown">The cartridge as it was shown.</param>
    /// <param name="whom">Who was told.</param>
    /// <param name="readBack">Whether it was read back.</param>
    /// <param name="otherWhy">Why not who was told of the earlier value.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public IReadOnlyList<FormFault> Tell(Actor? actor, CartridgeRecord shown, string? whom, bool readBack,
        string? otherWhy)
    {
        ArgumentNullException.ThrowIfNull(shown);
        if (!Access.May(actor, Right.Direct, shown.Bench.Value))
            return [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)];
        if (shown.Telling is null)
            return [new FormFault("", RecordWords.NothingToTellLater)];
        if (whom?.Trim() is not { Length: > 0 } said)
            return [new FormFault("told", RecordWords.WhomMissingLater)];
        var faults = Unexplained(shown.Telling, said, otherWhy);
        return faults.Count > 0
            ? faults : Record(actor!, shown, [Told(shown, said, readBack, otherWhy, shown.AmendedSinceClose)]);
    }

    /// <summary>Records why nobody need be told of a closed batch's result.</summary>
    /// <param name="actor">Which supervisor says so.</param>
    /// <param name="shown">The cartridge as it was shown.</param>
    /// <param name="why">Why.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public IReadOnlyList<FormFault> Waive(Actor? actor, CartridgeRecord shown, string? why)
    {
        ArgumentNullException.ThrowIfNull(shown);
        return !Access.May(actor, Right.Supervise, shown.Bench.Value)
            ? [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)]
            : shown.Telling is null ? [new FormFault("", RecordWords.NothingToTellLater)]
            : why?.Trim() is not { Length: > 0 and <= MaxWords } said
            ? [new FormFault("why", RecordWords.WhyMissing)]
            : Record(actor!, shown, [new ClinicEvent.ClosedTellingWaived(shown.Bench, shown.Batch, shown.Request, said,
                shown.AmendedSinceClose)]);
    }

    /// <summary>UCUM unit of a cartridge's result.</summary>
    public string UnitOf(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return (cartridge.Result as ReadResult.Measured ?? cartridge.First as ReadResult.Measured)?.Unit
            ?? clinic.Log.Assays.Versions.GetValueOrDefault(cartridge.Assay, [])
                .ElementAtOrDefault(cartridge.AssayVersion - 1)?.Sheet.Unit ?? "";
    }

    /// <summary>What an assay measures, for who is asked about a value.</summary>
    public ResultRule RuleOf(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return clinic.Log.Assays.ResultRuleOf(cartridge.Assay, cartridge.AssayVersion);
    }

    private static ClinicEvent Told(CartridgeRecord shown, string whom, bool readBack, string? otherWhy,
        int? of = null) => new ClinicEvent.ClosedResultTold(shown.Bench, shown.Batch, shown.Request, whom, readBack,
            otherWhy?.Trim() is { Length: > 0 } why ? why : null, of);

    /// <summary>Another than who was told of the earlier value is told for a reason.</summary>
    private static List<FormFault> Unexplained(TellingDuty? duty, string? told, string? otherWhy)
    {
        List<FormFault> faults = [];
        var whom = told?.Trim() ?? "";
        if (whom.Length > MaxWords)
            faults.Add(new FormFault("told", RecordWords.WhomMissingLater));
        if (otherWhy?.Length > MaxWords || (whom.Length > 0 && duty is { Known: { } known } && !duty.IsKnown(whom)
            && string.IsNullOrWhiteSpace(otherWhy)))
            faults.Add(new FormFault("other-why",
                Say.Of(TextWords.RefusedOtherPersonUnexplained, duty?.Known?.Whom ?? whom)));
        return faults;
    }

    private IReadOnlyList<FormFault> Record(Actor actor, CartridgeRecord shown,
        IReadOnlyList<ClinicEvent> events)
    {
        var outcome = Outcome.Of(() => clinic.Log.RecordOfClosed(shown, events,
            Provenances.Of(actor, clock)));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    private (ReadResult? Result, string? Fault) Read(CartridgeRecord shown, string value)
    {
        if (value.StartsWith('!'))
            return TextId.IsValid(value[1..].Trim())
                ? (new ReadResult.NoValue(value[1..].Trim()), null) : (null, TextWords.ValueNoNumber);
        var typed = ResultText.Read(value);
        return (typed.Value is { } read ? new ReadResult.Measured(read, UnitOf(shown)) : null, typed.Fault);
    }
}
