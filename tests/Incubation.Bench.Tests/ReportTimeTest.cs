using Incubation.Model;
using NodaTime;
using NodaTime.Text;
using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>Reports whose time cannot be, or that another sent than they name.</summary>
public sealed class ReportTimeTest
{
    [Fact]
    public void Report_SentByAnother_StandsInTheLogWithBoth()
    {
        var scene = Running(Request("R1"));
        var decided = LiveBench.Decide(scene.Now, new BenchCommand.Mixed(R("R1")), Touch with
        { Identity = Identity.NotChecked, Sender = new PersonId("mara") });

        var events = Assert.IsType<Decision.Accepted>(decided).Events;
        Assert.Equal([new BenchEvent.IdentityNotChecked(), new BenchEvent.SentByAnother(new PersonId("mara"))],
            events.Skip(1));
    }

    [Fact]
    public void Report_SentByItsPerson_SaysNothingOfASender()
    {
        var scene = Running(Request("R1"));
        var decided = LiveBench.Decide(scene.Now, new BenchCommand.Mixed(R("R1")),
            Touch with { Sender = Touch.Person });

        Assert.DoesNotContain(Assert.IsType<Decision.Accepted>(decided).Events,
            happened => happened is BenchEvent.SentByAnother);
    }

    [Fact]
    public void Report_WithATimeThatNobodyCanRead_StandsWithItsText()
    {
        var scene = Running(Request("R1"));
        var decided = LiveBench.Decide(scene.Now, new BenchCommand.Mixed(R("R1")), Touch with { Claimed = "noon" });

        Assert.Equal(new BenchEvent.TimeNotTaken("noon", TimeFault.Unreadable),
            Assert.IsType<Decision.Accepted>(decided).Events[^1]);
    }

    [Theory]
    [InlineData("1970-01-01T00:00:00Z", TimeFault.TooEarly)]
    [InlineData("-9998-01-01T00:00:00Z", TimeFault.TooEarly)]
    [InlineData("2026-03-02T07:59:54Z", TimeFault.TooEarly)]
    [InlineData("2026-03-02T08:01:06Z", TimeFault.AfterArrival)]
    [InlineData("2262-04-11T23:47:17Z", TimeFault.AfterArrival)]
    [InlineData("9999-12-31T23:59:59.999999999Z", TimeFault.AfterArrival)]
    public void Report_AtATimeThatCannotBe_IsRecordedAsOfItsArrivalAndAskedFor(string at, TimeFault why)
    {
        var scene = Running(Request("R1"));
        SayAt(scene, at, 60, new BenchCommand.Mixed(R("R1")));

        Assert.Equal(new BenchEvent.TimeNotTaken(at, why), scene.Entries[^1].Event);
        Assert.Equal((At(60), At(60)), (scene.Entries[^1].Provenance.At, scene.Now.Story[^1].At));
        Assert.Equal(At(60), Assert.IsType<CartridgePhase.Mixed>(scene.Find("R1").Phase).MixEnd.Latest);
        Assert.Equal([Deviation.TimeNotTaken], scene.Find("R1").Deviations);
        var asked = Assert.Single(scene.View(61).Questions);
        Assert.Equal((QuestionKind.WhenDone, R("R1")), (asked.Key.Kind, asked.Request!.Value));
    }

    [Theory]
    [InlineData("2026-03-02T08:01:05Z", 60)]
    [InlineData("2026-03-02T07:59:55Z", -5)]
    public void Report_WhoseClockDiffersALittle_IsTakenOver(string at, double recorded)
    {
        var scene = Running(Request("R1"));
        SayAt(scene, at, 60, new BenchCommand.Mixed(R("R1")));

        Assert.Equal(At(recorded), scene.Now.Story[^1].At);
        Assert.Empty(scene.Find("R1").Deviations);
        Assert.DoesNotContain(scene.Entries, entry => entry.Event is BenchEvent.TimeNotTaken);
    }

    [Fact]
    public void Step_BeforeItsRequestCame_IsRecordedAsOfItsArrival()
    {
        var scene = Running(Request("R1"));
        scene.Say(100, new BenchCommand.AddRequests([Request("R2")]));
        scene.Say(94, new BenchCommand.Mixed(R("R2")), arrived: 120);
        scene.Say(94, new BenchCommand.CardSeen(Reader1, new LotCode("L1")), arrived: 121);

        Assert.Equal([Deviation.TimeNotTaken], scene.Find("R2").Deviations);
        Assert.Equal([At(120), At(94)], scene.Now.Story.Select(told => told.At));
    }

