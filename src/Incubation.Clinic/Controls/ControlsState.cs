using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.Controls;

/// <summary>What a control should give, as it was set last.</summary>
/// <param name="Assay">By which assay.</param>
/// <param name="Control">Which control.</param>
/// <param name="Target">Mean and standard deviation, in the assay's unit.</param>
/// <param name="Source">Where they come from.</param>
/// <param name="At">When they were set.</param>
/// <param name="By">By whom.</param>
public sealed record PresentTarget(AssayCode Assay, ControlMaterial Control, ControlTarget Target, TargetSource Source,
    Instant At, PersonId By)
{
    /// <summary>The last day on which controls are judged by it, in the clinic's zone; null for no end.</summary>
    public LocalDate? LastDay { get; init; }

    /// <summary>Whether controls of a day are judged by it: its last day is one of them.</summary>
    public bool IsInForce(LocalDate day) => LastDay is null || day <= LastDay;
}

/// <summary>Controls as the clinic's stream tells of them. Immutable; made from events alone.</summary>
public sealed record ControlsState
{
    /// <summary>No control yet.</summary>
    public static ControlsState Empty { get; } = new();

    /// <summary>What controls should give, in the order in which it was first set.</summary>
    public ImmutableArray<PresentTarget> Targets { get; private init; } = [];

    /// <summary>Controls and what was done about them, by kit lot.</summary>
    public ImmutableDictionary<LotCode, LotHistory> Lots { get; private init; } =
        ImmutableDictionary<LotCode, LotHistory>.Empty;

    /// <summary>Which rules were set when, in that order.</summary>
    private ImmutableArray<(Instant At, AssayCode Assay, ControlRules Rules)> RulesSet { get; init; } = [];

    private ImmutableDictionary<AssayCode, MovingMeanRule> MovingMeans { get; init; } =
        ImmutableDictionary<AssayCode, MovingMeanRule>.Empty;

    /// <summary>The clinic's zone: the days of targets are its days.</summary>
    private DateTimeZone Zone { get; init; } = DateTimeZone.Utc;

    private ImmutableDictionary<BenchId, Instant> Services { get; init; } = ImmutableDictionary<BenchId, Instant>.Empty;

    private ImmutableDictionary<RequestId, ControlRun> Latest { get; init; } =
        ImmutableDictionary<RequestId, ControlRun>.Empty;

    /// <summary>
    /// By which rule of what may be judged (<see cref="ControlJudgements.Rule"/>) every judgement was looked at last; 0
    /// where that was before there was one.
    /// </summary>
    public int JudgedByRule { get; private init; }

    /// <summary>How a control was judged last, or its judgement set aside; null where it never was.</summary>
    public ControlRun? LatestOf(RequestId request) => Latest.GetValueOrDefault(request);

    /// <summary>Every control as it was judged last, in no order.</summary>
    public IEnumerable<ControlRun> AllLatest => Latest.Values;

    /// <summary>What a control should give, or null.</summary>
    public PresentTarget? Target(AssayCode assay, ControlMaterial control) =>
        Targets.FirstOrDefault(target => target.Assay == assay && target.Control == control);

    /// <summary>
    /// By what a control that was taken out of the reader at an instant is judged; null where it has no target, or one
    /// that had ended by then.
    /// </summary>
    public ControlTarget? TargetAt(AssayCode assay, ControlMaterial control, Instant at) =>
        Target(assay, control) is { } target && target.IsInForce(at.InZone(Zone).Date) ? target.Target : null;

    /// <summary>
    /// Targets that have ended by a day, or will after it, where no other control of the same assay and level has one
    /// that goes on beyond it; in the order in which they were first set.
    /// </summary>
    public IReadOnlyList<PresentTarget> EndingBy(LocalDate day) =>
    [
        .. Targets.Where(target => target.LastDay <= day && !Targets.Any(other => other.Assay == target.Assay
            && other.Control.Level == target.Control.Level && (other.LastDay is null || other.LastDay > day))),
    ];

    /// <summary>These controls in a clinic of a zone.</summary>
    internal ControlsState In(DateTimeZone zone) => this with { Zone = zone };

