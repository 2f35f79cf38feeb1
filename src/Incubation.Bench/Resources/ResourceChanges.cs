using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// What events about hands, slots, readers, the incubator and the host's restarts do to the state.
/// </summary>
internal static class ResourceChanges
{
    /// <summary>The state after such an event.</summary>
    public static BenchState Apply(BenchState state, BenchEntry entry) => entry.Event switch
    {
        BenchEvent.PutOutOfUse put =>
            PutOut(PlanTroubleChanges.Without(state, put.Entry.Resource), put.Entry, entry.Provenance.At),
        BenchEvent.PutBackInUse put =>
            PutBack(PlanTroubleChanges.Without(state, put.Resource), put, entry.Provenance.At),
        BenchEvent.HandsChanged changed => HandsChanged(state, changed.Hands),
        BenchEvent.IncubatorSet set => state.InCheckpoint(bench => bench with { Incubator = set.Rule }),
        BenchEvent.TemperatureMeasured measured => Measured(state.InCheckpoint(bench =>
            Probes.Heard(bench, entry.Provenance.Device, entry.Provenance.At)), measured, entry.Provenance.At),
        BenchEvent.ProbeExpected expected => Probes.Expected(state, expected, entry.Provenance.At),
        BenchEvent.LabelsAsked asked => state.InCheckpoint(bench => bench with { Labels = asked.Demand }),
        BenchEvent.Restarted restarted => state.InRun(run => run with { Outage = restarted.Outage }),
        _ => throw new InvalidOperationException($"The event {entry.Event.GetType().Name} is of another kind."),
    };

    /// <summary>A new entry takes the place of one for the same thing that still holds.</summary>
    private static BenchState PutOut(BenchState state, CalendarEntry entry, Instant at) => state.InCheckpoint(bench =>
        // Hands that step away count as not having begun the step they were offered, unless they report it.
        (entry.Resource is BenchResource.Hands hands ? bench.Reported(hands.Number, at) : bench) with
        {
            OutOfUse = bench.OutOfUse
                .RemoveAll(other => other.To <= entry.From || other.Resource == entry.Resource)
                .Add(entry),
        });

    private static BenchState PutBack(BenchState state, BenchEvent.PutBackInUse put, Instant at) =>
        (put.Resource is BenchResource.Hands hands ? UnknownSteps.Heard(state, hands.Number, Instant.MaxValue) : state)
        .InCheckpoint(bench => bench with
        {
            OutOfUse = bench.OutOfUse.RemoveAll(entry => entry.To <= at || entry.Resource == put.Resource),
        });

    /// <summary>A plan with steps for hands that have left serves no more.</summary>
    private static BenchState HandsChanged(BenchState state, int hands)
    {
        var serves = state.Adopted is { } adopted
            && !adopted.Remaining.Any(row => row.Step.Hands is { } number && number.Value > hands);
        return state.InCheckpoint(bench => bench with { Setup = bench.Setup with { Hands = hands } })
            .InRun(run => run with { Adopted = serves ? run.Adopted : null });
    }

    private static BenchState Measured(BenchState state, BenchEvent.TemperatureMeasured measured, Instant at)
    {
        var reading = new TemperatureReading(measured.Value, at);
        if (measured.Outside)
        {
            var outside = state.InCheckpoint(bench => bench with
            {
                Temperature = reading,
                OutsideSince = bench.OutsideSince ?? at,
                InsideSince = null,
            });
            return measured.Marked.Aggregate(outside, (next, request) => BatchChanges.With(next, request, Marked));
        }

        var inside = state.InCheckpoint(bench => bench with
        {
            Temperature = reading,
            OutsideSince = null,
            InsideSince = bench.InsideSince ?? at,
        });
        return state.OutsideSince is null
            ? inside
            : inside.InRun(run => run with
            {
                Cartridges =
                    [.. run.Cartridges.Select(cartridge =>
                        cartridge with { OutsideFor = BenchResources.OutsideFor(state, cartridge, at) })],
            });
    }

    private static Cartridge Marked(Cartridge cartridge) => cartridge.Deviations.Contains(Deviation.TemperatureOutside)
        ? cartridge
        : cartridge with { Deviations = cartridge.Deviations.Add(Deviation.TemperatureOutside) };
}