    [Fact]
    public void Report_BeforeTheLastClose_IsRecordedAsOfItsArrival()
    {
        var scene = Running(Request("R1"));
        scene.Say(10, new BenchCommand.WithdrawRequest(R("R1"), "not wanted any more"));
        scene.Say(20, new BenchCommand.CloseBatch());
        scene.Say(14, new BenchCommand.CardSeen(Reader1, new LotCode("L1")), arrived: 30);

        Assert.Equal(At(30), Assert.Single(scene.Now.Story).At);
        Assert.IsType<BenchEvent.TimeNotTaken>(scene.Entries[^1].Event);
        Assert.Equal(QuestionKind.WhenDone, Assert.Single(scene.View(31).Questions).Key.Kind);
    }

    [Fact]
    public void ItsTime_Answered_FreesTheResult()
    {
        var scene = Running(Request("R1"));
        SayAt(scene, "1970-01-01T00:00:00Z", 60, new BenchCommand.Mixed(R("R1")));
        var key = scene.View(61).Questions[0].Key;

        RevisingTest.Accept(scene.Say(40, new BenchCommand.AnswerQuestion(key, Answer.AtThatTime, TimeStated: true),
            arrived: 70));

        Assert.Empty(scene.Find("R1").Deviations);
        Assert.Empty(scene.View(71).Questions);
        Assert.Equal((At(40), (string?)null), (scene.Now.Story[^1].At, scene.Now.Story[^1].Claimed));
        Assert.Equal(Told(scene.Now), Told(scene.Entries.Aggregate((BenchState?)null, LiveBench.Apply)!));
    }

    [Fact]
    public void ItsTime_KnownToNobody_KeepsTheResultHeldAndAsksNoMore()
    {
        var scene = Running(Request("R1"));
        SayAt(scene, "1970-01-01T00:00:00Z", 60, new BenchCommand.Mixed(R("R1")));

        RevisingTest.Accept(scene.Say(70,
            new BenchCommand.AnswerQuestion(scene.View(61).Questions[0].Key, Answer.NotKnown)));

        Assert.Equal([Deviation.TimeNotTaken], scene.Find("R1").Deviations);
        Assert.Empty(scene.View(71).Questions);
    }

    [Fact]
    public void ReadWhoseTimeIsNotKnown_IsJudgedByItsWindowOnlyWhenItIs()
    {
        var scene = Reacting();
        SayAt(scene, "9999-12-31T00:00:00Z", 2000, new BenchCommand.ReadStarted(R("R1"), Reader1, false));
        Assert.Equal([Deviation.TimeNotTaken], scene.Find("R1").Deviations);
        Assert.Null(scene.Find("R1").ReadInWindow);

        RevisingTest.Accept(scene.Say(2010,
            new BenchCommand.CorrectReport(scene.Now.Story[^1].Id, At(600), null, null, "by the reader's own clock")));

        Assert.Empty(scene.Find("R1").Deviations);
        Assert.True(scene.Find("R1").ReadInWindow);
    }

    [Theory]
    [InlineData("1970-01-01T00:00:00Z")]
    [InlineData("9999-12-31T23:59:59Z")]
    public void TimeThatIsTyped_AndCannotBe_IsRefused(string at)
    {
        var scene = Running(Request("R1"));
        SayAt(scene, "1970-01-01T00:00:00Z", 60, new BenchCommand.Mixed(R("R1")));
        var (before, told) = (scene.Now, scene.Now.Story[^1].Id);

        var corrected = scene.Say(70, new BenchCommand.CorrectReport(told, Moment(at), null, null, null));
        var answered = SayAt(scene, at, 70, new BenchCommand.AnswerQuestion(scene.View(61).Questions[0].Key,
            Answer.AtThatTime, TimeStated: true));
        var closed = SayAt(scene, at, 70, new BenchCommand.CloseBatch());

        Assert.All([corrected, answered, closed],
            decision => Assert.Equal(new Decision.Refused(Refusal.UnreadableTime), decision));
        Assert.Same(before, scene.Now);
    }

    [Fact]
    public void ReportsAfterAServersClockWentBack_AreNotTooEarly()
    {
        var scene = Running(Request("R1"));
        scene.Say(-600, new BenchCommand.Mixed(R("R1")));

        Assert.DoesNotContain(scene.Entries, entry => entry.Event is BenchEvent.TimeNotTaken);
    }

    private static Decision SayAt(Scene scene, string at, double arrived, BenchCommand command) =>
        scene.Say(Moment(at), At(arrived), command);

    private static Instant Moment(string at) => InstantPattern.ExtendedIso.Parse(at).Value;

    private static Provenance Touch { get; } =
        new(new ReportId("tap"), At(50), At(50), new PersonId("lena"), Tablet);
}
