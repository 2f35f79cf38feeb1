using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Clinic.Assays;
using Incubation.Clinic.Connections;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.Panels;
using Incubation.Clinic.People;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Record;
using Incubation.Clinic.Stock;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic;

/// <summary>A refusal before it is an outcome.</summary>
internal sealed record ClinicObjection(ClinicRefusal Why, string Detail);

/// <summary>
/// What the clinic's log must remember to judge the next event. Immutable; made from events alone; reads no clock.
/// </summary>
public sealed record ClinicState
{
    /// <summary>A clinic whose stream is empty.</summary>
    public static ClinicState Empty { get; } = new();

    /// <summary>The clinic's zone; null while it has not been opened.</summary>
    public DateTimeZone? Zone { get; private init; }

    /// <summary>The name that people read; empty while it has not been opened.</summary>
    public string Name { get; private init; } = "";

    /// <summary>The names of its benches, in the order in which they were registered.</summary>
    public ImmutableArray<(BenchId Bench, string Name)> BenchNames { get; private init; } = [];

    /// <summary>The catalogue of assays.</summary>
    public AssaysState Assays { get; private init; } = AssaysState.Empty;

    /// <summary>Assays that are wanted together, by one name.</summary>
    public PanelsState Panels { get; private init; } = PanelsState.Empty;

    /// <summary>Its benches.</summary>
    public ImmutableHashSet<BenchId> Benches { get; private init; } = [];

    /// <summary>Every request that was ever taken, on any bench: an id is given once in a clinic.</summary>
    public ImmutableHashSet<RequestId> Requests { get; private init; } = [];

    /// <summary>Controls.</summary>
    public ControlsState Controls { get; private init; } = ControlsState.Empty;

    /// <summary>Comparisons of kit lots.</summary>
    public ComparisonsState Comparisons { get; private init; } = ComparisonsState.Empty;

    /// <summary>External proficiency testing.</summary>
    public ProficiencyState Proficiency { get; private init; } = ProficiencyState.Empty;

    /// <summary>Links to instruments, and what they sent.</summary>
    public InstrumentsState Instruments { get; private init; } = InstrumentsState.Empty;

    /// <summary>Destinations that are told of results and alarms.</summary>
    public ConnectionsState Connections { get; private init; } = ConnectionsState.Empty;

    /// <summary>Orders that come from elsewhere.</summary>
    public WorklistState Worklist { get; private init; } = WorklistState.Empty;

    /// <summary>Who may do what.</summary>
    public PeopleState People { get; private init; } = PeopleState.Empty;

    /// <summary>Which rows set the secrets in force, and whether they are sealed.</summary>
    public SecretsState Secrets { get; private init; } = SecretsState.Empty;

    /// <summary>Every lot.</summary>
    public StockState Stock { get; private init; } = StockState.Empty;

    /// <summary>Results amended after their batches had been closed.</summary>
    public AmendmentsState Amendments { get; private init; } = AmendmentsState.Empty;

    /// <summary>Reports that came after their batches had been closed.</summary>
    public LateReportsState LateReports { get; private init; } = LateReportsState.Empty;

    /// <summary>The last time that a person confirmed, or null.</summary>
    public ClinicEvent.ClockConfirmed? Clock { get; private init; }

    /// <summary>When a supervisor last looked at results that went out unchecked, or null.</summary>
    public Instant? UncheckedSeen { get; private init; }

    /// <summary>The row by which batches were erased last; 0 where none were.</summary>
    public long LastErasure { get; private init; }

    /// <summary>Every command recorded, so that a repeat is harmless.</summary>
    public ImmutableHashSet<ReportId> Recorded { get; private init; } = [];

    /// <summary>How many events made this state.</summary>
    public long Revision { get; private init; }

