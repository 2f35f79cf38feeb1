using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Steps that are told sooner than hands can have done them: a tap on the wrong button, or of a step that is still
/// being done. Such a report is recorded, its result is held, and a question asks when it was.
/// </summary>
public static class Quickness
{
    /// <summary>Below this part of its shortest length no step was ever done.</summary>
    private const double ImpossiblePart = 0.5;

    /// <summary>
    /// No assay states the shortest of a move or a clear. Of hands whose lengths vary by 0.3 (standard deviation over
    /// mean) and keep the allowed length 19 times in 20, one in twenty is quicker than two fifths of it.
    /// </summary>
    private const double ShortestPart = 0.4;

    /// <summary>The least that a mix, load, move or clear can take; zero for every other step.</summary>
    public static Duration Least(Assay assay, StepAction action)
    {
        ArgumentNullException.ThrowIfNull(assay);
        return ImpossiblePart * (action switch
        {
            StepAction.Mix => assay.MixShortest,
            StepAction.Load => assay.LoadShortest,
            StepAction.Move => ShortestPart * assay.Move,
            StepAction.Clear => ShortestPart * assay.Clear,
            _ => Duration.Zero,
        });
    }

    /// <summary>
    /// The deviation of a planned step that is told at an instant, or none. A begin is never tapped, so the earliest
    /// that it can have been counts: the same hands' previous report, the batch's start, or when the step was
    /// announced. Where the begin is not known (the step was not planned, was told before it could begin, or was done
    /// by hands that were to do something else) nothing is said.
    /// </summary>
    internal static ImmutableArray<Deviation> Of(BenchState state, StepAction action, Instant at)
    {
        if (state.Adopted?.RowOf(action) is not { Step.Hands: { } hands } row
            || (state.Setup.Hands > 1 && state.Adopted.NextOf(hands) != row)
            || action.Subject is not { } request || state.Find(request) is not { } cartridge
            || Progress.CanHaveBegunAt(state, row, at) is var begun && at < begun)
            return [];
        var since = begun - state.PromptAhead;
        foreach (var bound in new[] { state.StartedAt, state.LastReportOf(hands) })
            if (bound is { } known)
                since = Instant.Max(since, known);
        return at - since < Least(cartridge.Wanted.Assay, action) ? [Deviation.TooQuick] : [];
    }
}
