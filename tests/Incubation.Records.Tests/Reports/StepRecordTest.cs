using Incubation.Model;
using Incubation.Model.StepTimes;
using Incubation.Planning;
using Incubation.Records.Batches;
using Incubation.Records.Benches;
using Incubation.Records.Reports;
using Incubation.Simulation;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests.Reports;

/// <summary>Step times as a bench's record tells them.</summary>
public sealed class StepRecordTest
{
    private static readonly Assay Sheet = BenchStory.Request("R1", "A", 3).Assay;

    [Fact]
    public void Of_SimulatedDay_HasTheLengthsOfTheHandsThatMadeIt()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        var run = SimulatedDay.Run(BenchStory.Open,
            [.. Enumerable.Range(1, 8).Select(number => BenchStory.Request($"R{number:00}", "A", 3))], Rows.Morning, 3,
            new RandomStepLengths(), () => new IterationBudget(50));
        new BenchStreams(file).Append(Rows.Bench, 0, run.Entries);
        var cartridges = new ReportProjection(file, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench))
            .Cartridges(new ReportScope(Rows.Morning, Rows.Morning + Duration.FromDays(1)));

        var records = StepRecord.Of(Sheet, cartridges, _ => null);

        var mixes = run.Steps.Where(step => step.Action is StepAction.Mix)
            .Select(step => (step.End - step.Start).TotalSeconds).Order().ToList();
        Assert.Equal(mixes.Count, records[0].Seconds.Count);
        // Hands that were idle began when the offer said so, the same instant.
        Assert.All(mixes.Zip(records[0].Seconds), pair => Assert.Equal(pair.First, pair.Second, 3));
        Assert.Equal([HandsStep.Mix, HandsStep.Load, HandsStep.Move, HandsStep.Clear],
            records.Select(record => record.Step));
        Assert.Equal(StepLengths.Learned(mixes.Select(Duration.FromSeconds),
            new StepLengths(Sheet.Mix, Sheet.MixShortest)), records[0].Learned);
    }

    /// <summary>
    /// A mix that was not begun when nobody knew of it counts as it was done in the end; a load that was told late has
    /// no length.
    /// </summary>
    [Fact]
    public void Of_StepsThatWereNotKnown_LeavesTheirLateTapsOut()
    {
        using var folder = new TempFolder();
        using var file = DataFile.Open(folder.DataFile);
        new BenchStreams(file).Append(Rows.Bench, 0, BenchStory.TellNotKnown());
        var cartridges = new ReportProjection(file, new CartridgeProjection(file, CartridgeProjection.AsToldOnBench))
            .Cartridges(new ReportScope(Rows.Morning, Rows.Morning + Duration.FromDays(1)));

        var records = StepRecord.Of(Sheet, cartridges, _ => null);

        Assert.Equal((1, 0), (records[0].Seconds.Count, records[0].LeftOut));
        Assert.Equal((0, 1), (records[1].Seconds.Count, records[1].LeftOut));
    }

    [Fact]
    public void Of_NothingOnRecord_IsTheSheetsOwn()
    {
        var record = StepRecord.Of(Sheet, [], _ => null)[0];
        Assert.Equal((record.Sheet, 0.0, false), (record.Learned, record.Weight, record.Differs));
        Assert.Null(record.Beyond(Sheet.Mix));
        Assert.Null(record.Sureness.Low);
    }

    [Fact]
    public void Of_StepsThatAreNoLength_LeavesThemOut()
    {
        var record = StepRecord.Of(Sheet,
            [Mixed(Sheet.Mix.TotalSeconds * 3.01), Mixed(20, isPlanned: false), Mixed(20), Mixed(40)], _ => null)[0];
        Assert.Equal([20, 40], record.Seconds);
        Assert.Equal(2, record.LeftOut);
        Assert.Equal((0.5, 0.5), (record.Beyond(Duration.FromSeconds(30)), record.Below(Duration.FromSeconds(30))));
        Assert.Equal(2.0 / 22, record.Weight, 9);
    }

    /// <summary>
    /// What was allowed when a step was done says whether its length was one, not what is allowed today.
    /// </summary>
    [Fact]
    public void Of_EarlierVersion_IsJudgedByItsOwnSheet()
    {
        var slow = Mixed(Sheet.Mix.TotalSeconds * 4);
        Assert.Empty(StepRecord.Of(Sheet, [slow], _ => null)[0].Seconds);
        Assert.Single(StepRecord.Of(Sheet, [slow], version => version == 1
            ? Sheet with { Mix = Sheet.Mix * 2 } : null)[0].Seconds);
    }

    [Fact]
    public void With_EachStep_ChangesThatOneAlone()
    {
        var lengths = new StepLengths(Duration.FromSeconds(99), Duration.FromSeconds(9));
        Assert.Equal(Sheet with { Mix = lengths.Allowed, MixShortest = lengths.Shortest },
            StepRecord.With(Sheet, HandsStep.Mix, lengths));
        Assert.Equal(Sheet with { Load = lengths.Allowed, LoadShortest = lengths.Shortest },
            StepRecord.With(Sheet, HandsStep.Load, lengths));
        Assert.Equal(Sheet with { Move = lengths.Allowed }, StepRecord.With(Sheet, HandsStep.Move, lengths));
        Assert.Equal(Sheet with { Clear = lengths.Allowed }, StepRecord.With(Sheet, HandsStep.Clear, lengths));
    }

    private static CartridgeTimes Mixed(double seconds, bool isPlanned = true) => new()
    {
        Bench = Rows.Bench,
        Batch = 1,
        Request = RequestId.Of("R1"),
        Asked = Rows.Morning,
        Assay = Sheet.Code,
        AssayVersion = 1,
        Lot = LotCode.Of("L"),
        Kind = RequestKind.Patient,
        Priority = Priority.Routine,
        Standing = CartridgeStatus.Done,
        Mix = new StepSpan(isPlanned ? Rows.Morning : null, Rows.Morning, Rows.Morning + Duration.FromSeconds(seconds)),
    };
}
