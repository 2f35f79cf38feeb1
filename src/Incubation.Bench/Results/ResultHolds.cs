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
        if (command is BenchCommand.OfResult || IsOfEntry(state, command)
            || !state.Cartridges.Any(one => one.AwaitsRelease || one.Status?.Released is not null))
            return [];
        var then = events.Aggregate(state, (before, happened) =>
            LiveBench.Apply(before, new BenchEntry(happened, provenance)));
        return KeptHeld(state, then, command, provenance).Concat(Ended(state, then));
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
    /// still while its mix, its load or its read was otherwise than was told then, its result waits again.
    /// </summary>
    private static IEnumerable<BenchEvent> Ended(BenchState state, BenchState then) => state.Cartridges
        .Where(one => one.Status?.Released is not null
            && then.Find(one.Id) is { Status.Released: not null, Deviations: { IsEmpty: false } differs }
            && (differs.Except(one.Deviations).Any() || !Told(state, one.Id).SequenceEqual(Told(then, one.Id))))
        .Select(one => new BenchEvent.ReleaseEnded(one.Id));

    /// <summary>How its mix, load and read were told, whatever they differ in.</summary>
    private static IEnumerable<(BenchEvent, string?)> Told(BenchState state, RequestId request) => state.Story
        .Where(told => told.Subject == request
            && told.Event is BenchEvent.Mixed or BenchEvent.Loaded or BenchEvent.ReadStarted)
        .Select(told => ((BenchEvent)told.Event.Judged([]), told.Claimed));

    /// <summary>
    /// Whether it takes back an entry, and no report: what was there before it waits as it did, and that the entry
    /// waited is remembered where it is undone.
    /// </summary>
    private static bool IsOfEntry(BenchState state, BenchCommand command) =>
        command is BenchCommand.Undo undo && !state.Story.Exists(told => told.Id == undo.Of);
}
