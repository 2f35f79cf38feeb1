using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What a report says of the label on its cartridge.</summary>
public sealed class LabelScanTest
{
    [Theory]
    [InlineData(LabelDemand.Off)]
    [InlineData(LabelDemand.Asked)]
    [InlineData(LabelDemand.Demanded)]
    public void Asked_OnABench_HoldsBeyondItsBatchAndNeedsNoOtherPlan(LabelDemand demand)
    {
        var scene = Running(Request("R1"));
        Assert.Null(scene.State!.Labels);
        var ask = new BenchCommand.AskForLabels(demand);
        RevisingTest.Accept(scene.Say(1, ask));
        Assert.Null(ReplanCauses.Of(ask, [new BenchEvent.LabelsAsked(demand)]));
        RevisingTest.Accept(scene.Say(2, new BenchCommand.WithdrawRequest(R("R1"), "not wanted any more")));
        RevisingTest.Accept(scene.Say(3, new BenchCommand.CloseBatch()));

        Assert.Equal(demand, BenchCheckpoint.Of(scene.State!).Labels);
    }

    [Fact]
    public void Loaded_ByAScanOfItsLabel_DiffersInNothingAndStandsWithTheScan()
    {
        var scene = Mixed();
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false) { Scan = LabelScan.Scanned });

        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Contains(new BenchEvent.LabelScanned(R("R1")), scene.Entries.Select(entry => entry.Event));
    }

    [Theory]
    [InlineData(null, null, false)]
    [InlineData(LabelScan.NotScanned, Deviation.NotScanned, false)]
    [InlineData(LabelScan.OtherThanPlanned, Deviation.OtherThanPlanned, true)]
    public void Step_NotByAScanOfThePlannedLabel_HoldsItsResult(LabelScan? scan, Deviation? differs, bool isScanned)
    {
        Deviation[] expected = differs is { } one ? [one] : [];
        foreach (var (scene, seconds, report) in Steps())
        {
            scene.Say(seconds, report with { Scan = scan });
            Assert.Equal(expected, scene.Find("R1").Deviations);
            Assert.Equal(isScanned, scene.Entries.Exists(entry => entry.Event is BenchEvent.LabelScanned));
            // It contradicts nothing, so that nobody is asked.
            Assert.Empty(scene.View(seconds).Questions);
        }
    }

    [Fact]
    public void Result_OfACartridgeClearedWithoutAScan_IsHeld()
    {
        var scene = Cleared(LabelScan.NotScanned);

        Assert.Equal(ResultHold.Deviation, ResultUse.Of(scene.Find("R1")).Hold);
        Assert.True(scene.Find("R1").ReadInWindow);
    }

    [Fact]
    public void Result_OfACartridgeClearedByAScan_IsReported() =>
        Assert.True(ResultUse.Of(Cleared(LabelScan.Scanned).Find("R1")).IsReported);

    [Fact]
    public void Revision_OfALoadWithoutAScan_KeepsThatItWasWithout()
    {
        var scene = Mixed();
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false) { Scan = LabelScan.NotScanned }, id: "load");
        scene.Say(90, new BenchCommand.CorrectReport(new ReportId("load"), At(73), null, null, "looked at the clock"));

        Assert.Equal([Deviation.NotScanned], scene.Find("R1").Deviations);
    }

    [Fact]
    public void Undo_AfterAScan_TakesTheReportBack()
    {
        var scene = Mixed();
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), false) { Scan = LabelScan.Scanned }, id: "load");
        scene.Say(76, new BenchCommand.Undo(new ReportId("load"), []));

        Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase);
    }

    private static Scene Mixed()
    {
        var scene = Running(Request("R1"));
        scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Plan(50);
        return scene;
    }

    private static Scene Cleared(LabelScan scan)
    {
        var scene = Reading();
        scene.Say(625, new BenchCommand.Cleared(R("R1"), new ReaderNumber(1)) { Scan = scan });
        scene.Say(640, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("5.1")));
        return scene;
    }

    private static Scene Reading()
    {
        var scene = Reacting();
        scene.Say(570, new BenchCommand.ReadStarted(R("R1"), new ReaderNumber(1), false));
        scene.Plan(570);
        return scene;
    }

    private static IEnumerable<(Scene Scene, double Seconds, BenchCommand.AtLabel Report)> Steps() =>
    [
        (Mixed(), 75, new BenchCommand.Loaded(R("R1"), Slot(1), false)),
        (Reacting(), 570, new BenchCommand.ReadStarted(R("R1"), new ReaderNumber(1), false)),
        (Reading(), 625, new BenchCommand.Cleared(R("R1"), new ReaderNumber(1))),
    ];
}
