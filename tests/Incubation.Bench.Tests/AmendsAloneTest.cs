using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// A value that somebody enters who may not release results: it counts at once where nobody has decided on it, and is
/// an amendment that waits where a supervisor decides. It is asked where one command is decided after the other, so
/// that two of the same moment are no way around it.
/// </summary>
public sealed class AmendsAloneTest
{
    [Theory]
    [InlineData(RequestKind.Control, true)]
    [InlineData(RequestKind.Patient, false)]
    public void SecondEntry_OfAControl_IsAnAmendmentThatWaits(RequestKind kind, bool waits)
    {
        var scene = ReadInTime(kind);
        Enter(scene, 650, "20");
        Enter(scene, 650, "10.1");
        Assert.Equal((waits ? "20" : "10.1", waits), (Value(scene), scene.Find("R1").Status!.Proposal is not null));
    }

    /// <summary>By wire no result takes another's place, and none is proposed for it either.</summary>
    [Fact]
    public void SecondEntry_ThatIsTakenOnlyAsTheFirst_IsRefused()
    {
        var scene = ReadInTime(RequestKind.Control);
        Enter(scene, 650, "20");
        Assert.Equal(new Decision.Refused(Refusal.ResultThere, "R1"), scene.Say(660,
            new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("10.1"))
            {
                Alone = AmendsAlone.Undecided,
                OnlyFirst = true,
            }));
    }

    [Fact]
    public void AfterARelease_AnotherValueWaits_AndTheSameValueKeepsIt()
    {
        var scene = ReadInTime();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("20"), new ShownIdentity("SP-9"))
        {
            Alone = AmendsAlone.Undecided,
        });
        Assert.Equal((ResultHold.OtherIdentity, "SP-9"),
            (scene.Find("R1").Use.Hold, scene.Find("R1").Status!.Shown));
        Accept(scene.Say(660, new BenchCommand.ReleaseResult(R("R1"), "The label was read again.")));
        Enter(scene, 670, "20");
        Assert.Equal((true, "The label was read again."),
            (scene.Find("R1").Use.IsReported, scene.Find("R1").Status!.Released));
        Amend(scene, 680, "30");
        Assert.Equal(("20", ResultHold.AmendmentWaits), (Value(scene), scene.Find("R1").Use.Hold));
    }

    /// <summary>What an aide mistypes is amended once; whatever comes after that waits.</summary>
    [Fact]
    public void SecondAmendment_Waits()
    {
        var scene = ReadInTime();
        Enter(scene, 650, "20");
        Amend(scene, 660, "21");
        Assert.Equal(("21", true), (Value(scene), scene.Find("R1").Use.IsReported));
        Amend(scene, 670, "22");
        Assert.Equal(("21", ResultHold.AmendmentWaits), (Value(scene), scene.Find("R1").Use.Hold));
    }

    [Fact]
    public void Amendment_OfAValueThatCannotBe_Waits()
    {
        var scene = ReadInTime();
        Enter(scene, 650, "1,000");
        Amend(scene, 660, "10");
        Assert.Equal((true, ResultHold.AmendmentWaits),
            (scene.Find("R1").Status!.Proposal is not null, scene.Find("R1").Use.Hold));
    }

    /// <summary>Read too early, its entry taken back and its time corrected: what is entered then waits.</summary>
    [Fact]
    public void TakenBack_WhileItWaits_HoldsTheNextEntry()
    {
        var scene = Reacting();
        scene.Say(400, new BenchCommand.ReadStarted(R("R1"), Reader1, false), id: "read");
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        Accept(scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("20")), id: "entry"));
        Accept(scene.Say(660, new BenchCommand.Undo(new ReportId("entry"))));
        Accept(scene.Say(670, new BenchCommand.CorrectReport(new ReportId("read"), At(590), null, null, "A slip.")));
        Enter(scene, 680, "20");
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Equal(ResultHold.HeldBefore, scene.Find("R1").Use.Hold);
    }

    /// <summary>A load that is told once its lot has failed is marked, whenever it was.</summary>
    [Fact]
    public void LoadToldLate_OnceItsLotHasFailed_IsMarked()
    {
        var scene = Running(Request("R1"));
        scene.Say(300, new BenchCommand.SetLotGate(new LotCode("L1"), LotGate.Failed));
        scene.Say(50, new BenchCommand.Mixed(R("R1"), true), arrived: 310);
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), true), arrived: 311);
        Assert.Contains(Deviation.ControlsNotAccepted, scene.Find("R1").Deviations);
    }

    private static void Enter(Scene scene, double at, string value) => Accept(scene.Say(at,
        new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value(value)) { Alone = AmendsAlone.Undecided }));

    private static void Amend(Scene scene, double at, string value) => Accept(scene.Say(at,
        new BenchCommand.AmendResult(R("R1"), new ShownResult.Value(value), "Typed.")
        {
            Alone = AmendsAlone.Undecided,
        }));

    private static string Value(Scene scene) => ((ReadResult.Measured)scene.Find("R1").Result!).Value;
}
