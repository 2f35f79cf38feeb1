using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;

namespace Incubation.Bench;

/// <summary>
/// Several reports told together, after an absence or a lost hour: each is decided as if it had been told by itself, in
/// the order of their times, and all are recorded or none.
/// </summary>
internal static class SeveralDecisions
{
    public static Decision Decide(BenchState state, BenchCommand.Several several, Provenance said)
    {
        if (several.Reports.Count == 0)
            return Decisions.Refuse(Refusal.NothingTold);
        var entries = ImmutableArray.CreateBuilder<BenchEntry>();
        var present = state;
        foreach (var told in several.Reports.OrderBy(told => told.At))
        {
            var touch = said with { Id = NameOf(present, said.Id), At = told.At, Claimed = null };
            switch (LiveBench.Decide(present, AsStated(present, told, said), touch))
            {
                case Decision.Refused refused:
                    return refused with { Of = told };
                // A person has typed this time: where it cannot be, they are asked again.
                case Decision.Accepted accepted
                    when accepted.Events.Any(happened => happened is BenchEvent.TimeNotTaken):
                    return new Decision.Refused(Refusal.UnreadableTime) { Of = told };
                case Decision.Accepted accepted:
                    foreach (var entry in accepted.Entries(touch).Select(Unhurried))
                    {
                        entries.Add(entry);
                        present = LiveBench.Apply(present, entry);
                    }

                    break;
                default:
                    break;
            }
        }

        return new Decision.Accepted([.. entries.Select(entry => entry.Event)])
        {
            Touches = [.. entries.Select(entry => entry.Provenance)],
        };
    }

    /// <summary>
    /// The name of the next report: the first has the command's own, so that the same command again is known; each
    /// further one a number behind it.
    /// </summary>
    private static ReportId NameOf(BenchState state, ReportId command)
    {
        var name = command;
        for (var number = 2; state.Recorded.Contains(name); number++)
        {
            var behind = string.Create(CultureInfo.InvariantCulture, $"-{number}");
            name = new ReportId(
                command.Value[..Math.Min(command.Value.Length, TextId.MaximumLength - behind.Length)] + behind);
        }

        return name;
    }

    /// <summary>
    /// What is told, with its time as one that a person states. A read that began inside a window which has closed
    /// since is a word against the clock, and marked as such.
    /// </summary>
    private static BenchCommand AsStated(BenchState state, Told told, Provenance said) => told.What switch
    {
        BenchCommand.Mixed mixed => mixed with { TimeStated = true },
        BenchCommand.Loaded loaded => loaded with { TimeStated = true },
        BenchCommand.ReadStarted started when ReportTimes.IsStatedInTime(LiveBench.Readable(state), started.Request,
            told.At, said.At) => started with { StatedInTime = true },
        _ => told.What,
    };

    /// <summary>Somebody has just said when it was: nobody asks again because it was quick.</summary>
    private static BenchEntry Unhurried(BenchEntry entry) =>
        entry.Event is BenchEvent.StoryEvent happened && happened.DiffersIn.Contains(Deviation.TooQuick)
            ? entry with { Event = happened.Judged(happened.DiffersIn.Remove(Deviation.TooQuick)) } : entry;
}
