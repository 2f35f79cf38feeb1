using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Reports;
using NodaTime;

namespace Incubation.Records.Batches;

/// <summary>
/// Tells a bench's batches from its entries, one after the other, through the bench's own state: what is told of a
/// cartridge is what stands after every correction.
/// </summary>
internal sealed class BatchReader
{
    private readonly Dictionary<ReportId, Provenance> touches = [];
    private readonly Dictionary<(RequestId, Type), PlannedStep> planned = [];
    private readonly Dictionary<RequestId, int> corrections = [];
    private readonly Dictionary<RequestId, RecordedStep> results = [];
    private readonly Dictionary<RequestId, RecordedStep> releases = [];
    // Reports that entered a result, with what stood of it before; and what is known of who sent it.
    private readonly Dictionary<ReportId, (RequestId Of, RecordedStep? Before, (bool NotChecked, PersonId? By) Sent)>
        resultReports = [];
    private readonly Dictionary<RequestId, (bool NotChecked, PersonId? By)> sent = [];
    private readonly Dictionary<ReportId, BenchEvent.StoryEvent> undone = [];
    private readonly Dictionary<RequestId, Instant> requested = [];
    private readonly List<BenchEntry> happenings = [];
    private readonly BatchTimes times = new();
    private Provenance? started;

    /// <summary>Begins where a bench's state is known, before the first row of a batch.</summary>
    /// <param name="before">What the bench knew; null before the first row of the stream.</param>
    /// <param name="first">The first row of the batch.</param>
    public BatchReader(BenchCheckpoint? before, long first)
    {
        State = before is null ? null : BenchState.From(before, first - 1);
        Before = before;
        First = first;
    }

    /// <summary>What the bench knew before the present batch; null before the first row of the stream.</summary>
    public BenchCheckpoint? Before { get; private set; }

    /// <summary>The bench after the last entry that was taken in.</summary>
    public BenchState? State { get; private set; }

    /// <summary>The first row of the present batch.</summary>
    public long First { get; private set; }

    /// <summary>Takes an entry in; the whole batch where this closed it, else null.</summary>
    public BatchRecord? Take(BenchEntry entry)
    {
        touches[entry.Provenance.Id] = entry.Provenance;
        Note(entry);
        var before = State;
        State = LiveBench.Apply(before, entry);
        if (entry.Event is not BenchEvent.BatchClosed || before is null)
            return null;
        var record = Tell(before, entry.Provenance, State.Revision);
        Forget();
        return record;
    }

    /// <summary>The present batch as it stands; null before the bench was opened.</summary>
    public BatchRecord? Present() => State is null ? null : Tell(State, null, State.Revision);

    private BatchRecord Tell(BenchState bench, Provenance? closed, long last)
    {
        var state = LiveBench.Readable(bench);
        var told = state.Story.OrderBy(one => one.At).ToLookup(one => one.Subject);
        var plain = state.Cartridges.Select(cartridge => Of(state, cartridge, [.. told[cartridge.Id]])).ToList();
        ImmutableArray<CartridgeTimes> inTimes =
            [.. plain.Zip(state.Cartridges, (record, cartridge) =>
                times.Of(record, [.. told[cartridge.Id]], AskedOf(cartridge)))];
        ImmutableArray<CartridgeRecord> cartridges =
            [.. plain.Select((record, at) => record with
            {
                Timing = CartridgeTiming.Of(inTimes[at], state.Cartridges[at].Wanted.Request.Ready,
                    state.Cartridges[at].Wanted.Assay),
            })];
        return new BatchRecord(state.Batch, Before, First, last, state, started, closed, cartridges, [.. happenings],
            inTimes, times.Use(state, inTimes))
        {
            Undone = undone.ToImmutableDictionary(),
        };
    }

    /// <summary>Since when a cartridge waits: it is ready, and it is known.</summary>
    private Instant AskedOf(Cartridge cartridge)
    {
        var request = cartridge.Wanted.Request;
        return requested.TryGetValue(request.Id, out var at) ? Instant.Max(at, request.Ready) : request.Ready;
    }

    private void Forget()
    {
        touches.Clear();
        planned.Clear();
        corrections.Clear();
        results.Clear();
        releases.Clear();
        resultReports.Clear();
        sent.Clear();
        undone.Clear();
        requested.Clear();
        happenings.Clear();
        times.Forget();
        started = null;
        Before = BenchCheckpoint.Of(State!);
        First = State!.Revision + 1;
    }

