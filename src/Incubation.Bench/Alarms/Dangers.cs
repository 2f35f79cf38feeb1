using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// From when a cartridge in work is in danger: by the last useful moments of the whole chain that saves it, and by what
/// the hands are believed to be at. Hands that are in time are on their way to it as the adopted plan has it, and no
/// alarm is raised for what they will come to in time.
/// </summary>
internal sealed class Dangers
{
    private static readonly Duration Moment = Duration.FromSeconds(1);
    private readonly BenchState state;
    private readonly LastMoments moments;
    private readonly ImmutableArray<RemainingStep> present;

    private readonly ImmutableArray<RemainingStep> stale;

    /// <param name="state">The bench.</param>
    /// <param name="moments">The last useful moments of what is in work.</param>
    /// <param name="stale">Rows that are kept back until a plan knows the last report.</param>
    public Dangers(BenchState state, LastMoments moments, ImmutableArray<RemainingStep> stale)
    {
        this.state = state;
        this.stale = stale;
        this.moments = moments;
        present = state is { Phase: BatchPhase.Running, Adopted: { } adopted }
            ? [.. state.Hands.Select(adopted.NextOf).OfType<RemainingStep>()] : [];
    }

    /// <summary>The last useful moments of a bench at an instant.</summary>
    public static LastMoments MomentsOf(BenchState state, ImmutableArray<RemainingStep> stale, Instant now) =>
        state is { Phase: BatchPhase.Running, Run.Trouble: null or { Works: true } }
            && state.Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.InWork)
            ? LastMoments.Of(BenchProblem.Of(state, now, notBegun: stale),
                [.. state.Run.GivenUp.Select(lost => lost.Request)])
            : LastMoments.None;

    /// <summary>What is known of a cartridge that waits for its load or move; null while hands are at that.</summary>
    public CartridgeMoments? Of(Cartridge cartridge) =>
        moments.For(cartridge.Id) is { } known && (cartridge.Phase is not CartridgePhase.Mixed
            || known.Acts.Count == 0 || known.Acts.Any(act => act.Action is StepAction.Load))
            ? known : null;

    /// <summary>
    /// Whether a cartridge that the adopted plan gives up may be saved all the same, by hands that are quicker than
    /// allowed.
    /// </summary>
    public bool MayBeSaved(Cartridge cartridge, Instant now) => Of(cartridge)?.TooLate >= now;

    /// <summary>
    /// From when the alarm of a cartridge stands: from when the hands have outstayed what they are at, but no sooner
    /// than one prompt ahead of the last useful moment, and no later than at it. While the hands are in time, their
    /// plan's own last moment counts where that is later.
    /// </summary>
    public Instant From(CartridgeMoments known, Instant beginBy)
    {
        var (planned, isPresent) = PlannedFirst(known);
        var overdue = Overdue(planned?.Step.Hands);
        var from = Instant.Max(beginBy - state.PromptAhead, overdue);
        var last = LastStart(planned, known) is { } plans ? Instant.Max(beginBy, plans + Moment) : beginBy;
        return isPresent && Progress.BegunAt(state, planned!) <= last ? from : Instant.Min(from, last);
    }

    /// <summary>
    /// The last moment of a cartridge's first row in the adopted plan, as far as that still holds; null without one.
    /// </summary>
    private static Instant? LastStart(RemainingStep? planned, CartridgeMoments known) =>
        planned is { Spare: { } spare } && known.AloneBy is { } alone
            ? Instant.Min(planned.Step.Start + spare, alone) : null;

    /// <summary>
    /// The first row of the adopted plan that serves to save a cartridge, and whether it is what its hands are to do
    /// now.
    /// </summary>
    private (RemainingStep? Row, bool IsPresent) PlannedFirst(CartridgeMoments known)
    {
        if (state.Adopted is not { } adopted)
            return (null, false);
        var row = known.Acts.Select(act => adopted.RowOf(act.Action)).FirstOrDefault(row => row is not null)
            ?? adopted.MoveOf(known.Request)
            ?? adopted.Remaining.FirstOrDefault(row => row.Step.Action is StepAction.Load load
                && load.Request == known.Request);
        return (row, row is not null && present.Contains(row));
    }

    /// <summary>
    /// When hands have outstayed what they are at: those that the plan has for the act, else whichever are first.
    /// </summary>
    private Instant Overdue(HandsNumber? hands)
    {
        var rows = present.Where(row => hands is null || row.Step.Hands == hands).ToList();
        return rows.Count == 0 ? Instant.MinValue : rows.Min(row => Progress.AllowedUntil(state, row)) + Moment;
    }

    /// <summary>
    /// Whether a mix or a load that these hands have not begun would keep them, by its allowed length, beyond the last
    /// useful moment of an act that is theirs.
    /// </summary>
    public bool IsKeptBack(RemainingStep row, Instant now)
    {
        if (row.Step.Action is not (StepAction.Mix or StepAction.Load)
            || (Progress.HasBegun(state, row, now) && !stale.Contains(row)))
            return false;
        var end = Instant.Max(now, Progress.BegunAt(state, row)) + Progress.Allowed(state, row.Step.Action);
        return moments.Cartridges.Any(other => other.IsSaved && other.Request != row.Step.Action.Subject
            && other.BeginBy < end && IsTheirs(other, row, end));
    }

    private bool IsTheirs(CartridgeMoments other, RemainingStep row, Instant end)
    {
        var planned = PlannedFirst(other).Row;
        return (planned is null || planned.Step.Hands == row.Step.Hands)
            && !(LastStart(planned, other) is { } last && last >= end);
    }

    /// <summary>By when an offered step must begin, where it is an act that saves a cartridge; else null.</summary>
    public Instant? BeginBy(StepAction action)
    {
        Instant? first = null;
        foreach (var act in moments.Cartridges.SelectMany(cartridge => cartridge.Acts))
            if (act.Action == action && (first is null || act.BeginBy < first))
                first = act.BeginBy;
        return first;
    }
}
