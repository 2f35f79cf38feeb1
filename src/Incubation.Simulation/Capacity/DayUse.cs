using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>
/// What a day's own record says of how long things were taken, and how many requests stood waiting or in work.
/// </summary>
internal static class DayUse
{
    /// <summary>How long resources were taken between two instants.</summary>
    public static Taken Of(IReadOnlyList<DoneStep> steps, Instant from, Instant to)
    {
        Duration hands = Duration.Zero, slots = Duration.Zero, readers = Duration.Zero;
        var inSlot = new Dictionary<RequestId, Instant>();
        var inReader = new Dictionary<RequestId, Instant>();
        Duration Within(Instant begin, Instant end) =>
            Duration.Max(Duration.Zero, Instant.Min(end, to) - Instant.Max(begin, from));
        foreach (var step in steps)
        {
            if (step.Hands is not null)
                hands += Within(step.Start, step.End);
            switch (step.Action)
            {
                case StepAction.Load { Place: CartridgePlace.InSlot } load:
                    inSlot[load.Request] = step.Start;
                    break;
                case StepAction.Load load:
                    inReader[load.Request] = step.Start;
                    break;
                case StepAction.Move move:
                    if (inSlot.Remove(move.Request, out var loaded))
                        slots += Within(loaded, step.Start);
                    inReader[move.Request] = step.Start;
                    break;
                case StepAction.Clear clear:
                    if (inReader.Remove(clear.Request, out var moved))
                        readers += Within(moved, step.End);
                    break;
                case StepAction.Discard discard:
                    if (inSlot.Remove(discard.Request, out var stayed))
                        slots += Within(stayed, step.End);
                    break;
                case StepAction.CardChange:
                    readers += Within(step.Start, step.End);
                    break;
            }
        }

        return new Taken(hands, slots, readers);
    }

    /// <summary>
    /// Requests waiting or in work, summed over time, in request-hours: one more with each that came, one less with
    /// each that the record says was taken out, thrown away or taken back.
    /// </summary>
    public static double InSystem(IEnumerable<Arrival> arrivals, IEnumerable<BenchEntry> entries, Instant midnight)
    {
        var changes = arrivals.Select(arrival => (At: midnight + arrival.At, Change: 1))
            .Concat(entries.Select(entry => entry.Event switch
        {
            BenchEvent.Cleared cleared => (At: cleared.End, Change: -1),
            BenchEvent.Discarded discarded => (At: discarded.End, Change: -1),
            BenchEvent.RequestWithdrawn => (entry.Provenance.At, Change: -1),
            _ => (entry.Provenance.At, Change: 0),
        })).OrderBy(change => change.At);
        var (sum, number, last) = (0.0, 0, midnight);
        foreach (var (at, change) in changes)
        {
            sum += number * (at - last).TotalHours;
            (number, last) = (number + change, at);
        }

        return number == 0 ? sum : throw new InvalidOperationException($"{number} requests of a day never left.");
    }
}