    private void Note(BenchEntry entry)
    {
        switch (entry.Event)
        {
            case BenchEvent.PlanAdopted adopted:
                foreach (var step in adopted.Plan.Steps)
                    if (step.Action.Subject is { } request)
                        planned[(request, step.Action.GetType())] = step;
                times.Note(adopted, entry.Provenance.At, started is not null);
                return;
            case BenchEvent.StepNotKnown unknown:
                times.Note(unknown);
                return;
            case BenchEvent.RequestsAdded added:
                foreach (var wanted in added.Requests)
                    requested[wanted.Request.Id] = entry.Provenance.At;
                break;
            case BenchEvent.RequestsCarriedOver carried:
                foreach (var one in carried.Requests)
                    requested[one.Wanted.Request.Id] = entry.Provenance.At;
                break;
            case BenchEvent.RepeatOrdered:
                return;
            case BenchEvent.BatchStarted:
                started = entry.Provenance;
                break;
            case BenchEvent.IdentityNotChecked or BenchEvent.SentByAnother
                when resultReports.TryGetValue(entry.Provenance.Id, out var told):
                var of = told.Of;
                sent[of] = (sent.GetValueOrDefault(of).NotChecked || entry.Event is BenchEvent.IdentityNotChecked,
                    entry.Event is BenchEvent.SentByAnother another ? another.Sender : sent.GetValueOrDefault(of).By);
                break;
            case BenchEvent.ResultEntered result:
                resultReports[entry.Provenance.Id] = (result.Request, results.GetValueOrDefault(result.Request),
                    sent.GetValueOrDefault(result.Request));
                sent.Remove(result.Request);
                results[result.Request] = Step(entry.Provenance.At, entry.Provenance.At, null, entry.Provenance);
                return;
            case BenchEvent.ResultReleased released:
                releases[released.Request] = Step(entry.Provenance.At, entry.Provenance.At, null, entry.Provenance);
                break;
            case BenchEvent.ReportsRevised revised:
                foreach (var told in revised.Undone.Select(id => State?.Story.Find(told => told.Id == id)))
                    if (told is not null)
                        undone[told.Id] = told.Event;
                foreach (var report in revised.Undone.Concat(revised.Corrected.Select(correction => correction.Report))
                    .Distinct())
                    Count(report);
                break;
            case BenchEvent.ReportUndone back:
                Count(back.Report);
                if (resultReports.TryGetValue(back.Report, out var again))
                    (results[again.Of], sent[again.Of]) = (again.Before ?? RecordedStep.None, again.Sent);
                break;
            case BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted or BenchEvent.Cleared
                or BenchEvent.Discarded
                or BenchEvent.StepNotBegun or BenchEvent.SaidAgain or BenchEvent.AlarmAcknowledged
                or BenchEvent.BenchOpened or BenchEvent.BatchClosed
                or BenchEvent.CheckpointKept:
                return;
        }

        happenings.Add(entry);
    }

    /// <summary>
    /// A report as it stood before it was taken back or corrected says which cartridge that concerned.
    /// </summary>
    private void Count(ReportId report)
    {
        var subject = State?.Story.Find(told => told.Id == report)?.Subject
            ?? (State?.Undo is { Event: BenchEvent.ResultEntered result } undo && undo.Report == report
                ? result.Request : null);
        if (subject is { } request)
            corrections[request] = corrections.GetValueOrDefault(request) + 1;
    }

