using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Reports;
using Incubation.Simulation;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests.Reports;

/// <summary>Cartridges and batches in times, against the record and the simulated hands that made it.</summary>
public sealed class ReportProjectionTest : IDisposable
{
    private static readonly ReportScope Everything = new(Instant.FromUtc(2000, 1, 1, 0, 0),
        Instant.FromUtc(2100, 1, 1, 0, 0));
    private readonly TempFolder folder = new();
    private readonly DataFile file;

    public ReportProjectionTest() => file = DataFile.Open(folder.DataFile);

    public void Dispose()
    {
        file.Dispose();
        folder.Dispose();
    }

    [Fact]
    public void Cartridges_SimulatedDay_HaveTheTimesOfTheHandsThatMadeThem()
    {
        var run = Simulate();
        Append(run.Entries);
        var found = Book().Cartridges(Everything);
        Assert.Equal(8, found.Count);
        foreach (var one in found)
        {
            Instant End<T>()
                where T : StepAction =>
                    run.Steps.Single(step => step.Action is T && step.Action.Subject == one.Request).End;
            Assert.Equal(Instant.Max(Rows.Morning, run.State.Find(one.Request)!.Wanted.Request.Ready), one.Asked);
            Assert.Equal(End<StepAction.Mix>(), one.Mix.End);
            Assert.Equal(End<StepAction.Load>(), one.Load.End);
            Assert.Equal(End<StepAction.Clear>(), one.Clear.End);
            Assert.True(one.Mix.Begun < one.Mix.End && one.Load.Begun < one.Load.End
                && one.Clear.Begun <= one.Clear.End);
            if (one.Slot is not null)
            {
                Assert.Equal(one.ReadStart, one.Move.End);
                Assert.InRange(one.ReadStart!.Value, one.Opens!.Value, one.Closes!.Value);
                Assert.InRange(Reads.PositionOf(one)!.Value, 0, 1);
            }

            Assert.NotNull(one.ResultAt);
            Assert.True(one.InWindow);
            Assert.True(one.IsUsed && !one.IsWasted);
        }

        Assert.Contains(found, one => one.Spare is not null);
    }

    [Fact]
    public void Steps_OfEachCartridge_AddUpToItsWholeTime()
    {
        Append(Simulate().Entries);
        Assert.All(Book().Cartridges(Everything), one =>
            Assert.Equal(TimeToResult.MinutesOf(one)!.Value,
                TimeToResult.Steps.Sum(step => TimeToResult.MinutesOf(one, step)!.Value), 6));
    }

    [Fact]
    public void Batches_SimulatedDay_CountWhatWasBusy()
    {
        var run = Simulate();
        Append(run.Entries);
        var use = Assert.Single(Book().Batches(Everything));
        Assert.Equal((1, 1), (use.Hands, use.Readers));
        Assert.Equal(run.Steps.Max(step => step.End), use.To);
        // Nothing can be busy for longer than it is there, and hands were at it at least as long as their own steps
        // took.
        Assert.InRange(use.HandsBusy, Sum(run.Steps.Where(step => step.Hands is not null)), use.Length);
        Assert.InRange(use.ReadersBusy, Sum(run.Steps.Where(step => step.Action is StepAction.Read)), use.Length);
        Assert.InRange(use.SlotsBusy, Duration.FromMinutes(3), use.Slots * use.Length);
        Assert.Equal((8, 8), (use.Cartridges, use.PlannedCartridges));
        Assert.InRange(use.PlannedEnd!.Value, use.From + Duration.FromMinutes(5), use.From + Duration.FromHours(2));
        var bench = Assert.Single(BenchUse.Of([use]));
        Assert.InRange(bench.Hands, 0.01, 1);
        Assert.Equal(8 / use.Length.TotalHours, bench.PerHour, 9);
    }

    [Fact]
    public void Cartridges_OfABenchAnAssayOrATime_AreThoseAlone()
    {
        Append(Simulate().Entries);
        var book = Book();
        Assert.Equal(2, book.Count(Everything with { Assay = AssayCode.Of("B") }));
        Assert.All(book.Cartridges(Everything with { Assay = AssayCode.Of("B") }),
            one => Assert.Equal("B", one.Assay.Value));
        Assert.Equal(0, book.Count(Everything with { Bench = BenchId.Of("bench-9") }));
        var (first, last) = book.Span()!.Value;
        Assert.Equal(8, book.Count(new ReportScope(first, last + Duration.FromNanoseconds(1))));
        Assert.Equal(0, book.Count(Everything with { From = last + Duration.FromNanoseconds(1) }));
        Assert.Equal(0, book.Count(Everything with { To = first }));
        Assert.Null(book.Span(BenchId.Of("bench-9")));
    }

    [Fact]
    public void Cartridges_MadeAnew_AreTheSame()
    {
        Append(Simulate().Entries);
        var before = Book().Cartridges(Everything);
        RawFile.Run(folder.DataFile, "UPDATE Projections SET CodeVersion = 0 WHERE Name LIKE 'cartridges %'",
            "UPDATE CartridgeTimes SET Asked = 1");
        Assert.Equal(before.OrderBy(one => one.Request.Value), Book().Cartridges(Everything)
            .OrderBy(one => one.Request.Value));
    }

    private ReportProjection Book() => new(file, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench));

    private static Duration Sum(IEnumerable<DoneStep> steps) =>
        steps.Aggregate(Duration.Zero, (sum, step) => sum + (step.End - step.Start));

    private static SimulatedRun Simulate()
    {
        IReadOnlyList<BenchRequest> requests = [.. Enumerable.Range(1, 8).Select(number => BenchStory.Request(
            $"R{number:00}", number % 3 == 0 ? "B" : "A", number % 3 == 0 ? 8 : 3, number == 5
                ? IncubationPlace.Either : IncubationPlace.Incubator))];
        return SimulatedDay.Run(BenchStory.Open, requests, Rows.Morning, 1, new RandomStepLengths(),
            () => new IterationBudget(50));
    }

    private void Append(IReadOnlyList<BenchEntry> entries) => new BenchStreams(file).Append(Rows.Bench, 0, entries);
}
