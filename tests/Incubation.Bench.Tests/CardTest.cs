using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Bench.Tests.RevisingTest;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>A card that nobody has seen since something happened, and a server that was down.</summary>
public sealed class CardTest
{

    [Fact]
    public void Restart_MakesTheCardUnknownUntilSeen()
    {
        var scene = Reacting();
        Accept(scene.Say(200, new BenchCommand.NoteRestart(At(150), true)));
        Assert.False(scene.Now.HasCards);
        var asked = Assert.Single(scene.View(201).Questions, question => question.Key.Kind == QuestionKind.CardInDoubt);
        Assert.Equal(Refusal.AnswerIncomplete,
            Refused(scene.Say(205, new BenchCommand.AnswerQuestion(asked.Key, Answer.CardIs))));
        Accept(scene.Say(206, new BenchCommand.AnswerQuestion(asked.Key, Answer.CardIs, Lot: new LotCode("L1"))));
        Assert.Equal(new LotCode("L1"), scene.Now.CardIn(Scene.Reader1));
        Assert.DoesNotContain(scene.View(207).Questions, question => question.Key.Kind == QuestionKind.CardInDoubt);
    }

    [Fact]
    public void ReadWhileTheCardIsUnknown_IsHeldUntilItProvesRight()
    {
        var scene = Reacting();
        scene.Say(200, new BenchCommand.NoteRestart(At(150), true));
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Equal([Deviation.OtherCard], scene.Find("R1").Deviations);
        Assert.Single(scene.View(561).Questions, question => question.Key.Kind != QuestionKind.PowerCut);
        Accept(scene.Say(570, new BenchCommand.CardSeen(Reader1, new LotCode("L1"))));
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.DoesNotContain(scene.View(571).Questions, question => question.Key.Kind != QuestionKind.PowerCut);
    }

