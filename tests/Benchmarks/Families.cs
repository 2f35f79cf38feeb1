using Incubation.Model;
using Incubation.TestKit;

namespace Incubation.Benchmarks;

/// <summary>Days of one kind, one for each seed.</summary>
/// <param name="Name">How the command line calls it.</param>
/// <param name="What">What it is, in words.</param>
/// <param name="Shape">What its days are like.</param>
/// <param name="FirstSeed">The seed of its first day; the others follow.</param>
internal sealed record Family(string Name, string What, MorningShape Shape, ulong FirstSeed)
{
    /// <summary>The first so many days, with their seeds.</summary>
    public IEnumerable<(ulong Seed, BenchDay Day)> Days(int count) =>
        Enumerable.Range(0, count).Select(index => FirstSeed + (ulong)index)
            .Select(seed => (seed, MorningDay.Make(seed, Shape)));
}

/// <summary>The families that are measured.</summary>
internal static class Families
{
    private static readonly int[] Sizes = [62, 125, 250, 500];
    private static readonly MorningShape Dozen = new(12, 8);

    /// <summary>A dozen and up to two dozen: compared with what the solver finds.</summary>
    public static IReadOnlyList<Family> Dozens { get; } =
    [
        new("dozen-8", "12 on 8 slots", Dozen, 100),
        new("dozen-4", "12 on 4 slots", Dozen with { Slots = 4 }, 200),
        new("dozen-narrow", "12, windows of 25 to 45 s", Dozen with { ShortestWindow = 25, LongestWindow = 45 }, 300),
        new("dozen-either", "12, either place", Dozen with { EitherShare = 70 }, 400),
        new("dozen-shortest", "12, shortest lengths 60 %", Dozen with { ShortestShare = 60 }, 500),
        new("dozen-wait", "12, waiting weighed", Dozen with { MaxWaitWeight = 50 }, 600),
    ];

    /// <summary>Sixteen to two dozen.</summary>
    public static IReadOnlyList<Family> TwoDozens { get; } =
    [
        new("controls-16", "16, controls first", new(16, 8, ControlsFirst: true), 700),
        new("day-24", "24 on 12 slots", new(24, 12), 800),
        new("day-24-two", "24, two hands, two readers", new(24, 12, 2, 2), 900),
    ];

    /// <summary>Large days: compared with the best that anyone finds in a long time.</summary>
    public static IReadOnlyList<Family> Large { get; } =
    [
        new("day-48", "48 on 16 slots", new(48, 16), 1000),
        new("day-96", "96 on 24, two hands, two readers", new(96, 24, 2, 2), 1100),
    ];

    /// <summary>All that are planned from the start of a day.</summary>
    public static IReadOnlyList<Family> All { get; } = [.. Dozens, .. TwoDozens, .. Large];

    /// <summary>Days on which the planner is to prove its plan: two to six requests.</summary>
    public static IEnumerable<(ulong Seed, BenchDay Day)> Small(int count) => Enumerable.Range(0, count).Select(index =>
    {
        var seed = 1200 + (ulong)index;
        return (seed, MorningDay.Make(seed, new(2 + (index % 5), 8)));
    });

    /// <summary>Two dozen in mid-run, six of them reacting: the day, the plan that was followed until then.</summary>
    public static IEnumerable<(ulong Seed, Interrupted Day)> Interrupted(int count) => Enumerable.Range(0, count)
        .Select(index =>
    {
        var seed = 1300 + (ulong)index;
        return (seed, Interruption.Of(MorningDay.Make(seed, new(24, 12)), 6, new SeededRandom(seed)));
    });

    /// <summary>Ever larger days on one bench, so many of each size.</summary>
    public static IEnumerable<(int Size, IReadOnlyList<BenchDay> Days)> Growing(int count) => Sizes.Select(size =>
        (size,
            (IReadOnlyList<BenchDay>)[.. Enumerable.Range(0, count)
                .Select(index => MorningDay.Make(1400 + (ulong)index, new(size, 24, 2, 2)))]));
}
