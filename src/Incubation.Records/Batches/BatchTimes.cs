using Incubation.Bench;
using Incubation.Model;
using Incubation.Model.StepTimes;
using Incubation.Records.Reports;
using NodaTime;

namespace Incubation.Records.Batches;

/// <summary>Keeps of a batch's plans what reports ask for, and tells its cartridges in times.</summary>
internal sealed class BatchTimes
{
    private readonly Dictionary<(RequestId, Type), Instant> plannedEnds = [];
    private readonly Dictionary<(RequestId, Type), Instant> latestBegins = [];
    private readonly HashSet<(RequestId, Type)> notKnown = [];
    private Instant? plannedEnd;
    private int? plannedCartridges;

    /// <summary>Takes a plan in that was adopted.</summary>
    /// <param name="adopted">The plan.</param>
    /// <param name="at">When.</param>
    /// <param name="isRunning">Whether the batch had been started.</param>
    public void Note(BenchEvent.PlanAdopted adopted, Instant at, bool isRunning)
    {
        var steps = adopted.Plan.Steps;
        for (var index = 0; index < steps.Count; index++)
        {
            var step = steps[index];
            if (step.Action.Subject is not { } request)
                continue;
            var key = (request, step.Action.GetType());
            plannedEnds[key] = step.End;
            // Planned again: it was not begun then.
            notKnown.Remove(key);
            // Of a step that begins now or has begun, a plan says no more how late it might have.
            if (step.Start > at && adopted.Spares[index] is { } spare)
                latestBegins[key] = step.Start + spare;
        }

        if (isRunning && plannedEnd is null && steps.Count > 0)
            (plannedEnd, plannedCartridges) = (steps.Max(step => step.End), steps.Select(step => step.Action.Subject)
                .OfType<RequestId>().Distinct().Count());
    }

    /// <summary>Takes in that a step was not known: when it is told, its length is none that anybody saw.</summary>
    public void Note(BenchEvent.StepNotKnown unknown)
    {
        if (unknown.Action.Subject is { } request)
            notKnown.Add((request, unknown.Action.GetType()));
    }

    /// <summary>Begins anew with the next batch.</summary>
    public void Forget()
    {
        notKnown.Clear();
        plannedEnds.Clear();
        latestBegins.Clear();
        (plannedEnd, plannedCartridges) = (null, null);
    }

    /// <summary>A cartridge in times.</summary>
    /// <param name="cartridge">As the record tells of it.</param>
    /// <param name="told">Its reports as they stand.</param>
    /// <param name="asked">Since when it waited.</param>
    public CartridgeTimes Of(CartridgeRecord cartridge, IReadOnlyList<ReportedStep> told, Instant asked)
    {
        var id = cartridge.Request;
        var load = Last<BenchEvent.Loaded>(told);
        var mix = Span<StepAction.Mix>(id, Last<BenchEvent.Mixed>(told));
        var loading = Span<StepAction.Load>(id, load);
        var move = Span<StepAction.Move>(id, Last<BenchEvent.ReadStarted>(told));
        var clear = Span<StepAction.Clear>(id, Last<BenchEvent.Cleared>(told));
        return new CartridgeTimes
        {
            Bench = cartridge.Bench,
            Batch = cartridge.Batch,
            Request = id,
            Asked = asked,
            Assay = cartridge.Assay,
            AssayVersion = cartridge.AssayVersion,
            Lot = cartridge.Lot,
            Kind = cartridge.Kind,
            Priority = cartridge.Priority,
            Standing = cartridge.Standing,
            Reason = cartridge.Reason,
            Mix = mix,
            Load = loading,
            Move = move,
            Clear = clear,
            Opens = cartridge.WindowOpens,
            Closes = cartridge.WindowCloses,
            ReadStart = cartridge.Read.To,
            InWindow = cartridge.InWindow,
            ResultAt = cartridge.ResultEntered.To,
            DiscardedAt = cartridge.Discard.To,
            Spare =
                Least([Kept<StepAction.Mix>(id, mix), Kept<StepAction.Load>(id, loading),
                    Kept<StepAction.Move>(id, move), Kept<StepAction.Clear>(id, clear)]),
            Slot = cartridge.Slot,
            Reader = cartridge.Reader,
        };
    }

