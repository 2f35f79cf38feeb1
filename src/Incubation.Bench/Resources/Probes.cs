using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A probe that is expected to send what it measures in the incubator, by itself.</summary>
/// <param name="Probe">The program that sends it, by its key.</param>
/// <param name="Every">So often it should.</param>
/// <param name="Since">Since when that is expected.</param>
/// <param name="Heard">When it measured what it sent last; null where nothing has come since it is expected.</param>
public sealed record ExpectedProbe(DeviceId Probe, Duration Every, Instant Since, Instant? Heard)
{
    /// <summary>
    /// From when it counts as silent: when two in a row have not come. One message that is late or lost says nothing
    /// of the probe.
    /// </summary>
    public Instant SilentFrom => (Heard ?? Since) + (Every * MissedInARow);

    private const int MissedInARow = 2;

    /// <summary>Whether nothing between two times is a silence.</summary>
    internal static bool IsSilence(Instant from, Instant to, Duration every) => to - from >= every * MissedInARow;
}

/// <summary>Which probes a bench expects to hear from.</summary>
public static class Probes
{
    /// <summary>The shortest time between two measurements that can be expected.</summary>
    public static readonly Duration LeastEvery = Duration.FromMinutes(1);

    /// <summary>The longest.</summary>
    public static readonly Duration MostEvery = Duration.FromHours(24);

    /// <summary>No bench has more.</summary>
    public const int Most = 8;

    internal static Decision Expect(BenchState state, BenchCommand.ExpectProbe expect) =>
        expect.Every is { } every && (every < LeastEvery || every > MostEvery)
            ? Decisions.Refuse(Refusal.UnreadableLength)
        : expect.Every is not null && !state.Probes.Any(other => other.Probe == expect.Probe)
            && state.Probes.Length >= Most
            ? Decisions.Refuse(Refusal.TooManyProbes, Most.ToString(CultureInfo.InvariantCulture))
        : Decisions.Accept(new BenchEvent.ProbeExpected(expect.Probe, expect.Every));

    /// <summary>It is heard of anew from here: an interval that was changed is no silence.</summary>
    internal static BenchState Expected(BenchState state, BenchEvent.ProbeExpected expected, Instant at) =>
        state.InCheckpoint(bench => bench with
        {
            Probes =
            [
                .. bench.Probes.Where(other => other.Probe != expected.Probe)
                    .Concat(expected.Every is { } every ? [new ExpectedProbe(expected.Probe, every, at, null)] : [])
                    .OrderBy(one => one.Probe.Value, StringComparer.Ordinal),
            ],
        });

    /// <summary>Something came in from a device: a late message does not set a probe back.</summary>
    internal static BenchCheckpoint Heard(BenchCheckpoint bench, DeviceId device, Instant at) => bench with
    {
        Probes =
        [
            .. bench.Probes.Select(one => one.Probe == device && !(one.Heard >= at) ? one with { Heard = at } : one),
        ],
    };
}
