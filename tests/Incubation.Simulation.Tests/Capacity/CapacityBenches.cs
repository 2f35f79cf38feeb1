using Incubation.Model;
using Incubation.Simulation.Capacity;
using NodaTime;

namespace Incubation.Simulation.Tests.Capacity;

/// <summary>Benches and demands for tests of what a bench could do.</summary>
internal static class CapacityBenches
{
    public static readonly AssayCode Slow = new("S");
    private static readonly Duration Second = Duration.FromSeconds(1);

    /// <summary>A small bench with an assay of eight minutes, and a demand for eight hours.</summary>
    public static CapacityQuestion Small(double perHour, int hands = 1, int slots = 4, int readers = 1,
        double urgent = 0.2) => new(
        new BenchSetup(hands, slots, readers, Second * 25, Second * 15, 0), [Incubated], Of(perHour, 8, urgent));

    /// <summary>
    /// A single server: nothing takes any time but the clear, during which hands and reader are taken.
    /// </summary>
    public static CapacityQuestion OneServer(double perHour, double hours, RandomStepLengths times) => new(
        new BenchSetup(1, 0, 1, Duration.Zero, Duration.Zero, 1),
        [new Assay(Slow, "One step", IncubationPlace.Reader, Duration.Zero, Duration.FromHours(20), Duration.Zero,
            Duration.Zero, Duration.FromHours(20), Duration.Zero, Duration.Zero, Second * 60, Duration.Zero,
            Duration.Zero)],
        Of(perHour, hours, 0))
    { Times = times };

    public static Assay Incubated { get; } = new(
        Slow, "Eight minutes", IncubationPlace.Incubator, Second * 50, Second * 120, Second * 25, Second * 480,
            Second * 90, Second * 15, Second * 40, Second * 10, Second * 35, Second * 15);

    public static Demand Of(double perHour, double hours, double urgent)
    {
        var (open, close) = (Duration.FromHours(8), Duration.FromHours(8 + hours));
        return new Demand(open, close, urgent, [new DemandRate(Slow, open, close, perHour)]);
    }
}

/// <summary>Every step's length is exponential, with the allowed length for its mean.</summary>
internal sealed record ExponentialTimes : RandomStepLengths
{
    public override Duration Draw(Duration allowed, Random random) =>
        Duration.FromMilliseconds(Math.Round(-Math.Log(1 - random.NextDouble()) * allowed.TotalMilliseconds));

    public override Duration Mean(Duration allowed) => allowed;
}

/// <summary>Every step takes exactly what is allowed.</summary>
internal sealed record ExactTimes : RandomStepLengths
{
    public override Duration Draw(Duration allowed, Random random) => allowed;

    public override Duration Mean(Duration allowed) => allowed;
}