    /// <summary>
    /// What the batch had and how long it was used; null while it was not started, or nothing was done.
    /// </summary>
    public BatchUse? Use(BenchState state, IReadOnlyList<CartridgeTimes> cartridges)
    {
        var steps = state.Story.Select(told => (told.Event, Span: SpanOf(told.Event)))
            .Where(step => step.Span is { Begun: not null, End: not null }).ToList();
        if (state.StartedAt is not { } from || steps.Count == 0)
            return null;
        var to = Instant.Max(from, steps.Max(step => step.Span.End!.Value));
        var used =
            steps.Select(step =>
                (step.Event, Length: StepLengths.AtTheStep(step.Span.Length!.Value, AllowedOf(state, step.Event))))
                .ToList();
        return new BatchUse(
            state.Id, state.Batch, from, to, state.Setup.Hands, state.Setup.Slots, state.Setup.Readers,
            Sum(used.Select(step => (Duration?)step.Length)),
            Sum(cartridges.Select(one => one.Slot is null
                ? null : (one.Move.Begun ?? one.DiscardedAt) - one.Load.Begun)),
            Sum(cartridges.Select(one => (one.Clear.End ?? one.DiscardedAt)
                - (one.Slot is null && one.Reader is not null ? one.Load.Begun : one.Move.Begun)))
                + Sum(used.Where(step => step.Event is BenchEvent.CardChanged).Select(step => (Duration?)step.Length)),
            plannedEnd, plannedCartridges, cartridges.Count(one => one.Standing != CartridgeStatus.Withdrawn));
    }

    private static T? Last<T>(IReadOnlyList<ReportedStep> told)
        where T : BenchEvent => told.Select(one => one.Event).OfType<T>().LastOrDefault();

    private StepSpan Span<T>(RequestId request, BenchEvent? done)
        where T : StepAction
    {
        var key = (request, typeof(T));
        var planned = !notKnown.Contains(key) && plannedEnds.TryGetValue(key, out var end) ? end : (Instant?)null;
        return (done is null ? default : SpanOf(done)) with { PlannedEnd = planned };
    }

    private static StepSpan SpanOf(BenchEvent done) => done switch
    {
        BenchEvent.Mixed mixed => new StepSpan(null, mixed.Begun, mixed.End.Latest),
        BenchEvent.Loaded loaded => new StepSpan(null, loaded.Begun, loaded.End.Latest),
        BenchEvent.ReadStarted started => new StepSpan(null, started.Begun, started.Start),
        BenchEvent.Cleared cleared => new StepSpan(null, cleared.Begun, cleared.End),
        BenchEvent.CardChanged changed => new StepSpan(null, changed.Begun, changed.End),
        BenchEvent.Discarded discarded => new StepSpan(null, discarded.Begun, discarded.End),
        _ => default,
    };

    private static Duration AllowedOf(BenchState state, BenchEvent done)
    {
        if (done is BenchEvent.CardChanged)
            return state.Setup.CardChange;
        var (request, length) = done switch
        {
            BenchEvent.Mixed mixed => (mixed.Request, (Func<Assay, Duration>)(assay => assay.Mix)),
            BenchEvent.Loaded loaded => (loaded.Request, assay => assay.Load),
            BenchEvent.ReadStarted started => (started.Request, assay => assay.Move),
            BenchEvent.Cleared cleared => (cleared.Request, assay => assay.Clear),
            BenchEvent.Discarded discarded => (discarded.Request, assay => assay.Clear),
            _ => throw new InvalidOperationException($"The event {done.GetType().Name} is no step of hands."),
        };
        return state.Find(request) is { } cartridge ? length(cartridge.Wanted.Assay) : Duration.Zero;
    }

    private Duration? Kept<T>(RequestId request, StepSpan span)
        where T : StepAction => span.Begun is { } begun
            && latestBegins.TryGetValue((request, typeof(T)), out var latest) ? latest - begun : null;

    private static Duration? Least(IEnumerable<Duration?> lengths) => lengths.Min();

    private static Duration Sum(IEnumerable<Duration?> lengths) =>
        lengths.Aggregate(Duration.Zero, (sum, length) => length > Duration.Zero ? sum.Longer(length.Value) : sum);
}
