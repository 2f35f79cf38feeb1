using System.Collections.Immutable;
using Incubation.Model;

namespace Incubation.Bench;

/// <summary>What else the log must hold of results when something is said of what happened.</summary>
internal static class ResultHolds
{
    /// <summary>The results that stay held, and the releases that end, by what was decided.</summary>
    public static IEnumerable<BenchEvent> Noted(BenchState state, BenchCommand command,
        ImmutableArray<BenchEvent> events, Provenance provenance)
    {
        // A plan says nothing of what happened, and is adopted more often than anything is said.
        if (command is BenchCommand.OfResult or BenchCommand.AdoptPlan || IsOfEntry(state, command)
            || !state.Cartridges.Any(one => one.AwaitsRelease || one.Status?.Released is not null))
            return [];
        var then = events.Aggregate(state, (before, happened) =>
            LiveBench.Apply(before, new BenchEntry(happened, provenance)));
        return KeptHeld(state, then, command, provenance).Concat(Ended(state, then, events));
    }

    /// <summary>
    /// The rule of what was entered and is held by what was entered or by what happened: it goes out by a supervisor's
    /// word about it and by nothing else that anybody says, be it a report, an answer, a look at the card, a correction
    /// or an undo. What would let it out leaves it held.
    /// </summary>
    private static IEnumerable<BenchEvent> KeptHeld(BenchState state, BenchState then, BenchCommand command,
        Provenance provenance)
    {
        return state.Cartridges.Where(one => one.AwaitsRelease
                && then.Find(one.Id) is { Result: not null, AwaitsRelease: false })
            .Select(one => provenance.Identity == Identity.Checked ? Kept(one.Id)
                : new BenchEvent.ResultNotChecked(one.Id, provenance.Sender));

        BenchEvent Kept(RequestId request) => command is BenchCommand.CorrectReport { At: { } to } correct
            ? new BenchEvent.ResultKeptHeld(request, state.Story.Find(told => told.Id == correct.Of)?.At, to)
            : new BenchEvent.ResultKeptHeld(request, null, null);
    }

    /// <summary>
    /// A release covers what was known when it was given. Where a cartridge differs now in something else, or differs
    /// still while a step of it, or a card before its read, was otherwise than was told then, or it is told that it
    /// reacted outside its temperature once more, its result waits again.
    /// </summary>
    private static IEnumerable<BenchEvent> Ended(BenchState state, BenchState then,
        ImmutableArray<BenchEvent> events) => state.Cartridges
        .Where(one => one.Status?.Released is not null
            && then.Find(one.Id) is { Status.Released: not null, Deviations: { IsEmpty: false } differs }
            && (differs.Except(one.Deviations).Any() || IsToldOtherwise(state, then, one.Id)
                || events.OfType<BenchEvent.TemperatureMeasured>().Any(measured => measured.Marked.Contains(one.Id))))
        .Select(one => new BenchEvent.ReleaseEnded(one.Id));

    /// <summary>Whether what was told of a cartridge is told otherwise, or more than that it was taken out.</summary>
    private static bool IsToldOtherwise(BenchState state, BenchState then, RequestId request)
    {
        var (before, after) = (Told(state, request), Told(then, request));
        return before.Except(after).Any() || after.Except(before).Any(told => told.Event is not BenchEvent.Cleared);
    }

    /// <summary>
    /// How its steps were told, and the cards before its read, whatever they differ in; in the order of time.
    /// </summary>
    private static List<(BenchEvent Event, string? Claimed)> Told(BenchState state, RequestId request)
    {
        var read = state.Story.FindLast(told => told.Subject == request && told.Event is BenchEvent.ReadStarted);
        return
        [
            .. state.Story.Where(told => told.Subject == request ? told.Event is not BenchEvent.Discarded
                    : told.Event is BenchEvent.CardChanged or BenchEvent.CardSeen && told.InOrder <= read?.InOrder)
                .Select(told => ((BenchEvent)told.Event.Judged([]), told.Claimed)),
        ];
    }

    /// <summary>
    /// Whether it takes back an entry, and no report: what was there before it waits as it did, and that the entry
    /// waited is remembered where it is undone.
    /// </summary>
    private static bool IsOfEntry(BenchState state, BenchCommand command) =>
        command is BenchCommand.Undo undo && !state.Story.Exists(told => told.Id == undo.Of);
}
