using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Service.Tests.Support;
using NodaTime;

namespace Incubation.Service.Tests.Instruments;

/// <summary>What becomes of the results of messages that were taken: nothing is lost, doubled or guessed.</summary>
public sealed class WireJudgeTest
{
    [Fact]
    public async Task Judge_ItsSpecimenIsInTheReader_IsEnteredAsTypedAndTheClearAsksNothing()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");

        var fate = WireHouse.Fate(await house.TakeAsync(WireHouse.Message("SP-1", "12.40")));

        Assert.Equal((WireVerdict.Entered, request), (fate.Verdict, fate.Request));
        var cartridge = house.Of(request);
        Assert.Equal(new ReadResult.Measured("12.40", "mg/L"), cartridge.Result);
        Assert.Equal((ResultIdentity.Matches, new PersonId("wire-1")),
            (cartridge.Status!.Identity, cartridge.Status.EnteredBy));
        Assert.False(cartridge.IsHeld);
        await house.ClearAsync(request);
        Assert.False(house.Of(request).ResultMissing);
    }

    [Fact]
    public async Task Judge_NoSpecimenAndOneCartridgeInside_IsEnteredWithoutIdentityAndHeld()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");

        Assert.Equal(WireVerdict.Entered, WireHouse.Fate(await house.TakeAsync(WireHouse.Message(null, "5"))).Verdict);

        Assert.Equal(ResultIdentity.Missing, house.Of(request).Status!.Identity);
        Assert.True(house.Of(request).IsHeld);
    }

    [Theory]
    [InlineData("SP-9", "5", "DA", "mg/L", MatchQuestion.OtherSpecimen)]
    [InlineData("SP-1", "5", "XX", "mg/L", MatchQuestion.UnknownTest)]
    [InlineData("SP-1", "5", "DA", "ug/L", MatchQuestion.OtherUnit)]
    [InlineData("SP-1", "1.234,5", "DA", "mg/L", MatchQuestion.NotUnderstood)]
    public async Task Judge_SomethingSpeaksAgainstIt_IsAskedAndNothingIsEntered(string specimen, string value,
        string test, string unit, MatchQuestion why)
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");

        var message = await house.TakeAsync(WireHouse.Message(specimen, value, test, unit));

        Assert.Equal((WireVerdict.Asked, why), (WireHouse.Fate(message).Verdict, WireHouse.Fate(message).Question));
        Assert.Null(house.Of(request).Result);
        Assert.Equal(message.Number, Assert.Single(house.State.Questions).Message.Number);
        Assert.Null(message.DoneAt);
    }

    [Fact]
    public async Task Judge_AValueBeyondTheSheetsRange_IsEnteredWithItsQuestionAndHeld()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");

        await house.TakeAsync(WireHouse.Message("SP-1", "999"));

        Assert.NotNull(house.Of(request).Status!.Question);
        Assert.True(house.Of(request).IsHeld);
    }

    [Fact]
    public async Task Judge_AnotherValueWhereOneStands_WaitsAsAnAmendmentAndHoldsTheFirst()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-1", "5.0"));

        var again = await house.TakeAsync(WireHouse.Message("SP-1", "5.0", sent: "20260302090100"));
        var other = await house.TakeAsync(WireHouse.Message("SP-1", "6.0", sent: "20260302090200"));

        Assert.Equal(WireVerdict.AlreadyThere, WireHouse.Fate(again).Verdict);
        Assert.Equal((WireVerdict.Proposed, null), (WireHouse.Fate(other).Verdict, WireHouse.Fate(other).Question));
        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.Equal((new ReadResult.Measured("6.0", "mg/L"), new PersonId("wire-1")),
            (house.Of(request).Status!.Proposal!.After, house.Of(request).Status!.Proposal!.By));
        await house.ClearAsync(request);
        Assert.Equal(ResultHold.AmendmentWaits, house.Of(request).Use.Hold);
        Assert.Empty(house.State.Questions);
    }

    /// <summary>A message with two values for one read gives it none; one of them was not sent first.</summary>
    [Fact]
    public async Task Judge_TwoValuesInOneMessage_EntersNeither()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");

        var message = await house.TakeAsync(WireHouse.Message("SP-1", "25.0",
            last: "R|2|^^^DA|35.0|mg/L||||F\rL|1|N\r"));

        Assert.Equal([MatchQuestion.SeveralValues, MatchQuestion.SeveralValues],
            message.Fates!.Value.Select(fate => fate.Question));
        Assert.Null(house.Of(request).Result);
    }

    /// <summary>
    /// When its batch is closed the value that stands is held as well; the same value again changes nothing.
    /// </summary>
    [Fact]
    public async Task Judge_AnotherValueAfterTheClose_WaitsAsAnAmendmentOfTheClosedResult()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-1", "5.0"));
        await house.ClearAsync(request);
        await house.House.Must(new BenchCommand.CloseBatch());

        var same = await house.TakeAsync(WireHouse.Message("SP-1", "5.0", sent: "20260302090100"));
        var other = await house.TakeAsync(WireHouse.Message("sp-1", "6.0", sent: "20260302090200"));
        var again = await house.TakeAsync(WireHouse.Message("SP-1", "6.0", sent: "20260302090300"));
        var third = await house.TakeAsync(WireHouse.Message("SP-1", "7.0", sent: "20260302090400"));
        var stranger = await house.TakeAsync(WireHouse.Message("SP-2", "7.0", sent: "20260302090500"));

        Assert.Equal([WireVerdict.AlreadyThere, WireVerdict.Proposed, WireVerdict.Proposed, WireVerdict.Asked],
            new[] { same, other, again, third }.Select(message => WireHouse.Fate(message).Verdict));
        Assert.Equal((MatchQuestion.OtherValue, request),
            (WireHouse.Fate(third).Question, WireHouse.Fate(third).Request));
        Assert.Equal((MatchQuestion.OtherSpecimen, null),
            (WireHouse.Fate(stranger).Question, WireHouse.Fate(stranger).Request));
        var waiting = Assert.Single(house.House.Clinic.Log.Amendments.Waiting);
        Assert.Equal((request, new ReadResult.Measured("6.0", "mg/L"), new PersonId("wire-1")),
            (waiting.Proposed.Request, waiting.Proposal.After, waiting.Proposal.By));
    }

    /// <summary>A reader that says no times sends what it sent of a specimen before: it is run again.</summary>
    [Fact]
    public async Task Judge_TheSameWordsForTheRepeatOfASpecimen_AreAsked()
    {
        await using var house = await WireHouse.OpenAsync();
        var first = await house.ReadAsync("SP-1");
        var words = WireHouse.Message("SP-1", "5", sent: null);
        await house.TakeAsync(words);
        await house.House.Must(new BenchCommand.Discarded(first, DiscardReason.ReaderFault, null));
        await house.House.Must(new BenchCommand.GiveUpRequest(first, "A new tube is taken.", true));
        await house.House.Must(new BenchCommand.CloseBatch());
        var second = await house.ReadAsync("SP-1");

        var fate = WireHouse.Fate(await house.TakeAsync(words));

        Assert.Equal((MatchQuestion.SentBefore, second), (fate.Question, fate.Request));
        Assert.Null(house.Of(second).Result);
    }

    [Fact]
    public async Task Take_TheSameBytesWithTheirTime_AreIgnoredAlsoAfterARestart()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ReadAsync("SP-1");
        var message = WireHouse.Message("SP-1", "5.0");
        await house.TakeAsync(message);

        await house.TakeAsync(message);
        await house.CrashAsync();
        await house.TakeAsync(message);
        // Its header was written anew, and its result says when it was measured: the same again too.
        await house.TakeAsync(WireHouse.Message("SP-2", "7", read: "20260302084500"));
        await house.TakeAsync(WireHouse.Message("SP-2", "7", sent: "20260302111111", read: "20260302084500"));

        Assert.Equal(2, house.State.LastMessage);
        Assert.Equal(3, house.Book.Of(WireHouse.Reader).Again);
    }

    [Fact]
    public async Task Judge_TheSameWordsWithoutTimeAndSpecimenForTheNextCartridge_AreAsked()
    {
        await using var house = await WireHouse.OpenAsync();
        var first = await house.ReadAsync("SP-1");
        var words = WireHouse.Message(null, "5", sent: null);
        await house.TakeAsync(words);
        Assert.Equal(WireVerdict.AlreadyThere, WireHouse.Fate(await house.TakeAsync(words)).Verdict);
        await house.ClearAsync(first);
        var second = await house.ReadAsync("SP-2");

        var fate = WireHouse.Fate(await house.TakeAsync(words));

        Assert.Equal((MatchQuestion.SentBefore, second), (fate.Question, fate.Request));
        Assert.Null(house.Of(second).Result);
    }

    [Fact]
    public async Task Judge_CutShortAfterTheBenchHadIt_EntersNothingTwiceAndKnowsItAsItsOwn()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        var message = await house.TakeAsync(WireHouse.Message("SP-9", "1"));
        // What a program leaves that is killed between the bench's log and the clinic's.
        var arrival = new Records.Instruments.WireArrival(WireHouse.Reader, "killed");
        house.Taker.Keep(arrival, new Exchange.Lis.LinkAct.Store(1, 0,
            System.Text.Encoding.UTF8.GetBytes(WireHouse.Message("SP-1", "5.0")), IsLast: true));
        await house.House.Runner.SendAsync(new BenchCommand.ResultEntered(request, new ShownResult.Value("5.0"),
            new ShownIdentity("SP-1"))
        { OnlyFirst = true }, house.House.Provenance() with
        {
            Id = new ReportId($"wire.{message.Number + 1}.1"),
            Person = new PersonId("wire-1"),
            Device = new DeviceId("wire-1"),
        });
        await house.CrashAsync();
        var revision = house.House.State.Revision;

        Assert.True(await house.Judge.JudgeAllAsync());

        Assert.Equal(WireVerdict.Entered, WireHouse.Fate(house.State.Messages[2]).Verdict);
        Assert.Equal(revision, house.House.State.Revision);
    }

    [Fact]
    public async Task Take_KilledBeforeItsEnd_IsTakenAtTheNextStartAndItsWholeSelfAnswersIt()
    {
        await using var house = await WireHouse.OpenAsync();
        var request = await house.ReadAsync("SP-1");
        var whole = WireHouse.Message("SP-1", "5.0");
        var arrival = new Records.Instruments.WireArrival(WireHouse.Reader, "killed");
        house.Taker.Keep(arrival, new Exchange.Lis.LinkAct.Store(1, 0,
            System.Text.Encoding.UTF8.GetBytes(whole[..whole.IndexOf("L|1", StringComparison.Ordinal)]),
            IsLast: false));
        await house.CrashAsync();

        house.Taker.TakeLeftOver();
        Assert.True(await house.Judge.JudgeAllAsync());

        var cut = house.State.Messages[1];
        Assert.Equal((false, MatchQuestion.NotMeant), (cut.IsWhole, WireHouse.Fate(cut).Question));
        Assert.Null(house.Of(request).Result);
        Assert.Empty(house.Store.LeftOver());
        await house.TakeAsync(whole);
        Assert.Equal(new ReadResult.Measured("5.0", "mg/L"), house.Of(request).Result);
        Assert.Empty(house.State.Questions);
    }

    [Fact]
    public async Task Judge_ALinkThatOnlyListens_ShowsAndEntersNothing()
    {
        await using var house = await WireHouse.OpenAsync(link => link with { OnlyListens = true });
        var request = await house.ReadAsync("SP-1");

        var message = await house.TakeAsync(WireHouse.Message("SP-1", "5.0"));

        Assert.Equal(WireVerdict.Shown, WireHouse.Fate(message).Verdict);
        Assert.Null(house.Of(request).Result);
        Assert.Empty(house.State.Questions);
        Assert.Contains("SP-1", Assert.Single(house.Office().LastOf(WireHouse.Reader)).Verdicts[0],
            StringComparison.Ordinal);
    }

    [Fact]
    public async Task Judge_NoMessageAtAll_IsAskedAsAWhole()
    {
        await using var house = await WireHouse.OpenAsync();

        var message = await house.TakeAsync("rubbish\rL|1|N\r");

        Assert.Equal((WireFate.WholeMessage, MatchQuestion.NotUnderstood),
            (WireHouse.Fate(message).Result, WireHouse.Fate(message).Question));
    }

    [Fact]
    public async Task Judge_TheReadersClock_IsLearntFromMatchedReadsAndThenSpeaks()
    {
        await using var house = await WireHouse.OpenAsync();
        for (var cartridge = 1; cartridge <= ReaderClock.Needed; cartridge++)
        {
            var request = await house.ReadAsync($"SP-{cartridge}");
            var shown = ReaderMatching.ReadEndOf(house.House.State, request)! + Duration.FromMinutes(7);
            await house.TakeAsync(WireHouse.Message($"SP-{cartridge}", "5", read: Stamp(shown.Value)));
            await house.ClearAsync(request);
        }

        Assert.Equal(Duration.FromMinutes(7), house.State.AheadBy(WireHouse.Reader));
        var last = await house.ReadAsync("SP-9");
        var long_ago = ReaderMatching.ReadEndOf(house.House.State, last)! - Duration.FromHours(1);
        Assert.Equal(MatchQuestion.OtherTime, WireHouse.Fate(await house.TakeAsync(
            WireHouse.Message("SP-9", "5", read: Stamp(long_ago.Value)))).Question);
    }

    [Fact]
    public async Task Erase_WhatWasDecidedLongAgo_LosesItsBytesAndNothingElseDoes()
    {
        await using var house = await WireHouse.OpenAsync();
        await house.ReadAsync("SP-1");
        await house.TakeAsync(WireHouse.Message("SP-1", "5.0"));
        await house.TakeAsync(WireHouse.Message("SP-9", "5.0"));
        house.House.Time.Advance(TimeSpan.FromDays(InstrumentsState.UsualDays) - TimeSpan.FromSeconds(1));
        Assert.Equal(0, house.Store.EraseOver(house.House.Clock.Now, _ => false, house.House.Provenance));
        house.House.Time.Advance(TimeSpan.FromSeconds(1));

        // While its batch is not closed it can be looked at, however long ago that was.
        Assert.Equal(0, house.Store.EraseOver(house.House.Clock.Now, _ => true, house.House.Provenance));
        Assert.Equal(1, house.Store.EraseOver(house.House.Clock.Now, _ => false, house.House.Provenance));

        Assert.Null(house.Store.Find(1));
        Assert.NotNull(house.Store.Find(2));
        Assert.Single(house.State.Questions);
    }

    private static string Stamp(Instant at) => at.InZone(DateTimeZoneProviders.Tzdb["Europe/Berlin"])
        .ToString("uuuuMMddHHmmss", System.Globalization.CultureInfo.InvariantCulture);
}
