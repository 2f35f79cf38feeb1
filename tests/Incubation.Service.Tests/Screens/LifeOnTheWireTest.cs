using System.Text.Json;
using Incubation.Bench;
using Incubation.Chart;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records;
using Incubation.Service.Alarms;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Hosting;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Tests.Support;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Tests.Screens;

/// <summary>
/// Corrections, questions, and what comes and goes: read from a screen's command, shown in its snapshot.
/// </summary>
public sealed class LifeOnTheWireTest : IDisposable
{
    private static readonly RequestId R1 = new("R1");
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-wire-").FullName;
    private readonly DataFile file;
    private readonly ClinicHost clinic;

    public LifeOnTheWireTest()
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        clinic = new ClinicHost(file);
    }

    public void Dispose()
    {
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    [Theory]
    [InlineData("""{"kind":"correct","of":"T1","then":"2026-03-02T08:01:00Z","slot":3,"words":"why"}""",
        typeof(BenchCommand.CorrectReport))]
    [InlineData("""{"kind":"undo","of":"T1","with":["T2","T3"]}""", typeof(BenchCommand.Undo))]
    [InlineData("""{"kind":"answer","question":"contradiction/T7","answer":"other-cleared"}""",
        typeof(BenchCommand.AnswerQuestion))]
    [InlineData("""{"kind":"answer","question":"card-in-doubt/1","answer":"card-is","lot":"L1"}""",
        typeof(BenchCommand.AnswerQuestion))]
    [InlineData("""{"kind":"card-seen","reader":1,"lot":"L1"}""", typeof(BenchCommand.CardSeen))]
    [InlineData("""{"kind":"temperature","celsius":25.4}""", typeof(BenchCommand.TemperatureMeasured))]
    [InlineData("""{"kind":"several","told":[{"kind":"mixed","request":"R1","at":"2026-03-02T08:00:00Z"}]}""",
        typeof(BenchCommand.Several))]
    [InlineData("""{"kind":"ready","request":"R1"}""", typeof(BenchCommand.ChangeReady))]
    [InlineData("""{"kind":"out-of-use","resource":"hands","number":1,"minutes":10,"anyway":true}""",
        typeof(BenchCommand.PutOutOfUse))]
    [InlineData("""{"kind":"in-use","resource":"incubator"}""", typeof(BenchCommand.PutBackInUse))]
    [InlineData("""{"kind":"hands","hands":2}""", typeof(BenchCommand.ChangeHands))]
    [InlineData("""{"kind":"pause-intake"}""", typeof(BenchCommand.PauseIntake))]
    [InlineData("""{"kind":"incubator","celsius":25,"tolerance":1.5,"rules":[{"assay":"DA","minutes":2}]}""",
        typeof(BenchCommand.SetIncubator))]
    public async Task Read_Command_IsUnderstood(string json, Type expected)
    {
        await using var rig = await BenchRig.OpenAsync();
        Assert.IsType(expected, Assert.IsType<CommandReading.Readable>(Read(rig, json)).Envelope.Command);
    }

    [Theory]
    [InlineData("""{"kind":"correct","of":"T1","then":"half past eight"}""", "then")]
    [InlineData("""{"kind":"answer","question":"nonsense/T7","answer":"mistake"}""", "question")]
    [InlineData("""{"kind":"answer","question":"contradiction/T7","answer":"nonsense"}""", "answer")]
    [InlineData("""{"kind":"temperature","celsius":998}""", "celsius")]
    [InlineData("""{"kind":"temperature"}""", "celsius")]
    [InlineData("""{"kind":"several"}""", "told")]
    [InlineData("""{"kind":"several","told":[]}""", "told")]
    [InlineData("""{"kind":"several","told":[null]}""", "told")]
    [InlineData("""{"kind":"several","told":[{"kind":"mixed","at":"2026-03-02T08:00:00Z"}]}""", "request")]
    [InlineData("""{"kind":"several","told":[{"kind":"mixed","request":"R1","at":"noon"}]}""", "at")]
    [InlineData("""{"kind":"several","told":[{"kind":"close-batch","at":"2026-03-02T08:00:00Z"}]}""", "told")]
    [InlineData("""{"kind":"several","told":[{"kind":"several","told":[]}]}""", "told")]
    [InlineData("""{"kind":"out-of-use","resource":"door"}""", "resource")]
    [InlineData("""{"kind":"out-of-use","resource":"hands"}""", "number")]
    [InlineData("""{"kind":"out-of-use","resource":"incubator","number":1}""", "number")]
    [InlineData("""{"kind":"out-of-use","resource":"hands","number":1,"minutes":-3}""", "minutes")]
    [InlineData("""{"kind":"incubator","celsius":25,"tolerance":1,"rules":[{"assay":"DA"}]}""", "rules")]
    [InlineData("""{"kind":"mixed","request":"R1\u200b"}""", "request")]
    [InlineData("""{"kind":"card-seen","reader":1,"lot":"L\u0007"}""", "lot")]
    [InlineData("""{"kind":"discarded","request":"R1","reason":"because"}""", "reason")]
    [InlineData("""{"kind":"discarded","request":"R1","reason":"other","words":"a \u202e b"}""", "words")]
    [InlineData("""{"kind":"ready","request":"R1","then":"2026-03-17T08:00:00Z"}""",
        "then is more than 14 days from now")]
    [InlineData("""{"kind":"result","request":"R1","value":"high"}""", "Type a number")]
    [InlineData("""{"kind":"result","request":"R1","value":"\u0661\u0662"}""", "0 to 9")]
    [InlineData("""{"kind":"open-bench"}""", "kind")]
    public async Task Read_CommandWithAMemberThatMeansNothing_NamesIt(string json, string member)
    {
        await using var rig = await BenchRig.OpenAsync();
        Assert.Contains(member, Assert.IsType<CommandReading.Unreadable>(Read(rig, json)).Sentence,
            StringComparison.Ordinal);
    }

    /// <summary>A program's number that can be read in two ways is no reason to lose it: its bench holds it.</summary>
    [Theory]
    [InlineData("1.000,5")]
    [InlineData("1,000")]
    [InlineData(">1 000")]
    public async Task Read_AValueThatCanBeReadInTwoWays_IsTakenAsItCame(string value)
    {
        await using var rig = await BenchRig.OpenAsync();
        var reading = Assert.IsType<CommandReading.Readable>(
            Read(rig, $$"""{"kind":"result","request":"R1","value":"{{value}}"}"""));
        Assert.Equal(new ShownResult.Value(value),
            Assert.IsType<BenchCommand.ResultEntered>(reading.Envelope.Command).Result);
        Assert.Equal(ValueQuestion.NotOneNumber, PossibleValue.QuestionOf(ResultRule.AsDisplayed, value));
    }

    [Fact]
    public async Task Write_Contradiction_IsAQuestionThatOneAnswerFromTheWireSettles()
    {
        await using var rig = await TwoInOneSlot();
        var question = Assert.Single(Snapshot(rig).Questions);
        Assert.Equal(("contradiction", "What became of SP-R1?"), (question.Kind, question.Title));
        Assert.Equal(["other-moved", "other-cleared", "other-discarded", "other-in-slot", "in-slot", "mistake"],
            question.Answers.Select(answer => answer.Answer));
        Assert.Contains("biohazard", question.Answers[2].Text, StringComparison.Ordinal);
        var slot = question.Answers[4].Slots[0];
        var reading = Assert.IsType<CommandReading.Readable>(Read(
            rig, $$"""{"kind":"answer","question":"{{question.Id}}","answer":"in-slot","slot":{{slot}}}"""));
        await rig.Must(reading.Envelope.Command);
        Assert.Empty(Snapshot(rig).Questions);
        Assert.Equal(["R1", "R2"], Snapshot(rig).Slots.Select(slot => slot.Request).OfType<string>());
    }

    [Fact]
    public async Task Write_Reports_SayWhatCanBeCorrectedAndUndone()
    {
        await using var rig = await TwoInOneSlot();
        var snapshot = Snapshot(rig);
        Assert.Equal(["loaded", "mixed", "loaded", "mixed"], snapshot.Reports.Select(report => report.Kind));
        Assert.Equal(("SP-R2 loaded in slot 1", 1), (snapshot.Reports[0].Text, snapshot.Reports[0].Slot!.Value));
        Assert.Equal(snapshot.Reports[0].Report, Assert.Single(snapshot.Undos).Report);
        Assert.Equal(["slot recorded as occupied"], snapshot.Slots[0].Marks);
    }

    [Fact]
    public async Task Write_HandsAwayAndWithdrawn_SaysUntilWhenAndWhy()
    {
        await using var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        await rig.Must(new BenchCommand.ChangeReady(new RequestId("R2"), null));
        await rig.Must(new BenchCommand.Mixed(R1));
        await rig.Must(new BenchCommand.WithdrawRequest(R1));
        await rig.Must(new BenchCommand.PutOutOfUse(new BenchResource.Slot(new SlotNumber(2)), null, "cracked"));
        await rig.Until(view => view.View.Offers is [{ Action: StepAction.Discard }]);
        var snapshot = Snapshot(rig);
        Assert.Equal(("discard", "withdrawn"), (snapshot.Offers[0].Kind, snapshot.Offers[0].Reason));
        Assert.Equal(("withdrawn", false), (snapshot.Losses[0].Cause, snapshot.Losses[0].RepeatLeft));
        Assert.Equal(("R2", "held-back"), (snapshot.NotPlanned[0].Request, snapshot.NotPlanned[0].Cause));
        Assert.Equal(("slot", 2, null, "cracked"),
            (snapshot.Means.OutOfUse[0].Resource, snapshot.Means.OutOfUse[0].Number, snapshot.Means.OutOfUse[0].To,
                snapshot.Means.OutOfUse[0].Why));
        Assert.Equal("cracked", snapshot.Slots[1].OutOfUse!.Why);
    }

    [Fact]
    public async Task Write_IncubatorOutside_IsAnAlarmWithItsNumbers()
    {
        await using var rig = await TwoInOneSlot();
        await rig.Must(new BenchCommand.SetIncubator(new IncubatorRule(new Celsius(25), new Celsius(1), [])));
        await rig.Must(new BenchCommand.TemperatureMeasured(new Celsius(27.5)));
        var snapshot = Snapshot(rig);
        var alarm = Assert.Single(snapshot.Alarms, alarm => alarm.Id == "incubator-outside/R2");
        Assert.Equal("It shows 27.5 °C; set to 25.0 °C ± 1.0 °C. The result of SP-R2 is held. Check the incubator.",
            alarm.Text);
        Assert.Equal((27.5, 25), (snapshot.Means.Incubator!.Shows, snapshot.Means.Incubator.Set));
        Assert.Equal(new AlarmKey(AlarmKind.IncubatorOutside, new RequestId("R2")), AlarmText.Parse(alarm.Id));
    }

    [Fact]
    public async Task NoteRestart_BenchInWork_SaysForHowLongAndAsksForTheCard()
    {
        await using var rig = await TwoInOneSlot();
        await rig.Must(new BenchCommand.CardChanged(new ReaderNumber(1), new LotCode("DA-L1")));
        await rig.Book.DisposeAsync();
        var down = rig.State.LastArrived;
        rig.Advance(Duration.FromMinutes(3));
        await using var again = rig.Again();
        await again.Runner.NoteRestartAsync();
        var view = await again.Until(view => view.State.Outage is not null);
        Assert.Equal((down, rig.Now, true),
            (view.State.Outage!.Since, view.State.Outage.Until, view.State.Outage.ClockBelieved));
        var questions = Snapshot(again).Questions;
        Assert.Equal("The server was down for 3:00", questions.Single(question => question.Kind == "power-cut").Title);
        Assert.Contains("Still good: SP-R2. Lost: none.",
            questions.Single(question => question.Kind == "power-cut").Text, StringComparison.Ordinal);
        Assert.True(questions.Single(question => question.Kind == "card-in-doubt").Answers[0].TakesLot);
        Assert.Equal(("the server was down", "DA-L1"),
            (Snapshot(again).Readers[0].CardDoubt, Snapshot(again).Readers[0].CardBelieved));
    }

    [Fact]
    public async Task LifeSign_LeftByAnEarlierRun_SaysSinceWhen()
    {
        await using var rig = await TwoInOneSlot();
        await rig.Book.DisposeAsync();
        rig.Advance(Duration.FromMinutes(2));
        var path = Path.Combine(folder, "a.alive");
        var left = rig.Now;
        new LifeSign(path, new BenchClock(rig.Time, 1)).Leave();
        rig.Advance(Duration.FromMinutes(3));
        await using var again = rig.Again();
        await again.Runner.NoteRestartAsync(new LifeSign(path, new BenchClock(rig.Time, 1)).Last);
        Assert.Equal(left, (await again.Until(view => view.State.Outage is not null)).State.Outage!.Since);
    }

    [Fact]
    public void LifeSign_UnreadableOrAbsent_IsNone()
    {
        var clock = new BenchClock(TimeProvider.System, 1);
        Assert.Null(new LifeSign(Path.Combine(folder, "none.alive"), clock).Last);
        File.WriteAllText(Path.Combine(folder, "bad.alive"), "half a li");
        Assert.Null(new LifeSign(Path.Combine(folder, "bad.alive"), clock).Last);
    }

    [Fact]
    public void Words_EveryAnswerDeviationAndCause_HasOne()
    {
        foreach (var deviation in Enum.GetValues<Deviation>())
            Assert.NotEmpty(ResourceText.Mark(deviation));
        Assert.All(Enum.GetValues<Answer>(), answer =>
            Assert.Equal(answer, KebabCase.Find<Answer>(KebabCase.Of(answer))));
        Assert.All(Enum.GetValues<QuestionKind>(),
            kind => Assert.Equal(new QuestionKey(kind, "x"), QuestionText.Parse(KebabCase.Of(kind) + "/x")));
        Assert.All(Enum.GetValues<Refusal>(),
            why =>
            Assert.NotEqual(RefusalText.Say(new Decision.Refused((Refusal)(-1))),
                RefusalText.Say(new Decision.Refused(why, "x"))));
    }

    private static async Task<BenchRig> TwoInOneSlot()
    {
        var rig = await BenchRig.OpenAsync();
        await rig.Begin(BenchRig.Request("R1"), BenchRig.Request("R2"));
        foreach (var request in new[] { R1, new RequestId("R2") })
        {
            rig.Advance(Duration.FromSeconds(50));
            await rig.Must(new BenchCommand.Mixed(request));
            rig.Advance(Duration.FromSeconds(20));
            await rig.Must(new BenchCommand.Loaded(request, new CartridgePlace.InSlot(new SlotNumber(1)),
                TimeStated: true));
        }

        return rig;
    }

    private static CommandReading Read(BenchRig rig, string json)
    {
        var members = JsonSerializer.Deserialize<Dictionary<string, JsonElement>>(json)!;
        members["id"] = JsonSerializer.SerializeToElement("C-1");
        members["device"] = JsonSerializer.SerializeToElement("tablet-1");
        members["at"] = JsonSerializer.SerializeToElement(InstantPattern.ExtendedIso.Format(rig.Now));
        var command = JsonSerializer.Deserialize<ScreenCommand>(JsonSerializer.Serialize(members),
            JsonSerializerOptions.Web);
        return CommandReader.Read(command, rig.Now, AnAide.Lena, PeopleState.Empty);
    }

    private BenchSnapshot Snapshot(BenchRig rig) =>
        new SnapshotWriter(clinic, new BenchClock(rig.Time, 1), new NoHostAlarms())
            .Write(rig.Runner.Present, LaneLayout.Wide);
}
