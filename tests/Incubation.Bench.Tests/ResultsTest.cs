using Incubation.Model;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What becomes of a result: held, released, amended, told.</summary>
public sealed class ResultsTest
{
    private static readonly ResultRule Rule = new(1, ValueRange.Open, ValueRange.Open, new ValueRange(null, 100));

    [Theory]
    [InlineData(ResultIdentity.Matches, false)]
    [InlineData(ResultIdentity.NotAsked, false)]
    [InlineData(ResultIdentity.Missing, true)]
    [InlineData(ResultIdentity.Different, true)]
    public void Entered_AgainstAnIdentity_IsHeldUnlessItIsTheSpecimens(ResultIdentity identity, bool held)
    {
        var scene = Read("4.2", identity);
        Assert.Equal(held, scene.Find("R1").IsHeld);
        Assert.Equal(held, Assert.IsType<BenchEvent.ResultEntered>(scene.Entries[^1].Event).Held);
    }

    /// <summary>Whoever typed a held result once more, with its identity, let it out without a supervisor.</summary>
    [Theory]
    [InlineData(ResultIdentity.Missing)]
    [InlineData(ResultIdentity.Different)]
    public void Entered_OnceMoreWithTheRightIdentity_IsHeldUntilASupervisorReleasesIt(ResultIdentity identity)
    {
        var scene = Read("4.2", identity);
        scene.Say(700, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.3"),
            new ShownIdentity("SP-R1")));
        Assert.True(Assert.IsType<BenchEvent.ResultEntered>(scene.Entries[^1].Event).Held);
        Assert.Equal((true, identity), (scene.Find("R1").IsHeld, scene.Find("R1").Status!.Identity));
        Assert.False(scene.Find("R1").Use.IsReported);
        scene.Say(710, new BenchCommand.ReleaseResult(R("R1"), "Looked at with the aide"));
        Assert.True(scene.Find("R1").Use.IsReported);
        scene.Say(720, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.4"),
            new ShownIdentity("SP-R1")));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>
    /// Whoever took a held result back, with nothing reported since, or said that it was never read, entered it clean
    /// without a supervisor.
    /// </summary>
    [Theory]
    [InlineData("4.2", ResultIdentity.Different, true, false)]
    [InlineData("4.2", ResultIdentity.Missing, true, false)]
    [InlineData("4.2", ResultIdentity.Matches, false, false)]
    [InlineData("<200", ResultIdentity.Matches, true, false)]
    [InlineData("4.2", ResultIdentity.Different, true, true)]
    [InlineData("<200", ResultIdentity.Matches, true, true)]
    public void Entered_OnceWhatWasHeldIsTakenBack_WaitsUntilASupervisorReleasesIt(string value,
        ResultIdentity identity, bool isChecked, bool wasNeverRead)
    {
        var scene = ReadResults.Of("4.1", identity: ResultIdentity.Matches);
        scene.Say(662, new BenchCommand.Undo(scene.Now.Undo!.Report));
        Assert.False(scene.Find("R1").HeldBefore);
        scene.Say(664, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value(value), identity switch
        {
            ResultIdentity.Different => new ShownIdentity("SP-R2"),
            ResultIdentity.Missing => ShownIdentity.None,
            _ => new ShownIdentity("SP-R1"),
        }), new PersonId("aide"), isChecked ? Identity.Checked : Identity.NotChecked);
        Assert.True(scene.Find("R1").IsHeld);
        if (wasNeverRead)
        {
            scene.Say(666, new BenchCommand.CorrectReport(
                scene.Now.Story.Find(told => told.Event is BenchEvent.ReadStarted)!.Id, null, null, null, "It was R2.",
                true));
            scene.Say(600, new BenchCommand.ReadStarted(R("R1"), Reader1, false), arrived: 667);
        }
        else
            scene.Say(666, new BenchCommand.Undo(scene.Now.Undo!.Report));
        Assert.Null(scene.Find("R1").Result);

        scene.Say(700, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.3"),
            new ShownIdentity("SP-R1")));
        Assert.True(Assert.IsType<BenchEvent.ResultEntered>(scene.Entries[^1].Event).Held);
        Assert.Equal(ResultHold.HeldBefore, ResultUse.HoldsOf(scene.Find("R1")).First());
        // Neither taking that back nor typing it once more lets it out.
        scene.Say(702, new BenchCommand.Undo(scene.Now.Undo!.Report));
        scene.Say(704, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.3"),
            new ShownIdentity("SP-R1")));
        scene.Say(706, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.4"),
            new ShownIdentity("SP-R1")));
        Assert.True(scene.Find("R1").IsHeld);
        scene.Say(710, new BenchCommand.ReleaseResult(R("R1"), "Looked at with the aide"));
        Assert.False(scene.Find("R1").IsHeld);
        scene.Say(720, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.5"),
            new ShownIdentity("SP-R1")));
        Assert.False(scene.Find("R1").IsHeld);
    }

    /// <summary>What was held over a result that was out waits too when it is taken back.</summary>
    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void TakenBack_WhatWasHeldOverAResultThatWasOut_Waits(bool wasReleased)
    {
        var scene = ReadResults.Of("4.2", identity: wasReleased ? ResultIdentity.Missing : ResultIdentity.Matches);
        if (wasReleased)
            scene.Say(670, new BenchCommand.ReleaseResult(R("R1"), "Looked at with the aide"));
        Assert.True(scene.Find("R1").Use.IsReported);
        scene.Say(680, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("9"), new ShownIdentity("SP-R2")));
        scene.Say(690, new BenchCommand.Undo(scene.Now.Undo!.Report));
        Assert.Equal(new ReadResult.Measured("4.2", "mg/L"), scene.Find("R1").Result);
        Assert.True(scene.Find("R1").IsHeld);
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "It was R2's"));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>What a former version let out, it let out.</summary>
    [Fact]
    public void Applied_AnEntryThatWasNotHeldThen_IsOut()
    {
        var scene = Read("4.2", ResultIdentity.Different);
        scene.Say(670, new BenchCommand.Undo(scene.Now.Undo!.Report));
        Assert.True(scene.Find("R1").HeldBefore);
        scene.Record(new BenchEvent.ResultEntered(R("R1"), new ReadResult.Measured("4.2", "mg/L"), false,
            ResultIdentity.Matches), At(680));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>A control's specimen had to be typed as the program would write it.</summary>
    [Theory]
    [InlineData("K-1 L2", true)]
    [InlineData("k-1 l2", true)]
    [InlineData(" K-1 level 2 ", true)]
    [InlineData("K-1, Level 2", true)]
    [InlineData("K-1L2", true)]
    [InlineData("K-1 2", true)]
    [InlineData("K-1/2", true)]
    [InlineData("SP-R1", true)]
    [InlineData("K-1 L1", false)]
    [InlineData("K-1 L12", false)]
    [InlineData("K-12", false)]
    [InlineData("K-1", false)]
    [InlineData("K1 L2", false)]
    [InlineData("L2", false)]
    [InlineData("K-2 L2", false)]
    [InlineData("", false)]
    public void Entered_OfAControl_ItsLotAndLevelAreItsIdentityAsPeopleWriteThem(string shown, bool isIts)
    {
        var wanted = Request("R1") with
        {
            Facts = new RunFacts(Rule, StepTexts.None, null, ControlGate.None,
                new ControlMaterial(new LotCode("K-1"), 2), null),
        };
        var control = wanted with { Request = wanted.Request with { Kind = RequestKind.Control } };
        Assert.Equal(isIts, new ShownIdentity(shown).Against(control) == ResultIdentity.Matches);
        // A patient's specimen is compared as it is.
        Assert.Equal(shown == "SP-R1", new ShownIdentity(shown).Against(wanted) == ResultIdentity.Matches);
    }

    [Fact]
    public void Entered_UnderANameThatNobodyChecked_IsHeldUntilReleased()
    {
        var scene = Read("4.2", ResultIdentity.Matches);
        var provenance = new Provenance(new ReportId("sent"), At(670), At(670), new PersonId("supervisor"), Tablet,
            Identity.NotChecked, Sender: new PersonId("aide"));
        var told = new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.3"), new ShownIdentity("SP-R1"));

        var events = Assert.IsType<Decision.Accepted>(LiveBench.Decide(scene.Now, told, provenance)).Events;
        var state = events.Aggregate(scene.Now, (before, happened) =>
            LiveBench.Apply(before, new BenchEntry(happened, provenance)));

        Assert.True(Assert.IsType<BenchEvent.ResultEntered>(events[0]).Held);
        var cartridge = state.Find(R("R1"))!;
        Assert.True(cartridge.IsHeld);
        Assert.Equal((true, new PersonId("aide")), (cartridge.Status!.NotChecked, cartridge.Status.Sender));
        // An old log has a result and its marks, and no event that holds it: what went out then stays as recorded.
        var old = events.Where(happened => happened is not BenchEvent.ResultNotChecked)
            .Aggregate(scene.Now, (before, happened) =>
                LiveBench.Apply(before, new BenchEntry(happened, provenance)));
        Assert.False(old.Find(R("R1"))!.IsHeld);
    }

    /// <summary>
    /// What held a result is settled by the answer to a question, or by a look at the card, of somebody who is known;
    /// what is corrected waits for the supervisor, whoever corrects it.
    /// </summary>
    [Theory]
    [InlineData("answer", Identity.Checked)]
    [InlineData("answer", Identity.NotChecked)]
    [InlineData("correct", Identity.Checked)]
    [InlineData("correct", Identity.NotChecked)]
    [InlineData("card", Identity.Checked)]
    [InlineData("card", Identity.NotChecked)]
    public void Held_ByWhatSomebodySaysWasOtherwise_IsLetOutByACheckedNameOrASupervisor(string how, Identity identity)
    {
        var scene = Reacting();
        if (how == "answer")
            scene.Say(570, new BenchCommand.CardChanged(Reader1, new LotCode("L1")));
        else if (how == "card")
            scene.Say(200, new BenchCommand.NoteRestart(At(150), true));
        var start = how switch { "answer" => 571, "card" => 590, _ => 400 };
        scene.Say(start, new BenchCommand.ReadStarted(R("R1"), Reader1, false), id: "read");
        scene.Say(640, new BenchCommand.Cleared(R("R1"), Reader1));
        scene.Say(650, new BenchCommand.ResultEntered(R("R1"), new ShownResult.Value("4.2")));
        Assert.Equal(ResultHold.Deviation, scene.Find("R1").Use.Hold);

        Accept(scene.Say(700, how switch
        {
            "answer" => new BenchCommand.AnswerQuestion(scene.View(700).Questions[0].Key, Answer.Stands),
            "card" => new BenchCommand.CardSeen(Reader1, new LotCode("L1")),
            _ => new BenchCommand.CorrectReport(new ReportId("read"), At(590), null, null, "A slip."),
        }, new PersonId("somebody"), identity));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Equal(identity == Identity.NotChecked ? ResultHold.NotChecked
            : how == "correct" ? ResultHold.Corrected : ResultHold.None, scene.Find("R1").Use.Hold);
        if (scene.Find("R1").IsHeld)
            Accept(scene.Say(710, new BenchCommand.ReleaseResult(R("R1"), "Compared with the memory."),
                new PersonId("supervisor")));
        Assert.True(scene.Find("R1").Use.IsReported);
    }

    /// <summary>What a person says of the value on an old screen is said of no other.</summary>
    [Fact]
    public void Said_OfAValueThatIsNotShownAnyMore_IsRefused()
    {
        var scene = Read("400", ResultIdentity.Missing);
        var (shown, other) = (scene.Find("R1").Result, new ReadResult.Measured("12", "mg/L"));
        scene.Say(700, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("12"), "Typing"));
        BenchCommand.OfResult[] said =
        [
            new BenchCommand.ReleaseResult(R("R1"), "I saw 400"),
            new BenchCommand.TellCritical(R("R1"), "Dr. Any", true),
            new BenchCommand.WaiveTelling(R("R1"), "It is known"),
            new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("40"), "A zero too many"),
        ];
        foreach (var one in said)
            Assert.Equal(new Decision.Refused(Refusal.ResultChanged, "R1"),
                scene.Say(701, one with { Seen = shown }));
        Accept(scene.Say(702, said[0] with { Seen = scene.Find("R1").Result }));

        scene.Say(710, new BenchCommand.ProposeAmendment(R("R1"), new ShownResult.Value("13"), "Typing"));
        Assert.Equal(new Decision.Refused(Refusal.ResultChanged, "R1"), scene.Say(711,
            new BenchCommand.ConfirmAmendment(R("R1"), "Compared") { Seen = other }, new PersonId("second")));
        Accept(scene.Say(712, new BenchCommand.ConfirmAmendment(R("R1"), "Compared")
        {
            Seen = scene.Find("R1").Status!.Proposal!.After,
        }, new PersonId("second")));
    }

    [Fact]
    public void Released_AHeldResult_GoesOutWithItsReason()
    {
        var scene = Read("4.2", ResultIdentity.Missing);
        Assert.Equal(new Decision.Refused(Refusal.ReasonMissing),
            scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), " ")));
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "Read again on the display"));
        Assert.False(scene.Find("R1").IsHeld);
        Assert.Equal("Read again on the display", scene.Find("R1").Status!.Released);
        Assert.Equal(new Decision.Refused(Refusal.NotHeld, "R1"),
            scene.Say(701, new BenchCommand.ReleaseResult(R("R1"), "Again")));
    }

    [Fact]
    public void Amended_AResult_KeepsTheFirstOne()
    {
        var scene = Read("4.2", ResultIdentity.Matches);
        Assert.Equal(new Decision.Refused(Refusal.SameResult, "R1"),
            scene.Say(700, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("4.2"), "Typing")));
        scene.Say(700, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("42.0"), "The point was missed"));
        scene.Say(710, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("42.1"), "Typing"));
        var cartridge = scene.Find("R1");
        Assert.Equal("42.1", cartridge.Marked!.Reported);
        Assert.Equal([new ReadResult.Measured("4.2", "mg/L"), new ReadResult.Measured("42.0", "mg/L")],
            cartridge.Status!.Earlier.Select(earlier => earlier.Was));
        Assert.Equal("The point was missed", cartridge.Status.Earlier[0].Why);
    }

    [Fact]
    public void Critical_ToldToNobody_KeepsTheBatchOpen()
    {
        var scene = Read("101", ResultIdentity.Matches);
        Assert.True(scene.Find("R1").MustBeTold);
        Assert.Equal(new Decision.Refused(Refusal.CriticalNotTold), scene.Say(700, new BenchCommand.CloseBatch()));
        scene.Say(710, new BenchCommand.TellCritical(R("R1"), "Nurse on ward 3", true));
        Assert.Equal(new CriticalNotice("Nurse on ward 3", At(710), new PersonId("aide"), true),
            scene.Find("R1").Status!.Told);
        Assert.IsType<Decision.Accepted>(scene.Say(720, new BenchCommand.CloseBatch()));
    }

    [Fact]
    public void Critical_AmendedAfterItWasTold_MustBeToldAgain()
    {
        var scene = Read("101", ResultIdentity.Matches);
        scene.Say(710, new BenchCommand.TellCritical(R("R1"), "Nurse", true));
        scene.Say(720, new BenchCommand.AmendResult(R("R1"), new ShownResult.Value("110"), "Typing"));
        Assert.True(scene.Find("R1").MustBeTold);
    }

    [Fact]
    public void OfResult_BeforeThereIsOne_IsRefused() =>
        Assert.Equal(new Decision.Refused(Refusal.NoResult, "R1"),
            Reacting().Say(110, new BenchCommand.ReleaseResult(R("R1"), "Why not")));

    /// <summary>An account revised later leaves what was said of the result.</summary>
    [Fact]
    public void Correction_AfterARelease_LeavesResultAndRelease()
    {
        var scene = Read("4.2", ResultIdentity.Missing);
        scene.Say(700, new BenchCommand.ReleaseResult(R("R1"), "Seen"));
        var load = scene.Now.Story.First(told => told.Event is BenchEvent.Loaded).Id;
        scene.Say(705, new BenchCommand.CorrectReport(load, At(70), null, null, "It was earlier"));
        Assert.Equal("Seen", scene.Find("R1").Status!.Released);
        Assert.Equal("4.2", scene.Find("R1").Marked!.Reported);
    }

    /// <summary>R1 run as planned, by an assay that states no measuring range; above 100 is critical.</summary>
    private static Scene Read(string value, ResultIdentity identity) =>
        ReadResults.Of(value, identity: identity, rule: Rule);
}
