using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>
/// What anybody says of what happened lets no held result out, be it a correction, an answer, a look at the card, an
/// undo or a report: a supervisor does. Answers and card looks are in ResultsTest.
/// </summary>
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

    /// <summary>What waits for its controls too is not let out by them once what else held it was corrected.</summary>
    [Fact]
    public void Corrected_WhileItsControlsHoldItToo_WaitsForASupervisorOnceTheyAreAccepted()
    {
        var scene = ReadTooEarly();
        scene.Say(645, new BenchCommand.SetLotGate(new LotCode("L1"), LotGate.ResultsHeld));
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Correct(scene, 590);
        Assert.Equal([ResultHold.Corrected, ResultHold.Controls], ResultUse.HoldsOf(scene.Find("R1")));
        scene.Say(710, new BenchCommand.SetLotGate(new LotCode("L1"), LotGate.Open));
        Assert.Equal(ResultHold.Corrected, scene.Find("R1").Use.Hold);
    }

    /// <summary>Nor is it by an amendment of a value that could not be.</summary>
    [Fact]
    public void Corrected_WhileItsValueIsAsked_WaitsForASupervisorOnceItIsAmended()
    {
        var scene = ReadTooEarly();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("1,000")));
        Correct(scene, 590);
        scene.Say(710, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("4.2"), "Typed wrongly."));
        Assert.Equal(ResultHold.Corrected, scene.Find("R1").Use.Hold);
    }

    /// <summary>A mix that is told late, and a card that was seen wrongly and is undone.</summary>
    [Theory]
    [InlineData("late")]
    [InlineData("undone")]
    public void Said_InAnyOtherWay_WaitsForASupervisor(string how)
    {
        var scene = Running(Request("R1"));
        if (how == "undone")
            scene.Say(50, new BenchCommand.Mixed(R("R1")));
        scene.Say(75, new BenchCommand.Loaded(R("R1"), Slot(1), true));
        scene.Say(100, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        scene.Say(590, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.Equal(how == "late", scene.Find("R1").IsHeld);
        if (how == "undone")
        {
            scene.Say(660, new BenchCommand.NoteRestart(At(200), true));
            scene.Say(670, new BenchCommand.CardSeen(Reader1, new LotCode("L2")), id: "seen");
        }

        Assert.Equal(ResultHold.Deviation, scene.Find("R1").Use.Hold);
        Accept(how == "late" ? scene.Say(45, new BenchCommand.Mixed(R("R1"), true), arrived: 700)
            : scene.Say(700, new BenchCommand.Undo(new ReportId("seen"))));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Equal((ResultHold.Corrected, new KeptHold(null, null)),
            (scene.Find("R1").Use.Hold, scene.Find("R1").Status!.Kept));
        scene.Say(710, new BenchCommand.ReleaseResult(R("R1"), "Compared with the reader's memory."));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>
    /// A release covers what was known when it was given: its read was later than was told, or its load earlier, and it
    /// waits again; that the correction is corrected does not let it out either.
    /// </summary>
    [Theory]
    [InlineData("read", 400)]
    [InlineData("load", 300)]
    public void Learnt_OnceItWasReleased_WaitsAgainUntilASupervisorReleasesIt(string of, int at)
    {
        var scene = ReadResults.Of("4.2", identity: ResultIdentity.Missing);
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "The label was read again."));
        Assert.True(scene.Find("R1").Use.IsReported);
        var told = scene.Now.Story.Find(one => of == "read" ? one.Event is BenchEvent.ReadStarted
            : one.Event is BenchEvent.Loaded)!;
        Accept(scene.Say(710, new BenchCommand.CorrectReport(told.Id, At(at), null, null, "The clock on the wall.")));
        Assert.Equal([ResultHold.NoIdentity, ResultHold.Deviation], ResultUse.HoldsOf(scene.Find("R1")));
        Assert.True(scene.Find("R1").IsHeld);
        Assert.Equal("The label was read again.", scene.Find("R1").Status!.EndedRelease!.Why);

        Accept(scene.Say(720, new BenchCommand.CorrectReport(told.Id, told.At, null, null, "It was right.")));
        Assert.True(scene.Find("R1").IsHeld);
        scene.Say(730, new BenchCommand.ReleaseResult(R("R1"), "The reader's memory says so."));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>
    /// A read that was told late is in its window by whoever corrects it after that has closed: held for a supervisor,
    /// whether that is said before its result is entered or after.
    /// </summary>
    [Theory]
    [InlineData("")]
    [InlineData("again")]
    public void Corrected_ALateReadIntoItsClosedWindow_IsStatedInTime(string twice)
    {
        var scene = ReadResults.Of("4.2");
        var read = scene.Now.Story.Find(one => one.Event is BenchEvent.ReadStarted)!;
        Accept(scene.Say(700, new BenchCommand.CorrectReport(read.Id, At(690), null, null, "Told by its clock.")));
        Assert.Equal([Deviation.LateRead], scene.Find("R1").Deviations);
        for (var at = 710; at <= (twice == "again" ? 720 : 710); at += 10)
        {
            Accept(scene.Say(at,
                new BenchCommand.CorrectReport(read.Id, At(570 + at - 710), null, null, "It was not.")));
            Assert.Equal([Deviation.StatedInTime], scene.Find("R1").Deviations);
            Assert.False(scene.Find("R1").ReadInWindow);
        }

        Assert.Equal(ResultHold.Deviation, scene.Find("R1").Use.Hold);
    }

    /// <summary>One that nothing held was out until its read proved late: since when stays known.</summary>
    [Theory]
    [InlineData(ResultIdentity.Matches, true)]
    [InlineData(ResultIdentity.Missing, false)]
    public void Learnt_OfOneThatNothingHeld_KeepsSinceWhenItWasOut(ResultIdentity identity, bool wasOut)
    {
        var scene = ReadResults.Of("4.2", identity: identity);
        var told = scene.Now.Story.Find(one => one.Event is BenchEvent.ReadStarted)!;
        Accept(scene.Say(710, new BenchCommand.CorrectReport(told.Id, At(400), null, null, "The clock on the wall.")));
        Assert.True(scene.Find("R1").IsHeld);
        Assert.Equal(wasOut ? At(660) : null, scene.Find("R1").Status!.Out);
    }

    /// <summary>
    /// It differs in the same as when it was released, and more: in a later clear, an earlier read, or another card.
    /// </summary>
    [Theory]
    [InlineData("read", ResultHold.None)]
    [InlineData("clear", ResultHold.Deviation)]
    [InlineData("card", ResultHold.Deviation)]
    [InlineData("card after it", ResultHold.None)]
    public void Learnt_OfWhatItDifferedInAlready_WaitsAgain(string of, ResultHold hold)
    {
        var scene = ReadTooEarly();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        scene.Say(660, new BenchCommand.ReleaseResult(R("R1"), "Early by little."));
        if (of == "card after it")
            Accept(scene.Say(700, new BenchCommand.CardChanged(Reader1, new LotCode("L9"))));
        else
        {
            var told = scene.Now.Story.FindLast(one => of switch
            {
                "card" => one.Event is BenchEvent.CardChanged,
                "clear" => one.Event is BenchEvent.Cleared,
                _ => one.Event is BenchEvent.ReadStarted,
            })!;
            Accept(scene.Say(700, of == "card"
                ? new BenchCommand.CorrectReport(told.Id, null, null, new LotCode("L9"), "Seen.")
                : new BenchCommand.CorrectReport(told.Id, At(of == "read" ? 590 : 500), null, null, "Seen.")));
        }

        Assert.Equal(hold, scene.Find("R1").Use.Hold);
    }

    /// <summary>
    /// A temperature that is told late was the incubator's while the cartridge reacted there: its result waits, also
    /// where it was released knowing of an earlier one. One from before its load or after its move is not its.
    /// </summary>
    [Theory]
    [InlineData(300, false, ResultHold.Deviation)]
    [InlineData(300, true, ResultHold.Deviation)]
    [InlineData(60, false, ResultHold.None)]
    [InlineData(600, false, ResultHold.None)]
    public void Temperature_ToldOnceItIsOut_OfWhileItReacted_Holds(int at, bool isReleased, ResultHold hold)
    {
        var scene = Reacting();
        scene.Say(105, new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [])));
        if (isReleased)
            scene.Say(200, new BenchCommand.TemperatureMeasured(new Celsius(27)));
        scene.Say(580, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        scene.Say(630, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(640, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        if (isReleased)
            scene.Say(650, new BenchCommand.ReleaseResult(R("R1"), "Warm by little."));
        Assert.True(scene.Find("R1").Use.IsReported);
        Accept(scene.Say(at, new BenchCommand.TemperatureMeasured(new Celsius(60)), arrived: 700));
        Assert.Equal(hold, scene.Find("R1").Use.Hold);
    }

    /// <summary>Nobody would be asked to call it back: a value that a supervisor has released is amended.</summary>
    [Fact]
    public void NeverRead_OnceItsResultWasReleased_IsRefused()
    {
        var scene = ReadTooEarly();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        scene.Say(660, new BenchCommand.ReleaseResult(R("R1"), "Early by little."));
        Assert.Equal(new Decision.Refused(Refusal.ResultKnown, "SP-R1"), scene.Say(700,
            new BenchCommand.CorrectReport(new ReportId("read"), null, null, null, "Another one.", true)));
    }

    /// <summary>A release is of what was shown: of a cartridge that differs in more by now it is none.</summary>
    [Fact]
    public void Released_AsItWasShownBefore_IsRefusedOnceMoreIsKnown()
    {
        var scene = ReadResults.Of("4.2", identity: ResultIdentity.Missing);
        var shown = scene.Find("R1").Deviations;
        Accept(scene.Say(700, new BenchCommand.CorrectReport(
            scene.Now.Story.Find(told => told.Event is BenchEvent.ReadStarted)!.Id, At(400), null, null, "A slip.")));
        Assert.Equal(new Decision.Refused(Refusal.ResultChanged, "R1"), scene.Say(710,
            new BenchCommand.ReleaseResult(R("R1"), "The label was read again.") { Differs = shown }));
        Accept(scene.Say(720, new BenchCommand.ReleaseResult(R("R1"), "Early by little.")
        {
            Differs = scene.Find("R1").Deviations,
        }));
    }

    /// <summary>
    /// The read of a held result never was: what is entered next waits for a supervisor, be it of the same read told
    /// otherwise or of one that began since.
    /// </summary>
    [Theory]
    [InlineData(565)]
    [InlineData(605)]
    public void NeverRead_OnceItsResultWasHeld_HoldsWhatIsEnteredOfAnother(int start)
    {
        var scene = ReadTooEarly(cleared: 450);
        scene.Say(500, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Accept(scene.Say(600, new BenchCommand.CorrectReport(new ReportId("read"), null, null, null, "Another one.",
            true)));
        Assert.Equal((null, ResultHold.NoResult), (scene.Find("R1").Result, scene.Find("R1").Use.Hold));
        scene.Say(start, new BenchCommand.ReadStarted(R("R1"), Reader1, false), arrived: Math.Max(start, 602));
        Assert.Equal([ResultHold.HeldBefore], ResultUse.HoldsOfNext(scene.Now, scene.Find("R1")));
        scene.Say(650, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(660, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.True(Assert.IsType<BenchEvent.ResultEntered>(scene.Entries[^1].Event).Held);
        Assert.Equal(ResultHold.HeldBefore, scene.Find("R1").Use.Hold);
        scene.Say(670, new BenchCommand.ReleaseResult(R("R1"), "Compared with the reader's memory."));
        scene.Say(680, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.3")));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>What was not held is forgotten with its read; what holds it is not.</summary>
    [Theory]
    [InlineData("in time", ResultHold.None)]
    [InlineData("too warm", ResultHold.HeldBefore, ResultHold.Deviation)]
    public void NeverRead_HoldsWhatIsEnteredNext_ByWhatStillHolds(string how, params ResultHold[] holds)
    {
        var scene = Reacting();
        scene.Say(105, new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [])));
        if (how == "too warm")
            scene.Say(200, new BenchCommand.TemperatureMeasured(new Celsius(41)));
        scene.Say(580, new BenchCommand.ReadStarted(R("R1"), Reader1, false), id: "read");
        scene.Say(630, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(635, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Accept(scene.Say(640, new BenchCommand.CorrectReport(new ReportId("read"), null, null, null, "Another one.",
            true)));
        scene.Say(585, new BenchCommand.ReadStarted(R("R1"), Reader1, false), arrived: 641);
        scene.Say(650, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(660, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.Equal(holds, ResultUse.HoldsOf(scene.Find("R1")).DefaultIfEmpty(ResultHold.None));
    }

    /// <summary>A control may have been judged by the entry that is taken back: what is entered next waits.</summary>
    [Theory]
    [InlineData(RequestKind.Control, ResultHold.HeldBefore)]
    [InlineData(RequestKind.Patient, ResultHold.None)]
    public void TakenBack_AnEntryOfAControl_HoldsTheNext(RequestKind kind, ResultHold hold)
    {
        var scene = ReadInTime(kind);
        Accept(scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("400")), id: "entry"));
        Accept(scene.Say(660, new BenchCommand.Undo(new ReportId("entry"))));
        Assert.Null(scene.Find("R1").Result);

        scene.Say(670, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("38")));
        Assert.Equal(hold, scene.Find("R1").Use.Hold);
    }

    /// <summary>What is thrown away is released by nobody: its value goes nowhere.</summary>
    [Fact]
    public void ThrownAway_WhileItsResultWaits_IsNotReleased()
    {
        var scene = ReadTooEarly();
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.True(scene.Find("R1").IsHeld);
        Accept(scene.Say(660, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null)));
        Assert.False(scene.Find("R1").IsHeld);
        Assert.Equal(new Decision.Refused(Refusal.NotHeld, "R1"),
            scene.Say(670, new BenchCommand.ReleaseResult(R("R1"), "Compared.")));
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

    private static Scene ReadTooEarly(int cleared = 640)
    {
        var scene = Reacting();
        scene.Say(400, new BenchCommand.ReadStarted(R("R1"), Reader1, false), id: "read");
        scene.Say(cleared, new BenchCommand.Cleared(R("R1"), Reader1));
        return scene;
    }

    private static void Correct(Scene scene, int to) =>
        Accept(scene.Say(700, new BenchCommand.CorrectReport(new ReportId("read"), At(to), null, null, "A slip.")));
}