    /// <summary>The state after one more entry. Accepts every entry that was ever recorded.</summary>
    internal ClinicState Apply(ClinicEntry entry)
    {
        var next = this with { Revision = Revision + 1, Recorded = Recorded.Add(entry.Provenance.Id) };
        return entry.Event switch
        {
            ClinicEvent.ClinicOpened opened => next with
            {
                Zone = ZoneOf(opened.TimeZone) ?? DateTimeZone.Utc,
                Controls = Controls.In(ZoneOf(opened.TimeZone) ?? DateTimeZone.Utc),
                Secrets = Secrets.Apply(opened, next.Revision),
                Name = opened.Name,
            },
            ClinicEvent.AssayDrafted or ClinicEvent.AssayDraftDropped or ClinicEvent.AssayApproved =>
                next with { Assays = Assays.Apply(entry) },
            ClinicEvent.PanelSet or ClinicEvent.PanelRemoved => next with { Panels = Panels.Apply(entry) },
            ClinicEvent.BenchRegistered bench => next with
            {
                Benches = Benches.Add(bench.Bench),
                BenchNames = BenchNames.Add((bench.Bench, bench.Name)),
            },
            ClinicEvent.ClockConfirmed confirmed => next with { Clock = confirmed },
            ClinicEvent.UncheckedResultsSeen => next with { UncheckedSeen = entry.Provenance.At },
            ClinicEvent.ClosedResultAmended or ClinicEvent.ClosedResultReleased
                or ClinicEvent.ClosedResultQuestioned or ClinicEvent.ClosedTellingDue
                or ClinicEvent.ClosedResultTold or ClinicEvent.ClosedTellingWaived
                or ClinicEvent.AmendmentRuleSet or ClinicEvent.ClosedAmendmentProposed
                or ClinicEvent.ClosedAmendmentDecided =>
                next with { Amendments = Amendments.Apply(entry, next.Revision) },
            ClinicEvent.ReportedAfterClose or ClinicEvent.LateReportSettled =>
                next with { LateReports = LateReports.Apply(entry, next.Revision) },
            ClinicEvent.RecordErased => next with
            {
                LastErasure = next.Revision,
                Amendments = Amendments.Apply(entry, next.Revision),
                LateReports = LateReports.Apply(entry, next.Revision),
                Worklist = Worklist.Apply(entry, next.Revision),
                Connections = Connections.Apply(entry, next.Revision),
            },
            ClinicEvent.OrderReceived or ClinicEvent.OrderPlaced or ClinicEvent.OrderReturned
                or ClinicEvent.OrderCancelled or ClinicEvent.OrdersErased =>
                next with { Worklist = Worklist.Apply(entry, next.Revision) },
            ClinicEvent.RequestReceived request => next with { Requests = Requests.Add(request.Request.Id) },
            _ => next with
            {
                People = People.Apply(entry),
                Secrets = Secrets.Apply(entry.Event, next.Revision),
                Controls = Controls.Apply(entry),
                Comparisons = Comparisons.Apply(entry),
                Proficiency = Proficiency.Apply(entry),
                Instruments = Instruments.Apply(entry),
                Connections = Connections.Apply(entry, next.Revision),
                Stock = Stock.Apply(entry),
            },
        };
    }

    /// <summary>What speaks against an event of a touch, or null.</summary>
    internal ClinicObjection? Against(ClinicEvent @event, Provenance provenance) => @event switch
    {
        ClinicEvent.ClinicOpened opened => AgainstOpening(opened),
        _ when Zone is null => new(ClinicRefusal.ClinicNotOpen, ""),
        ClinicEvent.AssayDrafted or ClinicEvent.AssayDraftDropped or ClinicEvent.AssayApproved =>
            Assays.Against(@event, provenance),
        ClinicEvent.PanelSet or ClinicEvent.PanelRemoved => Panels.Against(@event, IsApproved),
        ClinicEvent.LotReceived lot => AgainstLot(lot),
        ClinicEvent.BenchRegistered bench => AgainstBench(bench),
        ClinicEvent.RequestReceived request => AgainstRequest(request, provenance.Arrived),
        ClinicEvent.ClosedResultAmended or ClinicEvent.ClosedResultReleased
            or ClinicEvent.ClosedResultQuestioned or ClinicEvent.ClosedTellingDue
            or ClinicEvent.ClosedResultTold or ClinicEvent.ClosedTellingWaived
            or ClinicEvent.AmendmentRuleSet or ClinicEvent.ClosedAmendmentProposed
            or ClinicEvent.ClosedAmendmentDecided => Amendments.Against(@event, Requests, provenance),
        ClinicEvent.ReportedAfterClose or ClinicEvent.LateReportSettled =>
            LateReports.Against(@event, Benches, Requests),
        ClinicEvent.OrderReceived or ClinicEvent.OrderPlaced or ClinicEvent.OrderReturned
            or ClinicEvent.OrderCancelled or ClinicEvent.OrdersErased =>
            Worklist.Against(@event, IsApproved, Benches, Requests, provenance.Arrived),
        ClinicEvent.RecordErased erased => RetentionRules.Against(erased, provenance, People.RetentionMonths, Zone!),
        _ => Stock.Against(@event, IsApproved) ?? People.Against(@event, Benches, DayOf(provenance))
            ?? Controls.Against(@event, IsApproved, Benches) ?? Comparisons.Against(@event, Stock)
            ?? Proficiency.Against(@event, IsApproved)
            ?? Instruments.Against(@event, Benches, provenance.Arrived)
            ?? Connections.Against(@event, Benches, Requests),
    };