    [Fact]
    public void CardThatProvesWrong_HoldsEveryReadSinceItWasLastSeen()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Empty(scene.Find("R1").Deviations);
        Accept(scene.Say(590, new BenchCommand.CardSeen(Reader1, new LotCode("L2"))));
        Assert.Equal([Deviation.OtherCard], scene.Find("R1").Deviations);
        Assert.Equal(new LotCode("L2"), scene.Now.CardIn(Scene.Reader1));
        Assert.Empty(scene.View(591).Questions);
    }

    [Fact]
    public void CorrectedCard_IsUnknownAndHoldsTheReadsItSpoils()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Accept(
            scene.Say(570,
                new BenchCommand.CorrectReport(IdOf<BenchEvent.CardChanged>(scene), null, null, new LotCode("L2"),
                    "read the wrong line")));
        Assert.Equal([Deviation.OtherCard], scene.Find("R1").Deviations);
        Assert.False(scene.Now.HasCards);
        Assert.Equal(CardDoubtCause.Corrected, scene.Now.DoubtOf(Scene.Reader1)!.Cause);
    }

    [Fact]
    public void ReaderBackInUse_ItsCardIsUnknown()
    {
        var scene = Reacting();
        scene.Say(110, new BenchCommand.PutOutOfUse(new BenchResource.Reader(new ReaderNumber(1)), null, "service"));
        scene.Say(200, new BenchCommand.PutBackInUse(new BenchResource.Reader(new ReaderNumber(1))));
        Assert.Equal(new CardDoubt(new LotCode("L1"), CardDoubtCause.ReaderWasOut), scene.Now.DoubtOf(Scene.Reader1));
        scene.Plan(200, PlanCause.MeansChanged);
        Assert.Contains(scene.Now.Adopted!.Remaining, row => row.Step.Action is StepAction.CardChange);
    }

    [Theory]
    [InlineData(500, true)]
    [InlineData(700, false)]
    public void Restart_SaysHowLongItWasDownAndWhatIsGoodAndLost(double back, bool good)
    {
        var scene = Reacting();
        Accept(scene.Say(back, new BenchCommand.NoteRestart(At(120), true)));
        var outage = scene.Now.Outage!;
        Assert.Equal((At(120), At(back)), (outage.Since, outage.Until));
        Assert.Equal(good ? [R("R1")] : [], outage.Good);
        Assert.Equal(good ? [] : [R("R1")], outage.Lost);
        scene.Plan(back, PlanCause.Restarted);
        Assert.NotEmpty(scene.View(back).Offers);
        var asked = Assert.Single(scene.View(back).Questions, question => question.Key.Kind == QuestionKind.PowerCut);
        Accept(scene.Say(back + 5, new BenchCommand.AnswerQuestion(asked.Key, Answer.Seen)));
        Assert.Null(scene.Now.Outage);
    }

    [Theory]
    [InlineData(80, null)]
    [InlineData(200, PlanCause.Restarted)]
    public void Restart_ThatChangesNothingThePlanRestsOn_WantsNoOther(double back, PlanCause? cause)
    {
        // The card is put in at 100: before that nobody knew one.
        var scene = back < 100 ? Running(Request("R1")) : Reacting();
        var restart = new BenchCommand.NoteRestart(At(back - 10), true);
        Assert.Equal(cause,
            ReplanCauses.Of(restart, Assert.IsType<Decision.Accepted>(scene.Say(back, restart)).Events));
    }

    [Fact]
    public void Restart_WhoseClockCannotBeBelieved_CallsNothingLost()
    {
        var scene = Reacting();
        Accept(scene.Say(700, new BenchCommand.NoteRestart(At(120), false)));
        Assert.Empty(scene.Now.Outage!.Lost);
        Assert.False(scene.Now.Outage.ClockBelieved);
    }

    [Fact]
    public void Restart_WhoseClockIsAgreedLater_SaysThenWhatIsLost()
    {
        var scene = Reacting();
        scene.Say(700, new BenchCommand.NoteRestart(At(120), false));
        scene.Say(700, new BenchCommand.NoteClock(Seconds(60)));
        scene.Say(720, new BenchCommand.NoteClock(null));
        Assert.Equal([R("R1")], scene.Now.Outage!.Lost);
        Assert.Equal((At(120), At(700), true),
            (scene.Now.Outage.Since, scene.Now.Outage.Until, scene.Now.Outage.ClockBelieved));
        Assert.Single(scene.View(721).Questions, question => question.Key.Kind == QuestionKind.PowerCut);
    }

    [Fact]
    public void Clock_GoneBackByMoreThanFiveSeconds_IsMarkedAndWithholdsVerdicts()
    {
        var scene = Reacting();
        scene.Say(700, new BenchCommand.NotBegun(new HandsNumber(1)));
        Accept(scene.Say(694, new BenchCommand.ReadStarted(R("R1"), Reader1, false)));
        Assert.Equal(new ClockMark(At(694), Seconds(6)), scene.Now.ClockMark);
        Assert.Equal([Deviation.ClockInDoubt], scene.Find("R1").Deviations);
        Accept(scene.Say(710, new BenchCommand.NoteClock(null)));
        Assert.Null(scene.Now.ClockMark);
    }

    /// <summary>A tablet at 9999: what no log can say was not written, and the bench stood still.</summary>
    [Theory]
    [InlineData(2_900_000)]
    [InlineData(-2_900_000)]
    public void Clock_WrongByMoreThanALogCanSay_IsRecordedAsMuch(int days)
    {
        var scene = Reacting();
        Accept(scene.Say(561, new BenchCommand.NoteClock(Duration.FromDays(days))));
        Assert.Equal(Duration.FromDays(Math.Sign(days) * 36_525), scene.Now.ClockMark!.Ahead);
    }

    [Fact]
    public void Clock_InDoubt_StaysSoWhenAReportFromBeforeIsUndone()
    {
        var scene = Reacting();
        scene.Say(560, new BenchCommand.ReadStarted(R("R1"), Reader1, false), id: "read");
        scene.Say(561, new BenchCommand.NoteClock(Seconds(9)));
        Accept(scene.Say(562, new BenchCommand.Undo(new ReportId("read"))));
        Assert.NotNull(scene.Now.ClockMark);
    }

    [Fact]
    public void Clock_WithinFiveSeconds_IsNoJump()
    {
        var scene = Reacting();
        scene.Say(600, new BenchCommand.NotBegun(new HandsNumber(1)));
        scene.Say(595, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Null(scene.Now.ClockMark);
    }
}
