using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Controls;

/// <summary>A kit lot whose controls are to be run on a bench.</summary>
/// <param name="Lot">The kit lot.</param>
/// <param name="Assay">Its assay.</param>
/// <param name="Name">The assay's name.</param>
/// <param name="Status">Where it stands.</param>
/// <param name="Levels">The levels that are to be run, without those that are on the bench already.</param>
/// <param name="Missing">Levels for which no target was ever set, so that no control lot is known.</param>
/// <param name="IsWanted">Whether the batch has requests of it.</param>
public sealed record DueControls(
    LotCode Lot, AssayCode Assay, string Name, LotStatus Status, ImmutableArray<ControlMaterial> Levels,
        ImmutableArray<int> Missing, bool IsWanted)
{
    /// <summary>The targets that have ended, of levels for which no other is in force.</summary>
    public ImmutableArray<PresentTarget> Ended { get; init; } = [];
}

/// <summary>A patient's result that is out.</summary>
/// <param name="Result">Which.</param>
/// <param name="Specimen">On which specimen.</param>
/// <param name="At">When it was entered, or released by a person.</param>
/// <param name="Batch">In which batch of its bench.</param>
public sealed record ReleasedLine(ReleasedResult Result, SpecimenId Specimen, Instant At, int Batch);

/// <summary>
/// What people do about controls: run those that are due, set targets and rules, write down what was done about
/// rejected ones.
/// </summary>
public sealed class ControlService(ClinicHost clinic, BenchRegistry benches, Intake intake, LotGateService gates,
    BenchClock clock, CartridgeProjection book)
{
    private const int MaxWords = 500;

    /// <summary>
    /// Kit lots whose controls are to be run on a bench: those that its batch wants, and then those that can be run.
    /// </summary>
    public IReadOnlyList<DueControls> DueOn(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        var stock = clinic.Log.Stock;
        return
        [
            .. clinic.Log.Assays.Versions.Keys.SelectMany(assay => stock.Usable(assay, Today)
                .Select(kit => DueOn(state, kit.Lot, assay))).OfType<DueControls>()
                // What nobody wants and nobody can run is no news to whoever prepares a batch.
                .Where(due => due.IsWanted || !due.Levels.IsEmpty || due.Status is LotStatus.Failed)
                .OrderByDescending(due => due.IsWanted).ThenBy(due => due.Lot.Value, StringComparer.Ordinal),
        ];
    }

    /// <summary>Puts the controls of a kit lot that are to be run on a bench's batch.</summary>
    public async Task<Outcome> AddDueAsync(Actor? actor, BenchId bench, LotCode lot)
    {
        if (!Access.May(actor, Right.AddRequests, bench.Value))
            return new Outcome(actor is null ? Words.SignInFirst : Words.SignInToDirect);
        if (benches.Find(bench.Value) is not { } runner
            || clinic.Log.Stock.Find(StockKind.Kit, lot)?.Assay is not { } assay)
            return new Outcome(Say.Of(Words.BenchUnknown, bench));
        if (DueOn(runner.Present.State, lot, assay) is not { } due || due.Levels.IsEmpty)
            return new Outcome(ControlsWords.NothingDue);
        var wanted = due.Levels.Select(control => new WantedRequest(
            SpecimenOf(control), due.Assay.Value, lot.Value, Kind: "control", ControlLot: control.Lot.Value,
                ControlLevel: control.Level)).ToList();
        var outcome = await intake.AddAsync(bench.Value, wanted, null, actor!.InLog, actor.Device);
        return outcome.Taken ? Outcome.Done() : new Outcome(outcome.Faults[0].Sentence);
    }

    /// <summary>Sets what a control should give, as its sheet says.</summary>
    /// <returns>What is wrong, by member; empty where it is set.</returns>
    public async Task<IReadOnlyList<FormFault>> SetTargetAsync(Actor? actor, AssayCode assay, string? controlLot,
        int level, string? mean, string? deviation, string? lastDay = null)
    {
        if (!Access.May(actor, Right.Supervise))
            return [new FormFault("", Words.NotAllowed)];
        var faults = new List<FormFault>();
        if (!Bounds.IsIdentifier(controlLot?.Trim()))
            faults.Add(new FormFault("lot", Words.IntakeTextFault));
        var (center, spread) = (TypedNumber.Read(mean), TypedNumber.Read(deviation));
        if (center.Value is null || !ControlTarget.IsPossible(center.Value.Value, 1))
            faults.Add(new FormFault("mean", center.FaultOr(TypedWords.TypedNumber)));
        if (spread.Value is null || !ControlTarget.IsPossible(0, spread.Value.Value))
            faults.Add(new FormFault("deviation", spread.FaultOr(ControlsWords.DeviationFault)));
        var end = string.IsNullOrWhiteSpace(lastDay) ? null : LocalDatePattern.Iso.Parse(lastDay.Trim());
        if (end is { Success: false } || end?.Value < Today)
            faults.Add(new FormFault("end", ControlsWords.TargetEndFault));
        if (faults.Count > 0)
            return faults;
        var outcome = await RecordAsync(actor!, new ClinicEvent.ControlTargetSet(
            assay, new ControlMaterial(new LotCode(Bounds.Normal(controlLot!.Trim())), level),
                new ControlTarget(center.Value!.Value, spread.Value!.Value), TargetSource.Sheet, end?.Value));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>
    /// Takes a target away that was set wrongly, or whose control is not used any more. What was judged by it stays.
    /// </summary>
    public Task<Outcome> RemoveTargetAsync(Actor? actor, AssayCode assay, ControlMaterial control, string? why) =>
        !Access.May(actor, Right.Supervise) ? Task.FromResult(new Outcome(Words.NotAllowed))
        : !AreWords(why) ? Task.FromResult(new Outcome(ControlsWords.RefusedWordsMissing))
        : RecordAsync(actor!, new ClinicEvent.ControlTargetRemoved(assay, control, why!.Trim()));

    /// <summary>Sets what a control should give by the bench's own first runs.</summary>
    public Task<Outcome> AdoptOwnAsync(Actor? actor, AssayCode assay, ControlMaterial control) =>
        !Access.May(actor, Right.Supervise)
        ? Task.FromResult(new Outcome(Words.NotAllowed))
        : OwnTarget(assay, control) is { } target
            ? RecordAsync(actor!, new ClinicEvent.ControlTargetSet(assay, control, target, TargetSource.OwnRuns,
                clinic.Log.Controls.Target(assay, control) is { } present && present.IsInForce(Today)
                    ? present.LastDay : null))
            : Task.FromResult(new Outcome(Say.Of(ControlsWords.OwnTooFew, ControlTarget.OwnRuns)));

    /// <summary>The target that the own first runs make; null while they are too few.</summary>
    public ControlTarget? OwnTarget(AssayCode assay, ControlMaterial control) =>
        ControlTarget.FromOwn(clinic.Log.Controls.OwnRuns(assay, control).Select(run => run.Value!.Value));

    /// <summary>Sets by which rules controls of an assay are judged from now on.</summary>
    public Task<Outcome> SetRulesAsync(Actor? actor, AssayCode assay, ControlRules rules) =>
        Access.May(actor, Right.Supervise)
        ? RecordAsync(actor!, new ClinicEvent.ControlRulesSet(assay, rules))
        : Task.FromResult(new Outcome(Words.NotAllowed));

    /// <summary>Writes down what was done about the rejected controls of a lot.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="lot">The kit lot.</param>
    /// <param name="controls">The rejected controls that were shown.</param>
    /// <param name="found">What was found to be the cause.</param>
    /// <param name="done">What was done about it.</param>
    public Task<Outcome> TakeActionAsync(Actor? actor, LotCode lot, IEnumerable<RequestId> controls, string? found,
        string? done) =>
        !Access.May(actor, Right.Supervise) ? Task.FromResult(new Outcome(Words.NotAllowed))
        : !AreWords(found) || !AreWords(done) ? Task.FromResult(new Outcome(ControlsWords.RefusedWordsMissing))
        : RecordAsync(actor!, new ClinicEvent.CorrectiveActionTaken(lot, [.. controls], found!.Trim(), done!.Trim()));

    /// <summary>
    /// The results of a lot that were released since its last good controls and are still to be reviewed.
    /// </summary>
    /// <remarks>42 CFR 493.1282(b)(2): where controls fail, every patient's result of that run and since the last
    /// acceptable one is evaluated (codes.findlaw.com, as of 2 January 2025).</remarks>
    public IReadOnlyList<ReleasedLine> ToReview(LotCode lot) =>
    [
        .. clinic.Log.Controls.Of(lot).AwaitingReview.SelectMany(span =>
            book.WentOut(lot, span.Key, span.Value)
                .Select(one => new ReleasedLine(new ReleasedResult(one.Bench, one.Request), one.Specimen,
                    one.Release.To ?? one.ResultEntered.To!.Value, one.Batch))),
    ];

    /// <summary>Writes down what a review of released results has found.</summary>
    public Task<Outcome> ReviewAsync(Actor? actor, LotCode lot, IEnumerable<ReleasedResult> results, string? finding) =>
        !Access.May(actor, Right.Supervise) ? Task.FromResult(new Outcome(Words.NotAllowed))
        : !AreWords(finding) ? Task.FromResult(new Outcome(ControlsWords.RefusedWordsMissing))
        : RecordAsync(actor!, new ClinicEvent.ReleasedReviewed(lot, [.. results], finding!.Trim()));

    /// <summary>Writes down that a reader was serviced.</summary>
    public Task<Outcome> ServicedAsync(Actor? actor, BenchId bench, ReaderNumber reader, string? what) =>
        !Access.May(actor, Right.Supervise, bench.Value) ? Task.FromResult(new Outcome(Words.NotAllowed))
        : !AreWords(what) ? Task.FromResult(new Outcome(ControlsWords.RefusedWordsMissing))
        : RecordAsync(actor!, new ClinicEvent.ReaderServiced(bench, reader, what!.Trim()));

    /// <summary>The specimen's name under which a control is run.</summary>
    public static string SpecimenOf(ControlMaterial control)
    {
        var level = string.Create(CultureInfo.InvariantCulture, $" L{control.Level}");
        return control.Lot.Value[..Math.Min(control.Lot.Value.Length, TextId.MaximumLength - level.Length)].TrimEnd()
            + level;
    }

    private DueControls? DueOn(BenchState state, LotCode lot, AssayCode assay)
    {
        var standing = gates.StandingOf(state.Id, assay, lot);
        ImmutableArray<int> levels = standing switch
        {
            LotStatus.Due due => due.Levels,
            LotStatus.Failed failed => failed.Levels,
            _ => [],
        };
        if (standing is not (LotStatus.Due or LotStatus.Failed))
            return null;
        var underWay = state.Cartridges
            .Where(cartridge => cartridge.Wanted.Request.Lot == lot && cartridge.Wanted.Facts?.Control is not null)
            .Where(cartridge => !cartridge.IsOver || cartridge.ResultMissing)
            .Select(cartridge => cartridge.Wanted.Facts!.Control!.Level).ToHashSet();
        var wanted = levels.Where(level => !underWay.Contains(level))
            .Select(level => (Level: level, Material: MaterialOf(assay, level))).ToList();
        return new DueControls(
            lot, assay, clinic.Log.Assays.Latest(assay)?.Sheet.Assay.Name ?? assay.Value, standing,
            [.. wanted.Select(pair => pair.Material).OfType<ControlMaterial>()],
            [.. wanted.Where(pair => pair.Material is null).Select(pair => pair.Level)],
            state.Cartridges.Any(cartridge => cartridge.Wanted.Request.Lot == lot
                && cartridge.Wanted.Request.Kind != RequestKind.Control && !cartridge.IsOver))
        {
            Ended =
            [
                .. wanted.Where(pair => pair.Material is null).Select(pair => Ended(assay, pair.Level))
                    .OfType<PresentTarget>(),
            ],
        };
    }

    /// <summary>The target of a level that ended last; null where none has.</summary>
    private PresentTarget? Ended(AssayCode assay, int level) => clinic.Log.Controls.Targets
        .Where(target => target.Assay == assay && target.Control.Level == level && !target.IsInForce(Today))
        .MaxBy(target => target.LastDay);

    /// <summary>
    /// The lots of control material that are there and serve an assay, the one that expires first first.
    /// </summary>
    public IReadOnlyList<LotCode> ControlLotsOf(AssayCode assay) =>
    [
        .. clinic.Log.Stock.Items.Values
            .Where(item => item.Kind == StockKind.Control && (item.Assay is null || item.Assay == assay)
                && StockStop.OfControl(clinic.Log.Stock, item.Lot, assay, Today) is null)
            .OrderBy(item => item.Expiry).ThenBy(item => item.Lot.Value, StringComparer.Ordinal)
            .Select(item => item.Lot),
    ];

    /// <summary>The controls that can be run for an assay: each level of each lot that may be used.</summary>
    public IReadOnlyList<ControlMaterial> ControlsFor(AssayCode assay)
    {
        var levels = Math.Max(1, clinic.Log.Assays.Latest(assay)?.Sheet.Controls.Levels ?? 0);
        var targets = clinic.Log.Controls.Targets.Where(target => target.Assay == assay)
            .Select(target => target.Control)
            .Where(control => StockStop.OfControl(clinic.Log.Stock, control.Lot, assay, Today) is null);
        return
        [
            .. ControlLotsOf(assay)
                .SelectMany(lot => Enumerable.Range(1, levels).Select(level => new ControlMaterial(lot, level)))
                .Concat(targets).Distinct(),
        ];
    }

    /// <summary>
    /// What is to be known about a control lot whose target was set: that none of it has come in; null where it has.
    /// </summary>
    public string? NoteOnTarget(string? controlLot) => TextId.IsValid(controlLot?.Trim())
        && clinic.Log.Stock.Find(StockKind.Control, new LotCode(controlLot!.Trim())) is null
        ? Say.Of(ControlsWords.TargetNotIn, controlLot.Trim())
        : null;

    /// <summary>
    /// The control that is run for a level: that whose target was set last, and that may be used; one that has come in
    /// before one that nobody received, whose number may be mistyped.
    /// </summary>
    private ControlMaterial? MaterialOf(AssayCode assay, int level) => clinic.Log.Controls.Targets
        .Where(target => target.Assay == assay && target.Control.Level == level && target.IsInForce(Today)
            && StockStop.OfControl(clinic.Log.Stock, target.Control.Lot, assay, Today) is null)
        .OrderByDescending(target => clinic.Log.Stock.Find(StockKind.Control, target.Control.Lot) is not null)
        .ThenByDescending(target => target.At)
        .FirstOrDefault()?.Control;

    private LocalDate Today => clock.Now.InZone(clinic.Facts.Zone).Date;

    private async Task<Outcome> RecordAsync(Actor actor, ClinicEvent happened)
    {
        var outcome = Outcome.Of(() => clinic.Log.Record(happened, Provenances.Of(actor, clock)));
        if (outcome.IsDone)
            await gates.SettleAsync();
        return outcome;
    }

    private static bool AreWords(string? words) => !string.IsNullOrWhiteSpace(words) && words.Trim().Length <= MaxWords;
}