    /// <summary>How the moving mean of patients' results of an assay is worked out; null where it is not.</summary>
    public MovingMeanRule? MovingMeanOf(AssayCode assay) => MovingMeans.GetValueOrDefault(assay);

    /// <summary>By which rules controls of an assay are judged: all, unless somebody has said otherwise.</summary>
    public ControlRules RulesOf(AssayCode assay) => RulesAt(assay, Instant.MaxValue);

    /// <summary>By which rules controls of an assay were judged at an instant.</summary>
    public ControlRules RulesAt(AssayCode assay, Instant at) =>
        RulesSet.LastOrDefault(set => set.Assay == assay && set.At <= at).Rules ?? ControlRules.All;

    /// <summary>The controls of a kit lot, and what was done about them.</summary>
    public LotHistory Of(LotCode lot) => Lots.GetValueOrDefault(lot, LotHistory.Empty);

    /// <summary>When a reader of a bench was last serviced, or null.</summary>
    public Instant? Serviced(BenchId bench) => Services.TryGetValue(bench, out var at) ? at : null;

    /// <summary>
    /// A bench's own values of a control, of all kit lots, the first first: what a target of its own is made from.
    /// Values that were rejected are left out.
    /// </summary>
    public IReadOnlyList<ControlRun> OwnRuns(AssayCode assay, ControlMaterial control) =>
    [
        .. Lots.Values.SelectMany(lot => lot.Standing)
            .Where(run => run.Assay == assay && run.Control == control && run.Value is not null
                && run.Verdict != ControlVerdict.Rejected)
            .OrderBy(run => run.At),
    ];

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    public ControlsState Apply(ClinicEntry entry)
    {
        ArgumentNullException.ThrowIfNull(entry);
        var provenance = entry.Provenance;
        return entry.Event switch
        {
            ClinicEvent.ControlTargetSet set =>
                this with
                {
                    Targets =
                    With(new PresentTarget(set.Assay, set.Control, set.Target, set.Source, provenance.At,
                        provenance.Person)
                    { LastDay = set.LastDay })
                },
            ClinicEvent.ControlTargetRemoved removed => this with
            {
                Targets = Targets.RemoveAll(target => target.Assay == removed.Assay
                    && target.Control == removed.Control),
            },
            ClinicEvent.MovingMeanSet set => this with
            {
                MovingMeans = set.Rule is { } rule ? MovingMeans.SetItem(set.Assay, rule)
                    : MovingMeans.Remove(set.Assay),
            },
            ClinicEvent.ControlRulesSet set => this with
            {
                RulesSet = RulesSet.Add((provenance.At, set.Assay, set.Rules)),
            },
            ClinicEvent.ControlJudged judged =>
                With(judged.Run.Lot, lot => lot with { Runs = lot.Runs.Add(judged.Run) }) with
                { Latest = Latest.SetItem(judged.Run.Request, judged.Run) },
            ClinicEvent.JudgementRuleTaken taken => this with { JudgedByRule = taken.Rule },
            ClinicEvent.CorrectiveActionTaken taken => With(taken.Lot, lot => lot with
            {
                Actions =
                    lot.Actions.Add(new CorrectiveAction(provenance.At, provenance.Person, taken.Found, taken.Done,
                        lot.Runs.Count)
                    { Device = provenance.Device }),
            }),
            ClinicEvent.ReleasedReviewed reviewed => With(reviewed.Lot, lot => lot with
            {
                Reviews =
                    lot.Reviews.Add(new ReleasedReview(provenance.At, provenance.Person, reviewed.Results,
                        reviewed.Finding, lot.Runs.Count)
                    { Device = provenance.Device }),
            }),
            ClinicEvent.ReaderServiced serviced =>
                this with { Services = Services.SetItem(serviced.Bench, provenance.At) },
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="assays">Whether there is such an assay.</param>
    /// <param name="benches">The clinic's benches.</param>
    internal ClinicObjection? Against(ClinicEvent @event, Func<AssayCode, bool> assays,
        ImmutableHashSet<BenchId> benches) => @event switch
        {
            ClinicEvent.ControlTargetSet set when !assays(set.Assay) =>
                new(ClinicRefusal.UnknownAssay, set.Assay.Value),
            ClinicEvent.ControlTargetSet { Control.Level: < 1 or > MaxLevels } set =>
                new(ClinicRefusal.UnknownControl, set.Control.Lot.Value),
            ClinicEvent.ControlTargetRemoved removed when Target(removed.Assay, removed.Control) is null =>
                new(ClinicRefusal.UnknownControl, removed.Control.Lot.Value),
            ClinicEvent.ControlTargetRemoved removed when string.IsNullOrWhiteSpace(removed.Why) =>
                new(ClinicRefusal.WordsMissing, removed.Control.Lot.Value),
            ClinicEvent.MovingMeanSet set when !assays(set.Assay) => new(ClinicRefusal.UnknownAssay, set.Assay.Value),
            ClinicEvent.MovingMeanSet { Rule.IsPossible: false } set =>
                new(ClinicRefusal.MeanImpossible, set.Assay.Value),
            ClinicEvent.ControlRulesSet set when !assays(set.Assay) => new(ClinicRefusal.UnknownAssay, set.Assay.Value),
            ClinicEvent.ControlJudged { Run: var run } when !benches.Contains(run.Bench) =>
                new(ClinicRefusal.UnknownBench, run.Bench.Value),
            ClinicEvent.ControlJudged { Run: var run } when IsOutdated(run) =>
                new(ClinicRefusal.ControlAlreadyJudged, run.Request.Value),
            ClinicEvent.CorrectiveActionTaken taken => AgainstAction(taken),
            ClinicEvent.ReleasedReviewed reviewed when string.IsNullOrWhiteSpace(reviewed.Finding) =>
                new(ClinicRefusal.WordsMissing, reviewed.Lot.Value),
            ClinicEvent.ReleasedReviewed reviewed when Of(reviewed.Lot).AwaitingReview.Count == 0 =>
                new(ClinicRefusal.NothingToReview, reviewed.Lot.Value),
            ClinicEvent.ReaderServiced serviced when !benches.Contains(serviced.Bench) =>
                new(ClinicRefusal.UnknownBench, serviced.Bench.Value),
            ClinicEvent.ReaderServiced serviced when string.IsNullOrWhiteSpace(serviced.What) =>
                new(ClinicRefusal.WordsMissing, serviced.Bench.Value),
            _ => null,
        };

    /// <summary>The most levels that a control material comes in.</summary>
    public const int MaxLevels = 3;

    private ClinicObjection? AgainstAction(ClinicEvent.CorrectiveActionTaken taken)
    {
        if (string.IsNullOrWhiteSpace(taken.Found) || string.IsNullOrWhiteSpace(taken.Done))
            return new(ClinicRefusal.WordsMissing, taken.Lot.Value);
        var awaiting = Of(taken.Lot).AwaitingAction.Select(run => run.Request);
        return taken.Controls.IsEmpty || !taken.Controls.ToHashSet().SetEquals(awaiting)
            ? new(ClinicRefusal.NothingToPutRight, taken.Lot.Value) : null;
    }

    /// <summary>Whether a judgement is no news: it does not come right after the latest one of its control.</summary>
    private bool IsOutdated(ControlRun run) => Of(run.Lot).RevisionOf(run.Request) != run.Revision
        || (run.Verdict == ControlVerdict.SetAside
            && LatestOf(run.Request) is null or { Verdict: ControlVerdict.SetAside });

    private ControlsState With(LotCode lot, Func<LotHistory, LotHistory> change) =>
        this with { Lots = Lots.SetItem(lot, change(Of(lot))) };

    private ImmutableArray<PresentTarget> With(PresentTarget target)
    {
        for (var at = 0; at < Targets.Length; at++)
            if (Targets[at].Assay == target.Assay && Targets[at].Control == target.Control)
                return Targets.SetItem(at, target);
        return Targets.Add(target);
    }
}
