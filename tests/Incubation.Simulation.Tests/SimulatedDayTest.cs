using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using Xunit;

namespace Incubation.Simulation.Tests;

public sealed class SimulatedDayTest
{
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);

    public static TheoryData<ulong> Seeds => [.. Enumerable.Range(1, 12).Select(i => (ulong)i)];

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Run_WithLognormalHands_EndsEveryCartridgeReadOrDiscarded(ulong seed)
    {
        var run = Play(seed, new RandomStepLengths());
        Assert.All(run.State.Cartridges, c => Assert.True(c.IsOver));
        Assert.Equal(12, run.Summary.ReadInWindow + run.Summary.ReadOutside + run.Summary.Discarded);
        Assert.Equal(0, run.Summary.ReadOutside);
    }

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Run_WithHandsThatKeepTheirAllowedTimes_LosesNoWindow(ulong seed)
    {
        // A variation next to nothing: every step takes its allowed time, within a thousandth.
        var run = Play(seed, new RandomStepLengths(1e-6));
        Assert.Equal((12, 0, 0), (run.Summary.ReadInWindow, run.Summary.ReadOutside, run.Summary.Discarded));
    }

    [Fact]
    public void Run_WithTheSameSeed_IsTheSameDay() =>
        Assert.Equal(Play(3, new RandomStepLengths()).Summary, Play(3, new RandomStepLengths()).Summary);

    [Fact]
    public void Run_Replayed_GivesTheSameTotals()
    {
        var run = Play(5, new RandomStepLengths());
        BenchState? replayed = null;
        foreach (var entry in run.Entries)
            replayed = LiveBench.Apply(replayed, entry);
        var now = run.Entries[^1].Provenance.Arrived;
        Assert.Equal(run.State.Revision, replayed!.Revision);
        Assert.Equal(LiveBench.View(run.State, now).Totals, LiveBench.View(replayed, now).Totals);
        Assert.Equal(run.State.Done, replayed.Done);
    }

    private static SimulatedRun Play(ulong seed, RandomStepLengths times) => SimulatedDay.Run(
        new BenchCommand.OpenBench(new BenchId("bench-1"), "Bench 1",
            new BenchSetup(1, 8, 1, Seconds(25), Seconds(15), 0), Seconds(20)),
        [.. Enumerable.Range(0, 12).Select(i => Request(i, new Random((int)seed)))],
        Start, seed, times, () => new IterationBudget(100));

    private static BenchRequest Request(int index, Random random)
    {
        string[] codes = ["A", "B", "C", "D"];
        int[] incubations = [180, 480, 600, 900];
        var kind = (index + random.Next(4)) % 4;
        var assay = new Assay(new AssayCode(codes[kind]), "Demo assay " + codes[kind], IncubationPlace.Incubator,
            Seconds(50), Seconds(120), Seconds(25), Seconds(incubations[kind]), Seconds(90), Seconds(15), Seconds(40),
                Seconds(10), Seconds(35), Seconds(15));
        var request = new Request(new RequestId($"R{index + 1:00}"), new SpecimenId($"SP-{index + 1:000}"), assay.Code,
            new LotCode(codes[kind] + "-L1"),
            Start + Seconds(index > 8 ? 300 : 0), RequestKind.Patient, true, index == 4
                ? Priority.Urgent : Priority.Routine, null, null, []);
        return new BenchRequest(request, assay, 1, "mg/L");
    }

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);
}
