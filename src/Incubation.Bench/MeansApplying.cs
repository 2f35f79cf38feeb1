using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What events about a bench's means, its incubator and its host do to the state.</summary>
internal static class MeansApplying
{
    /// <summary>The state after such an event; null where the event is of another kind.</summary>
    public static BenchState? Of(BenchState state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.PutOutOfUse put => PutOut(state, put.Entry, entry.Touch.At),
        BenchEvent.PutBackInUse put => PutBack(state, put, entry.Touch.At),
        BenchEvent.HandsChanged changed => HandsChanged(state, changed.Hands),
        BenchEvent.IntakePaused => state with { IntakePaused = true },
        BenchEvent.IntakeResumed => state with { IntakePaused = false },
        BenchEvent.ReadyChanged changed => Applying.With(state, changed.Request, c => c with
        {
            HeldBack = changed.Ready is null,
            Wanted = changed.Ready is { } ready ? c.Wanted with { Request = c.Wanted.Request with { Ready = ready } } : c.Wanted,
        }),
        BenchEvent.DiscardAsked asked => Applying.With(state, asked.Request, c => c with { MustGo = asked.Reason }),
        BenchEvent.IncubatorSet set => state with { Incubator = set.Rule },
        BenchEvent.TemperatureMeasured measured => Measured(state, measured, entry.Touch.At),
        BenchEvent.LotGateSet set => LotGates.Apply(state, set, entry.Touch.At),
        BenchEvent.ReadinessConfirmed confirmed => Readiness.Apply(state, confirmed, entry.Touch.Person),
        BenchEvent.Restarted restarted => state with { Outage = restarted.Outage },
        _ => null,
    };

    /// <summary>A new entry takes the place of one for the same thing that still holds.</summary>
    private static BenchState PutOut(BenchState state, CalendarEntry entry, Instant at) => state with
    {
        // Hands that step away have not begun what they were offered, unless they report it.
        LastReport = entry is { Resource: CalendarResource.Hands, Number: { } hands } ? state.LastReport.SetItem(hands, at) : state.LastReport,
        OutOfUse = state.OutOfUse
            .RemoveAll(other => other.To <= entry.From || (other.Resource == entry.Resource && other.Number == entry.Number))
            .Add(entry),
    };

    private static BenchState PutBack(BenchState state, BenchEvent.PutBackInUse put, Instant at) => state with
    {
        OutOfUse = state.OutOfUse.RemoveAll(entry => entry.To <= at || (entry.Resource == put.Resource && entry.Number == put.Number)),
    };

    /// <summary>A plan with steps for hands that have left serves no more.</summary>
    private static BenchState HandsChanged(BenchState state, int hands) => state with
    {
        Setup = state.Setup with { Hands = hands },
        Adopted = state.Adopted is { } adopted && adopted.Remaining.Any(row => row.Step.Hands is { } number && number.Value > hands) ? null : state.Adopted,
    };

    private static BenchState Measured(BenchState state, BenchEvent.TemperatureMeasured measured, Instant at)
    {
        var next = state with { Temperature = new TemperatureReading(measured.Value, at) };
        if (measured.Outside)
        {
            foreach (var request in measured.Marked)
                next = Applying.With(next, request, Marked);
            return next with { OutsideSince = state.OutsideSince ?? at, InsideSince = null };
        }

        next = next with { InsideSince = state.InsideSince ?? at };
        if (state.OutsideSince is null)
            return next;
        return next with
        {
            OutsideSince = null,
            Cartridges = [.. state.Cartridges.Select(cartridge => cartridge with { OutsideFor = Means.OutsideFor(state, cartridge, at) })],
        };
    }

    private static Cartridge Marked(Cartridge cartridge) => cartridge.Deviations.Contains(Deviation.TemperatureOutside)
        ? cartridge
        : cartridge with { Deviations = cartridge.Deviations.Add(Deviation.TemperatureOutside) };
}