    private LocalDate DayOf(Provenance provenance) => provenance.Arrived.InZone(Zone!).Date;

    private bool IsApproved(AssayCode code) => Assays.VersionsOf(code) > 0;

    private ClinicObjection? AgainstOpening(ClinicEvent.ClinicOpened opened) =>
        Zone is not null ? new(ClinicRefusal.ClinicAlreadyOpen, opened.Name)
        : string.IsNullOrWhiteSpace(opened.Name) ? new(ClinicRefusal.NameMissing, opened.Name)
        : ZoneOf(opened.TimeZone) is null ? new(ClinicRefusal.UnknownTimeZone, opened.TimeZone)
        : null;

    private ClinicObjection? AgainstLot(ClinicEvent.LotReceived lot) =>
        Assays.VersionsOf(lot.Assay) == 0 ? new(ClinicRefusal.UnknownAssay, lot.Assay.Value)
        : Stock.Find(StockKind.Kit, lot.Lot) is not null ? new(ClinicRefusal.LotAlreadyReceived, lot.Lot.Value)
        : null;

    private ClinicObjection? AgainstBench(ClinicEvent.BenchRegistered bench) =>
        string.IsNullOrWhiteSpace(bench.Name) ? new(ClinicRefusal.NameMissing, bench.Bench.Value)
        : Benches.Contains(bench.Bench) ? new(ClinicRefusal.BenchAlreadyRegistered, bench.Bench.Value)
        : null;

    private ClinicObjection? AgainstRequest(ClinicEvent.RequestReceived received, Instant arrived)
    {
        var request = received.Request;
        if (!Benches.Contains(received.Bench))
            return new(ClinicRefusal.UnknownBench, received.Bench.Value);
        if (Requests.Contains(request.Id))
            return new(ClinicRefusal.DuplicateRequest, request.Id.Value);
        if (received.AssayVersion < 1 || received.AssayVersion > Assays.VersionsOf(request.Assay))
            return new(ClinicRefusal.UnknownAssay, request.Assay.Value);
        var day = arrived.InZone(Zone!).Date;
        var stop = StockStop.Of(Stock, request.Lot, request.Assay, day)
            ?? (received.Particulars?.Control is { } control
                ? StockStop.OfControl(Stock, control.Lot, request.Assay, day) : null);
        return stop is null ? null : new(Refusal(stop), stop.Lot.Value);
    }

    private static ClinicRefusal Refusal(StockStop stop) => (stop.Kind, stop.Cause) switch
    {
        (StockKind.Kit, StockStopCause.NotIn) => ClinicRefusal.UnknownLot,
        (_, StockStopCause.OtherAssay) => ClinicRefusal.LotOfAnotherAssay,
        (_, StockStopCause.Expired) => ClinicRefusal.LotExpired,
        (_, StockStopCause.Quarantined) => ClinicRefusal.LotQuarantined,
        (_, StockStopCause.Finished) => ClinicRefusal.LotFinished,
        _ => ClinicRefusal.PartsOfAnotherLot,
    };

    private static DateTimeZone? ZoneOf(string id) => DateTimeZoneProviders.Tzdb.GetZoneOrNull(id);
}
