using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// What comes first where hands that count as at a step have not begun it. They may have been called away before it,
/// and come back within its allowed time: by its latest start it served, begun now it costs a cartridge, and nothing
/// but whoever looks can say which of the two it is.
/// </summary>
internal static class IfNotBegun
{
    /// <summary>A step that begins at its latest start is in time.</summary>
    private static readonly Duration Moment = Duration.FromMilliseconds(1);

    /// <summary>Once a latest start has passed, what begins too late to cost nothing is looked at as often.</summary>
    private static readonly Duration LookAgain = Duration.FromSeconds(5);

    /// <summary>
    /// The first act of the same hands that saves what beginning the row's step now would lose; null where it would
    /// lose nothing, or its latest start has not passed.
    /// </summary>
    public static StepAction? First(BenchState state, RemainingStep row, Instant? latestStart, Instant now)
    {
        if (!(latestStart < now) || row.Step.Hands is not { } hands || state.Run.Trouble is { Works: false }
            || !Progress.HasBegun(state, row, now))
            return null;
        ImmutableArray<RequestId> givenUp = [.. state.Run.GivenUp.Select(lost => lost.Request)];
        var waiting = LastMoments.Of(BenchProblem.Of(state, now, notBegun: [row]), givenUp);
        if (!waiting.Cartridges.Any(one => IsAnother(one, row) && one.IsSaved))
            return null;
        var begun = LastMoments.Of(
            BenchProblem.Of(ReportChanges.ReportedBy(state, hands, now), now, notBegun: []), givenUp);
        return waiting.Cartridges.Any(one => IsAnother(one, row) && one.IsSaved
                && begun.For(one.Request) is { IsSaved: false })
            ? waiting.Cartridges.SelectMany(one => one.Acts).Where(act => act.Hands == hands)
                .MinBy(act => act.BeginBy) is { } first && first.Action != row.Step.Action ? first.Action : null
            : null;
    }

    /// <summary>When that may change by time alone.</summary>
    public static Instant? ChangesAt(BenchState state, Offer offer, Instant now) =>
        offer.LatestStart is not { } latest || now < offer.MayBegin ? null
            : now <= latest ? latest + Moment
            : now <= latest + state.Setup.ReadGuard ? latest + state.Setup.ReadGuard + Moment
            : offer.IfNotBegun is null && now < offer.PlannedEnd ? now + LookAgain : null;

    private static bool IsAnother(CartridgeMoments one, RemainingStep row) => one.Request != row.Step.Action.Subject;
}
