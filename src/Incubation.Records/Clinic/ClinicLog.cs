using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Assays;
using Incubation.Clinic.Panels;
using Incubation.Clinic.Connections;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Record;
using Incubation.Clinic.Stock;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Connections;
using Incubation.Records.Log;
using Incubation.Records.Stock;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Clinic;

/// <summary>
/// The one writer of the clinic's stream: judges each command by the stream, appends what it accepts and brings the
/// tables along in the same transaction. May be used from any thread; one per data file.
/// </summary>
public sealed class ClinicLog
{
    private readonly DataFile file;
    private readonly Lock oneCommand = new();
    // Immutable: readers take it as it is, and never wait for a flush to the disk.
    private volatile ClinicState state = ClinicState.Empty;

    private ClinicLog(DataFile file) => this.file = file;

    /// <summary>
    /// Replays the clinic's stream, verifying it, and makes its tables anew where they do not fit. Throws
    /// <see cref="LogBrokenException"/> or <see cref="UnreadableEventException"/>.
    /// </summary>
    public static ClinicLog Open(DataFile file)
    {
        var log = new ClinicLog(file);
        foreach (var entry in log.Entries())
            log.state = LiveClinic.Apply(log.state, entry);
        bool current;
        using (var context = file.Read())
            current = ClinicProjection.IsAt(context, log.state.Revision);
        if (!current)
            log.RebuildProjections();
        UseProjection.Bring(file);
        NoticeProjection.Bring(file);
        return log;
    }

    /// <summary>Whether the clinic has been opened, which is its stream's first event.</summary>
    public bool IsOpen => state.Zone is not null;

    /// <summary>The clinic after its last event.</summary>
    internal ClinicState State => state;

    /// <summary>Who may do what.</summary>
    public PeopleState People => state.People;

    /// <summary>Which rows set the secrets in force, and whether they are sealed.</summary>
    public SecretsState Secrets => state.Secrets;

    /// <summary>Every lot.</summary>
    public StockState Stock => state.Stock;

    /// <summary>Every request that was ever taken, on any bench: an id is given once in a clinic.</summary>
    public ImmutableHashSet<RequestId> Requests => state.Requests;

    /// <summary>Whether a command of that name was recorded.</summary>
    public bool HasRecorded(ReportId report) => state.Recorded.Contains(report);

    /// <summary>The catalogue of assays.</summary>
    public AssaysState Assays => state.Assays;

    /// <summary>Assays that are wanted together, by one name.</summary>
    public PanelsState Panels => state.Panels;

    /// <summary>Controls.</summary>
    public ControlsState Controls => state.Controls;

    /// <summary>Comparisons of kit lots.</summary>
    public ComparisonsState Comparisons => state.Comparisons;

    /// <summary>External proficiency testing.</summary>
    public ProficiencyState Proficiency => state.Proficiency;

    /// <summary>Links to instruments, and what they sent.</summary>
    public InstrumentsState Instruments => state.Instruments;

    /// <summary>Destinations that are told of results and alarms.</summary>
    public ConnectionsState Connections => state.Connections;

    /// <summary>Orders that come from elsewhere.</summary>
    public WorklistState Worklist => state.Worklist;

    /// <summary>Results amended after their batches had been closed.</summary>
    public AmendmentsState Amendments => state.Amendments;

    /// <summary>Reports that came after their batches had been closed.</summary>
    public LateReportsState LateReports => state.LateReports;

    /// <summary>
    /// A cartridge of a closed batch, as its batch's own rows tell of it, with its result as it stands after later
    /// amendments, releases and tellings; the first one is kept.
    /// </summary>
    public CartridgeRecord Amended(CartridgeRecord closed)
    {
        ArgumentNullException.ThrowIfNull(closed);
        var now = state;
        return ClosedResult.Of(closed, now.Amendments, now.Assays.ResultRuleOf(closed.Assay, closed.AssayVersion));
    }

    /// <summary>The last time that a person confirmed while the clock was in doubt, or null.</summary>
    public ClinicEvent.ClockConfirmed? ClockConfirmed => state.Clock;

    /// <summary>When a supervisor last looked at results that went out unchecked, or null.</summary>
    public Instant? UncheckedSeen => state.UncheckedSeen;

    /// <summary>The row by which batches were erased last; 0 where none were.</summary>
    public long LastErasure => state.LastErasure;

    /// <summary>Something was recorded; on the thread that recorded it, after it is in force.</summary>
    public event Action? Changed;

    /// <summary>How many events the stream has.</summary>
    public long Revision => state.Revision;

    /// <summary>The entries of the clinic's stream in order, verified; the n-th one has sequence n.</summary>
    /// <param name="after">Leave the entries up to this sequence out; 0 for none.</param>
    public IEnumerable<ClinicEntry> Entries(long after = 0) => file.Log.ReadAll(StreamName.Clinic, after)
        .Select(EntryOf);

    /// <summary>The entry in a verified row.</summary>
    public static ClinicEntry EntryOf(LogRow row) =>
        new(row.Payload is null ? ClinicEvent.Erased : ClinicEvents.Registry.Decode(row), Provenances.Of(row.Header));

