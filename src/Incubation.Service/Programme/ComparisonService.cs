using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Programme;

/// <summary>
/// Comparisons of a new kit lot with the old one: begun, filled with results of the record or typed ones, decided.
/// </summary>
public sealed class ComparisonService(ClinicHost clinic, CartridgeProjection book, LotGateService gates,
    BenchClock clock)
{
    /// <summary>The longest reason, in characters.</summary>
    public const int MaxWords = 500;

    /// <summary>So many results of a lot are looked at, the last first.</summary>
    private const int MaxResults = 2000;

    /// <summary>Whether results of a new lot are held until it was compared.</summary>
    public bool IsRequired => clinic.Log.Comparisons.RequiredSince is not null;

    /// <summary>A comparison, or null.</summary>
    public ComparisonCase? Find(int number) => clinic.Log.Comparisons.Find(number);

    /// <summary>The kit lots of an assay that are there, the one that was received last first.</summary>
    public IReadOnlyList<LotCode> LotsOf(AssayCode assay) =>
    [
        .. clinic.Log.Stock.Items.Values.Where(item => item.Kind == StockKind.Kit && item.Assay == assay)
            .OrderByDescending(item => item.Shipments[0].At).ThenBy(item => item.Lot.Value, StringComparer.Ordinal)
            .Select(item => item.Lot),
    ];

    /// <summary>Says whether results of new lots are held until they were compared.</summary>
    public Task<Outcome> RequireAsync(Actor? actor, bool required) =>
        RecordAsync(actor, new ClinicEvent.LotComparisonRequired(required));

    /// <summary>Begins a comparison.</summary>
    /// <returns>Its number, or what is wrong, by member.</returns>
    public async Task<(int? Number, IReadOnlyList<FormFault> Faults)> BeginAsync(Actor? actor, ComparisonForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        var faults = new List<FormFault>();
        if (!TextId.IsValid(form.Assay))
            faults.Add(new FormFault(nameof(form.Assay), StockWords.AssayFault));
        foreach (var (member, lot) in new[] { (nameof(form.Old), form.Old), (nameof(form.New), form.New) })
            if (!Bounds.IsIdentifier(lot?.Trim()))
                faults.Add(new FormFault(member, StockWords.LotFault));
        if (!Enum.TryParse<DifferenceUnit>(form.Unit, out var unit))
            faults.Add(new FormFault(nameof(form.Unit), ProgrammeWords.LargestFault));
        var largest = TypedNumber.Read(form.Largest);
        if (largest.Value is not { } most || !new LotCriterion(unit, most, 1).IsPossible)
            faults.Add(new FormFault(nameof(form.Largest), largest.FaultOr(ProgrammeWords.LargestFault)));
        var specimens = TypedNumber.Whole(form.Specimens, 1, LotCriterion.MostSpecimens, out var fault);
        if (fault is not null)
            faults.Add(new FormFault(nameof(form.Specimens), fault));
        if (faults.Count > 0)
            return (null, faults);
        var number = clinic.Log.Comparisons.Cases.Count + 1;
        var outcome = await RecordAsync(actor, new ClinicEvent.LotComparisonBegun(number, new AssayCode(form.Assay!),
            new LotCode(Bounds.Normal(form.Old!.Trim())), new LotCode(Bounds.Normal(form.New!.Trim())),
            new LotCriterion(unit, largest.Value!.Value, specimens!.Value)));
        return outcome.IsDone ? (number, []) : (null, [new FormFault("", outcome.Fault!)]);
    }

    /// <summary>The specimens with a usable result of both lots that are in no pair, the last read first.</summary>
    public IReadOnlyList<PairOffered> Offered(ComparisonCase one)
    {
        ArgumentNullException.ThrowIfNull(one);
        var taken = one.Counted.SelectMany(pair => new[] { pair.Old.Request, pair.New.Request }).OfType<RequestId>()
            .ToHashSet();
        var old = OnRecord(one.Assay, one.Old).Where(result => !taken.Contains(result.Request))
            .GroupBy(result => result.Specimen)
            .ToDictionary(of => of.Key, of => of.MaxBy(result => result.Read)!);
        return
        [
            .. OnRecord(one.Assay, one.New).Where(result => !taken.Contains(result.Request))
                .GroupBy(result => result.Specimen).Select(of => of.MaxBy(result => result.Read)!)
                .Where(result => old.ContainsKey(result.Specimen))
                .Select(result => new PairOffered(old[result.Specimen], result))
                .Where(pair => new LotPair(pair.Old.Value, pair.New.Value).IsComparable(one.Criterion.Unit))
                .OrderByDescending(pair => pair.New.Read),
        ];
    }

    /// <summary>A comparison's pairs as they are shown.</summary>
    public IReadOnlyList<PairLine> Lines(ComparisonCase one)
    {
        ArgumentNullException.ThrowIfNull(one);
        var record = new[] { one.Old, one.New }.SelectMany(lot => Measured(one.Assay, lot))
            .GroupBy(found => (found.Bench, found.Request)).ToDictionary(of => of.Key, of => of.First());
        CartridgeRecord? RecordOf(ComparedResult result) => result is { Bench: { } bench, Request: { } request }
            ? record.GetValueOrDefault((bench, request)) : null;
        string? Changed(ComparedResult result) => RecordOf(result) is { Result: { } now }
            && ControlJudgements.Shown(now) is var (shown, value) && value != result.Value ? shown : null;
        return
        [
            .. one.Pairs.Select(pair =>
            {
                var difference = pair.Values.Difference(one.Criterion.Unit);
                var now = string.Join(", ", new[] { Changed(pair.Old), Changed(pair.New) }.OfType<string>());
                return new PairLine(pair.Number,
                    pair.Label.Length > 0 ? pair.Label
                        : RecordOf(pair.New)?.Specimen.Value ?? pair.New.Request?.Value ?? "",
                    pair.Old.Value, pair.New.Value, pair.Old.Request, pair.New.Request, difference,
                    Math.Abs(difference) > one.Criterion.Largest, pair.Removed, now.Length > 0 ? now : null, pair.By,
                    pair.At);
            }),
        ];
    }

    /// <summary>Takes a specimen's two results into a comparison.</summary>
    public Task<Outcome> AddAsync(Actor? actor, int number, PairOffered pair)
    {
        ArgumentNullException.ThrowIfNull(pair);
        return Find(number) is not { } one ? Task.FromResult(new Outcome(Words.CommandFailed))
            : RecordAsync(actor, new ClinicEvent.LotPairSet(number, one.Pairs.Length + 1, "", Compared(pair.Old),
                Compared(pair.New)));
    }

    /// <summary>Takes two typed values into a comparison.</summary>
    /// <returns>What is wrong, by member; empty where they are taken.</returns>
    public async Task<IReadOnlyList<FormFault>> EnterAsync(Actor? actor, int number, PairForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        if (Find(number) is not { } one)
            return [new FormFault("", Words.CommandFailed)];
        var faults = new List<FormFault>();
        if (!Bounds.IsIdentifier(form.Label?.Trim()))
            faults.Add(new FormFault(nameof(form.Label), Words.IntakeTextFault));
        var (old, now) = (TypedNumber.Read(form.Old), TypedNumber.Read(form.New));
        // Of nothing there is no percentage: that is said beside the old value.
        if (old.Value is not { } before || !new LotPair(before, 1).IsComparable(one.Criterion.Unit))
            faults.Add(new FormFault(nameof(form.Old), old.FaultOr(ProgrammeWords.PairValueFault)));
        if (now.Value is not { } after || !new LotPair(1, after).IsComparable(one.Criterion.Unit))
            faults.Add(new FormFault(nameof(form.New), now.FaultOr(ProgrammeWords.PairValueFault)));
        if (faults.Count > 0)
            return faults;
        var outcome = await RecordAsync(actor, new ClinicEvent.LotPairSet(number, one.Pairs.Length + 1,
            Bounds.Normal(form.Label!.Trim()), new ComparedResult(old.Value!.Value, null, null),
            new ComparedResult(now.Value!.Value, null, null)));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>Says that a pair does not count.</summary>
    public Task<Outcome> RemoveAsync(Actor? actor, int number, int pair, string? why) => !AreWords(why)
        ? Task.FromResult(new Outcome(StockWords.WhyMissing))
        : RecordAsync(actor, new ClinicEvent.LotPairRemoved(number, pair, why!.Trim()));

    /// <summary>Decides on a comparison; a value that was amended since is compared first.</summary>
    public Task<Outcome> SettleAsync(Actor? actor, int number, LotDecision decision, string? why) =>
        !AreWords(why) ? Task.FromResult(new Outcome(StockWords.WhyMissing))
        : decision == LotDecision.Accepted && Find(number) is { } one
            && Lines(one).FirstOrDefault(line => line is { Removed: null, Changed: not null }) is { } changed
        ? Task.FromResult(new Outcome(Say.Of(ProgrammeWords.PairChanged, changed.Number)))
        : RecordAsync(actor, new ClinicEvent.LotComparisonSettled(number, decision, why!.Trim()));

    /// <summary>A comparison as a file: a line for each pair.</summary>
    public IEnumerable<string> File(ComparisonCase one)
    {
        ArgumentNullException.ThrowIfNull(one);
        yield return Csv.Line(["comparison", "assay", "oldLot", "newLot", "pair", "specimen", "oldRequest",
            "newRequest", "oldValue", "newValue", "difference", "differenceUnit", "removed", "by", "at", "largest",
            "specimensNeeded", "beyond", "changed", "unit"]);
        foreach (var line in Lines(one))
            yield return Csv.Line([one.Number, one.Assay.Value, one.Old.Value, one.New.Value, line.Number,
                line.Specimen, line.OldRequest?.Value, line.NewRequest?.Value, line.OldValue, line.NewValue,
                Math.Round(line.Difference, 6), one.Criterion.Unit == DifferenceUnit.Percent ? "percent" : "units",
                line.Removed, line.By.Value, line.At.ToString(), one.Criterion.Largest, one.Criterion.Specimens,
                line.IsBeyond ? "yes" : "no", line.Changed, UnitText.Of(clinic.Log.Assays, one.Assay)]);
    }

    /// <summary>Every comparison as a file: a line for each.</summary>
    public IEnumerable<string> File()
    {
        yield return Csv.Line(["comparison", "assay", "oldLot", "newLot", "largest", "differenceUnit",
            "specimensNeeded", "specimens", "meanDifference", "verdict", "begunBy", "begunAt", "decision", "why",
            "decidedBy", "decidedAt", "unit"]);
        foreach (var one in clinic.Log.Comparisons.Cases)
        {
            var outcome = one.Outcome;
            yield return Csv.Line([one.Number, one.Assay.Value, one.Old.Value, one.New.Value, one.Criterion.Largest,
                one.Criterion.Unit == DifferenceUnit.Percent ? "percent" : "units", one.Criterion.Specimens,
                outcome.Differences.Count, outcome.Mean is { } mean ? Math.Round(mean, 6) : null,
                KebabCase.Of(outcome.Verdict), one.By.Value, one.At.ToString(),
                one.Decision is { } settled ? KebabCase.Of(settled.Decision) : null, one.Decision?.Why,
                one.Decision?.By.Value, one.Decision?.At.ToString(), UnitText.Of(clinic.Log.Assays, one.Assay)]);
        }
    }

    /// <summary>The patients' results of a lot that may be compared.</summary>
    private IEnumerable<ResultOnRecord> OnRecord(AssayCode assay, LotCode lot) => Measured(assay, lot)
        .Where(one => one.Kind == RequestKind.Patient && IsUsable(one))
        .Select(one => ControlJudgements.Shown(one.Result!).Value is { } value
            ? new ResultOnRecord(one.Bench, one.Request, one.Specimen, one.Read.From, value) : null)
        .OfType<ResultOnRecord>();

    /// <summary>
    /// Whether a result may be compared: nothing holds it, or nothing but that its lot was not compared yet.
    /// </summary>
    private bool IsUsable(CartridgeRecord one) => one.Hold == ResultHold.None
        || (one.Hold == ResultHold.Controls
            && gates.GateOn(one.Bench, one.Assay, one.Lot) == LotGate.AwaitingComparison);

    private IEnumerable<CartridgeRecord> Measured(AssayCode assay, LotCode lot) =>
        book.Find(new CartridgeQuery(Lot: lot.Value, Most: MaxResults)).Cartridges
            .Where(one => one.Lot == lot && one.Assay == assay && one.Result is not null);

    private static ComparedResult Compared(ResultOnRecord result) => new(result.Value, result.Bench, result.Request);

    private async Task<Outcome> RecordAsync(Actor? actor, ClinicEvent happened)
    {
        if (!Access.May(actor, Right.Supervise))
            return new Outcome(Words.NotAllowed);
        var outcome = Outcome.Of(() => clinic.Log.Record(happened, Provenances.Of(actor!, clock)));
        if (outcome.IsDone)
            await gates.SettleAsync();
        return outcome;
    }

    private static bool AreWords(string? words) => !string.IsNullOrWhiteSpace(words) && words.Trim().Length <= MaxWords;
}
