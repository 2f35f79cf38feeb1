using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Clinic.Reports;

/// <summary>A cartridge whose work is over: read and taken out, or thrown away.</summary>
/// <param name="Request">Which.</param>
/// <param name="Kind">Patient or control.</param>
/// <param name="Ready">From when its specimen could be worked on.</param>
/// <param name="End">When it was taken out of the reader, or thrown away.</param>
/// <param name="IsDiscarded">Whether it was thrown away.</param>
/// <param name="InWindow">Whether its read started inside the window; null where it was never read.</param>
public sealed record FinishedCartridge(RequestId Request, RequestKind Kind, Instant Ready, Instant End,
    bool IsDiscarded, bool? InWindow);

/// <summary>What a batch has done, and what was planned for it at first.</summary>
/// <param name="Finished">Cartridges whose work is over.</param>
/// <param name="Planned">When each cartridge was to be taken out by the first plan that had it.</param>
public sealed record BatchTally(ImmutableArray<FinishedCartridge> Finished,
    ImmutableDictionary<RequestId, Instant> Planned)
{
    /// <summary>Nothing done and nothing planned.</summary>
    public static BatchTally Nothing { get; } = new([], ImmutableDictionary<RequestId, Instant>.Empty);

    /// <summary>A batch that was recorded.</summary>
    /// <param name="before">The bench before its first entry; null where that opened the bench.</param>
    /// <param name="entries">Its entries in order.</param>
    public static BatchTally Of(BenchState? before, IEnumerable<BenchEntry> entries)
    {
        var (state, tally) = (before, Nothing);
        foreach (var entry in entries)
        {
            if (entry.Event is BenchEvent.BatchClosed)
                break;
            state = LiveBench.Apply(state, entry);
            if (entry.Event is BenchEvent.PlanAdopted adopted)
                tally = tally.WithPlan(adopted.Plan);
        }

        return state is null ? tally : tally.With(state);
    }

    /// <summary>
    /// As a bench stands: what is finished is read from it, and what its plan has for the first time is noted.
    /// </summary>
    public BatchTally With(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        var tally = state.Adopted is { } adopted ? WithPlan(adopted.Plan) : this;
        return tally with { Finished = [.. state.Cartridges.Select(FinishOf).OfType<FinishedCartridge>()] };
    }

    private BatchTally WithPlan(Plan plan)
    {
        var planned = Planned;
        foreach (var step in plan.Steps)
            if (step.Action is StepAction.Clear clear && !planned.ContainsKey(clear.Request))
                planned = planned.Add(clear.Request, step.End);
        return ReferenceEquals(planned, Planned) ? this : this with { Planned = planned };
    }

    private static FinishedCartridge? FinishOf(Cartridge cartridge)
    {
        var request = cartridge.Wanted.Request;
        return cartridge.Stage switch
        {
            CartridgeStage.Cleared cleared =>
                new(request.Id, request.Kind, request.Ready, cleared.End, false, cartridge.ReadInWindow),
            CartridgeStage.Discarded discarded =>
                new(request.Id, request.Kind, request.Ready, discarded.End, true, cartridge.ReadInWindow),
            _ => null,
        };
    }
}

/// <summary>A clinic's day so far, over all its benches.</summary>
/// <param name="ClearedLastHour">Cartridges read and taken out in the last 60 minutes.</param>
/// <param name="PlannedLastHour">Cartridges that were to be taken out in those 60 minutes by the first plan that had
/// them.</param>
/// <param name="Results">Patients' cartridges read and taken out today.</param>
/// <param name="MedianToResult">Half of them took no longer than this from when the specimen could be worked on until
/// they were taken out; null without any.</param>
/// <param name="NinetiethToResult">Nine tenths of them took no longer than this.</param>
/// <param name="ReadInWindow">Reads of today that started inside the window.</param>
/// <param name="Reads">All reads of today.</param>
/// <param name="Discarded">Cartridges thrown away today.</param>
/// <param name="UrgentWaiting">Urgent requests that are not cleared.</param>
/// <param name="UrgentSince">Since when the longest waiting of them could be worked on; null where none waits.</param>
/// <param name="Late">Requests whose due time has passed.</param>
/// <param name="Finish">When the last cartridge of the running batches is to be taken out by their plans; null where
/// nothing is left.</param>
public sealed record ClinicDay(
    int ClearedLastHour,
    int PlannedLastHour,
    int Results,
    Duration? MedianToResult,
    Duration? NinetiethToResult,
    int ReadInWindow,
    int Reads,
    int Discarded,
    int UrgentWaiting,
    Instant? UrgentSince,
    int Late,
    Instant? Finish)
{
    private const double Half = 0.5;
    private const double NineTenths = 0.9;
    private static readonly Duration LastHour = Duration.FromHours(1);

    /// <summary>The day as it stands. Percentiles as <see cref="Percentile.Of"/>.</summary>
    /// <param name="batches">Every batch that was worked on since the day began, the running ones too.</param>
    /// <param name="present">Every bench as it stands.</param>
    /// <param name="begins">When the day began.</param>
    /// <param name="now">The present instant.</param>
    public static ClinicDay Of(IReadOnlyCollection<BatchTally> batches, IReadOnlyCollection<BenchState> present,
        Instant begins, Instant now)
    {
        var finished = batches.SelectMany(batch => batch.Finished).Where(one => one.End >= begins && one.End <= now)
            .ToList();
        var cleared = finished.Where(one => !one.IsDiscarded).ToList();
        var toResult = cleared.Where(one => one.Kind == RequestKind.Patient)
            .Select(one => (one.End - one.Ready).TotalSeconds).Order().ToList();
        var reads = finished.Where(one => one.InWindow is not null).ToList();
        var totals = present.Select(state => LiveBench.Totals(state, now)).ToList();
        return new ClinicDay(
            cleared.Count(one => one.End > now - LastHour),
            batches.SelectMany(batch => batch.Planned.Values).Count(end => end > now - LastHour && end <= now),
            toResult.Count,
            toResult.Count == 0 ? null : Duration.FromSeconds(Percentile.Of(toResult, Half)),
            toResult.Count == 0 ? null : Duration.FromSeconds(Percentile.Of(toResult, NineTenths)),
            reads.Count(one => one.InWindow == true),
            reads.Count,
            finished.Count(one => one.IsDiscarded),
            totals.Sum(total => total.UrgentWaiting),
            totals.Select(total => total.UrgentSince).Min(),
            totals.Sum(total => total.LateNow),
            present.Zip(totals)
                .Where(one => one.First is { Phase: BatchPhase.Running, Adopted.Remaining.IsEmpty: false })
                .Select(one => one.Second.Finish).Max());
    }
}
