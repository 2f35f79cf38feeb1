using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>A correction lets no held result out: a supervisor does.</summary>
public sealed class KeptHoldTest
{
    private static readonly KeptHold Kept = new(At(400), At(590));

    /// <summary>Nor does what is entered, taken back or amended after it.</summary>
    [Theory]
    [InlineData("")]
    [InlineData("entered")]
    [InlineData("amended")]
    [InlineData("corrected")]
    public void Corrected_AfterItsResultWasEntered_WaitsForASupervisor(string since)
    {
        var scene = ReadTooEarly();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Correct(scene, 590);
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Equal((ResultHold.Corrected, Kept), (scene.Find("R1").Use.Hold, scene.Find("R1").Status!.Kept));

        if (since == "entered")
            scene.Say(710, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.3")));
        else if (since == "amended")
            scene.Say(710, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("4.3"), "Read again."));
        else if (since == "corrected")
            Correct(scene, 591);
        Assert.True(scene.Find("R1").IsHeld);
        scene.Say(720, new BenchCommand.ReleaseResult(R("R1"), "Compared with the reader's memory."));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>What was not held, is not yet entered or was released is held by no correction.</summary>
    [Theory]
    [InlineData("entered later")]
    [InlineData("released")]
    [InlineData("still held")]
    public void Corrected_WhereItLetsNothingOut_KeepsNothing(string what)
    {
        var scene = ReadTooEarly();
        if (what == "entered later")
            Correct(scene, 590);
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        if (what == "released")
            scene.Say(660, new BenchCommand.ReleaseResult(R("R1"), "Compared with the reader's memory."));
        if (what != "entered later")
            Correct(scene, what == "still held" ? 401 : 590);
        Assert.Null(scene.Find("R1").Status!.Kept);
        Assert.Equal(what == "still held" ? ResultHold.Deviation : ResultHold.None, scene.Find("R1").Use.Hold);
    }

    /// <summary>What a correction let out under a former version, it let out: nothing past is judged anew.</summary>
    [Fact]
    public void Applied_ACorrectionOfAFormerVersion_LetsOut()
    {
        var scene = ReadTooEarly();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Correct(scene, 590);
        var old = scene.Entries.Where(entry => entry.Event is not BenchEvent.ResultKeptHeld)
            .Aggregate((BenchState?)null, LiveBench.Apply)!;
        Assert.True(old.Find(R("R1"))!.Use.IsReported);
    }

    private static Scene ReadTooEarly()
    {
        var scene = Reacting();
        scene.Say(400, new BenchCommand.ReadStarted(R("R1"), Reader1, false), id: "read");
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        return scene;
    }

    private static void Correct(Scene scene, int to) =>
        Accept(scene.Say(700, new BenchCommand.CorrectReport(new ReportId("read"), At(to), null, null, "A slip.")));
}