    private CartridgeRecord Of(BenchState state, Cartridge cartridge, List<ReportedStep> told)
    {
        var (request, assay) = (cartridge.Wanted.Request, cartridge.Wanted.Assay);
        T? Last<T>(out ReportId report)
            where T : BenchEvent
        {
            var last = told.LastOrDefault(one => one.Event is T);
            report = last?.Id ?? default;
            return last?.Event as T;
        }

        var mixed = Last<BenchEvent.Mixed>(out var mixReport);
        var loaded = Last<BenchEvent.Loaded>(out var loadReport);
        var read = Last<BenchEvent.ReadStarted>(out var readReport);
        var cleared = Last<BenchEvent.Cleared>(out var clearReport);
        var discarded = Last<BenchEvent.Discarded>(out var discardReport);
        var window = loaded?.Place is CartridgePlace.InSlot
            ? ReadWindow.Of(assay, state.Setup, loaded.End) : (ReadWindow?)null;
        var begun = mixed?.Begun ?? loaded?.Begun ?? read?.Start ?? cleared?.End ?? discarded?.End;
        var readStart = read?.Start ?? cleared?.ReadStartedByItself;
        var withoutValue = Fates.Find(state, cartridge);
        return new CartridgeRecord(
            state.Id, state.Batch, cartridge.Id, request.Specimen, assay.Code, assay.Name,
                cartridge.Wanted.AssayVersion, request.Lot, request.Kind, request.Priority,
            begun ?? state.StartedAt ?? requested.GetValueOrDefault(cartridge.Id, request.Ready), StandingOf(cartridge),
            Step(mixed?.Begun, mixed?.End.Latest, mixed?.Hands, TouchOf(mixReport),
                Planned<StepAction.Mix>(cartridge.Id)?.Start),
            Step(loaded?.End.Earliest, loaded?.End.Latest, loaded?.Hands, TouchOf(loadReport),
                Planned<StepAction.Load>(cartridge.Id)?.End),
            Step(readStart, readStart, read?.Hands, TouchOf(readReport), Planned<StepAction.Read>(cartridge.Id)?.Start),
            Step(cleared?.Begun, cleared?.End, cleared?.Hands, TouchOf(clearReport),
                Planned<StepAction.Clear>(cartridge.Id)?.Start),
            window?.Opens, window?.Closes,
            (loaded?.Place as CartridgePlace.InSlot)?.Slot.Value,
            (cleared?.Reader ?? read?.Reader ?? (loaded?.Place as CartridgePlace.InReader)?.Reader)?.Value,
            cartridge.ReadInWindow, [.. cartridge.Deviations.Distinct()], corrections.GetValueOrDefault(cartridge.Id),
            cartridge.Result,
            cartridge.Result is not null && results.TryGetValue(cartridge.Id, out var entered)
                ? entered : RecordedStep.None,
            Step(discarded?.End, discarded?.End, discarded?.Hands, TouchOf(discardReport),
                Planned<StepAction.Discard>(cartridge.Id)?.Start),
            (cartridge.Stage as CartridgeStage.Discarded)?.Reason,
                (cartridge.Stage as CartridgeStage.Discarded)?.InWords)
        {
            Marked = cartridge.Marked,
            Hold = cartridge.Use.Hold,
            Control = cartridge.Wanted.Facts?.Control,
            Released = cartridge.Status?.Released,
            Release = cartridge.Status?.Released is not null && releases.TryGetValue(cartridge.Id, out var release)
                ? release : RecordedStep.None,
            Amendments = cartridge.Status?.Earlier ?? [],
            Proposal = cartridge.Status?.Proposal,
            Declined = cartridge.Status?.Declined ?? [],
            HoldUnamended = HoldWith(cartridge, cartridge.Status?.Question),
            HoldOtherwise = HoldWith(cartridge, null),
            HoldsUnreleased = cartridge.Result is null ? [] : [.. ResultUse.HoldsOf(cartridge)
                .Where(hold => hold is not (ResultHold.ImpossibleValue or ResultHold.AmendmentWaits))],
            Kept = cartridge.Status?.Kept,
            EndedRelease = cartridge.Status?.EndedRelease,
            Out = cartridge.Status?.Out,
            Replaced = cartridge.Status?.Replaced ?? [],
            ShownIdentity = cartridge.Status?.Shown,
            Question = cartridge.Status is { Released: null, Question: { } question } ? question : null,
            Values = cartridge is { Result: { } present, Status: { } status }
                ? new ResultHistory(ResultValue.All(present, status)) : null,
            Telling = cartridge.Telling,
            Fate = withoutValue?.Fate,
            IsWithoutValue = withoutValue is not null,
            WaitsSince = cartridge.WaitsSince,
            FromBatch = cartridge.FromBatch,
            RepeatOf = cartridge.RepeatOf,
            First = cartridge.Status is { Earlier: [var earlier, ..] } ? earlier.Was : null,
            ResultNotChecked = cartridge.Result is not null && sent.GetValueOrDefault(cartridge.Id).NotChecked,
            WentOutNotChecked = cartridge is { Result: not null, Status.NotChecked: false }
                && sent.GetValueOrDefault(cartridge.Id).NotChecked,
            ResultSentBy = cartridge.Result is not null ? sent.GetValueOrDefault(cartridge.Id).By : null,
        };
    }

    /// <summary>What would hold its result if this were asked about it, and no amendment waited.</summary>
    private static ResultHold HoldWith(Cartridge cartridge, ValueQuestion? question) => ResultUse.Of(cartridge with
    {
        Status = cartridge.Status is { } entry ? entry with { Question = question, Proposal = null } : null,
    }).Hold;

    private static CartridgeStatus StandingOf(Cartridge cartridge) => cartridge.Stage switch
    {
        CartridgeStage.Waiting => CartridgeStatus.Waiting,
        CartridgeStage.InWork => CartridgeStatus.InWork,
        CartridgeStage.Astray => CartridgeStatus.InDoubt,
        CartridgeStage.Discarded => CartridgeStatus.Discarded,
        CartridgeStage.Withdrawn => CartridgeStatus.Withdrawn,
        _ when cartridge.ResultMissing => CartridgeStatus.ResultMissing,
        _ => cartridge.IsHeld ? CartridgeStatus.ResultHeld : CartridgeStatus.Done,
    };

    private Provenance? TouchOf(ReportId report) => report == default ? null : touches.GetValueOrDefault(report);

    private PlannedStep? Planned<T>(RequestId request)
        where T : StepAction => planned.GetValueOrDefault((request, typeof(T)));

    private static RecordedStep Step(Instant? from, Instant? to, HandsNumber? hands, Provenance? provenance,
        Instant? planned = null) =>
        from is null && planned is null
            ? RecordedStep.None : new RecordedStep(planned, from, to, hands, provenance?.Person, provenance?.Device);
}