    /// <summary>Records one event.</summary>
    public ClinicOutcome Record(ClinicEvent @event, Provenance provenance) => Record([@event], provenance);

    /// <summary>
    /// Records the events of one command, all or none; each is judged with those before it already in force. When this
    /// returns <see cref="ClinicOutcome.Recorded"/> they are on the disk. Throws <see cref="AppendException"/> when the
    /// file could not take them.
    /// </summary>
    /// <param name="events">The events, at least one.</param>
    /// <param name="provenance">Who says so, when, through what; its id makes a repeat harmless.</param>
    public ClinicOutcome Record(IReadOnlyList<ClinicEvent> events, Provenance provenance) =>
        Record(events, provenance, null);

    /// <summary>
    /// Records what is said of a closed batch's result; what destinations are told by it is recorded with it.
    /// </summary>
    /// <param name="shown">The cartridge with its result as it stands.</param>
    /// <param name="events">The events, at least one.</param>
    /// <param name="provenance">Who says so, when, through what.</param>
    public ClinicOutcome RecordOfClosed(CartridgeRecord shown, IReadOnlyList<ClinicEvent> events,
        Provenance provenance)
    {
        ArgumentNullException.ThrowIfNull(shown);
        ArgumentNullException.ThrowIfNull(events);
        var now = state;
        if (LiveClinic.Decide(now, events, provenance) is not ClinicDecision.Accepted accepted)
            return Record(events, provenance);
        var next = accepted.Events.Aggregate(now, (before, @event) =>
            LiveClinic.Apply(before, new ClinicEntry(@event, provenance)));
        var after = ClosedResult.Of(shown, next.Amendments,
            next.Assays.ResultRuleOf(shown.Assay, shown.AssayVersion));
        return OutwardStanding.NewsOf(OutwardOf(shown), OutwardOf(after)) is { } news
            ? Record([.. events, new ClinicEvent.ResultNoticed(shown.Bench, shown.Batch, shown.Request, news)],
                provenance)
            : Record(events, provenance);
    }

    private static OutwardStanding OutwardOf(CartridgeRecord one) =>
        OutwardStanding.Of(one.Kind, one.Hold, one.Result, !one.Amendments.IsDefaultOrEmpty);

    /// <summary>As above; what <paramref name="beside"/> writes goes into the same transaction.</summary>
    internal ClinicOutcome Record(IReadOnlyList<ClinicEvent> events, Provenance provenance,
        Action<RecordsContext>? beside)
    {
        ArgumentOutOfRangeException.ThrowIfZero(events.Count, nameof(events));
        ClinicOutcome outcome;
        lock (oneCommand)
        {
            outcome = LiveClinic.Decide(state, events, provenance) switch
            {
                ClinicDecision.Accepted accepted => Recorded(accepted, provenance, beside),
                ClinicDecision.Refused refused => new ClinicOutcome.Refused(refused.Why, refused.Detail),
                _ => new ClinicOutcome.AlreadyRecorded(),
            };
        }

        if (outcome is ClinicOutcome.Recorded)
            Changed?.Invoke();
        if (outcome is ClinicOutcome.Recorded
            && events.Any(one => one is ClinicEvent.ResultNoticed or ClinicEvent.AlarmNoticed))
            file.TellNoticesAdded();
        return outcome;
    }

    private ClinicOutcome.Recorded Recorded(ClinicDecision.Accepted accepted, Provenance provenance,
        Action<RecordsContext>? beside)
    {
        var head = Append(accepted.Events, provenance, beside);
        state = accepted.Events.Aggregate(state, (before, @event) =>
            LiveClinic.Apply(before, new ClinicEntry(@event, provenance)));
        return new ClinicOutcome.Recorded(head);
    }

    /// <summary>Makes the clinic's tables anew from its stream, in one transaction.</summary>
    public void RebuildProjections()
    {
        lock (oneCommand)
        {
            file.Write(StreamName.Clinic, context =>
            {
                ClinicProjection.Clear(context);
                var sequence = 0L;
                foreach (var entry in Entries())
                    ClinicProjection.Apply(context, entry, ++sequence);
                ClinicProjection.MoveTo(context, sequence);
                return sequence;
            });
        }
    }

    private LogHead Append(IReadOnlyList<ClinicEvent> events, Provenance provenance, Action<RecordsContext>? beside)
    {
        var before = state.Revision;
        return file.Log.Append(
            StreamName.Clinic,
            before,
            [.. events.Select(@event => new NewRow(ClinicEvents.Registry.Encode(@event), provenance))],
            context =>
            {
                Project(context, events, provenance, before);
                NoticeProjection.Add(context, file.Seal, [.. events.Select((@event, at) =>
                    NoticeProjection.RowOf(new ClinicEntry(@event, provenance), before + at + 1))
                    .OfType<NoticeRow>()]);
                beside?.Invoke(context);
            });
    }

    private static void Project(RecordsContext context, IReadOnlyList<ClinicEvent> events, Provenance provenance,
        long sequence)
    {
        foreach (var @event in events)
            ClinicProjection.Apply(context, new ClinicEntry(@event, provenance), ++sequence);
        ClinicProjection.MoveTo(context, sequence);
    }
}
