using Incubation.Clinic.Instruments;
using Incubation.Clinic.TestKit;
using Incubation.Model;
using NodaTime;
using Xunit;
using static Incubation.Clinic.TestKit.InstrumentsStory;

namespace Incubation.Clinic.Tests;

/// <summary>Instruments and their messages in the clinic's stream: what is open, what may not be said.</summary>
public sealed class InstrumentsStateTest
{
    private int said = 900;

    [Fact]
    public void Story_Told_IsAllThere()
    {
        var state = new MemoryClinic(Commands).Instruments;
        Assert.Equal(["wire-1"], state.InUse.Select(one => one.Id.Value));
        Assert.Equal([(1L, 3)], state.Questions.Select(one => (one.Message.Number, one.Fate.Result)));
        Assert.Equal([3L], state.Unjudged.Select(one => one.Number));
        Assert.Equal([1L, 2L, 3L], state.Alike(Reader, new string('b', 64)).Select(one => one.Number));
        Assert.Equal((false, true, false), (state.Messages[1].DoneAt is not null,
            state.Messages[2].DoneAt is not null, state.Messages[3].DoneAt is not null));
        Assert.Equal((2, WireSettling.Entered, RequestId.Of("R02"), "It was this one."),
            Assert.Single(state.Messages[1].Settled) is { Key: var result, Value: var settled }
                ? (result, settled.Settling, settled.Request, settled.Why) : default);
        var came = state.Messages[1].At;
        Assert.Equal([1, 1, 0, 0], new[]
        {
            state.QuestionsOf(Link.Bench), state.QuestionsOf(Link.Bench, came),
            state.QuestionsOf(Link.Bench, came + Duration.FromMilliseconds(1)), state.QuestionsOf(new BenchId("other")),
        });
    }

    public static TheoryData<ClinicEvent, ClinicRefusal> Impossible => new()
    {
        { Set(3, Link with { Bench = new BenchId("bench-9") }), ClinicRefusal.UnknownBench },
        { Set(2, Link), ClinicRefusal.UnknownInstrument },
        { Set(4, Link), ClinicRefusal.UnknownInstrument },
        { Set(3, Link), ClinicRefusal.LineTaken },
        { Set(3, On(new WireTransport.Tcp("127.0.0.1", 4001, ["192.0.2.7"]))), ClinicRefusal.LineTaken },
        { Set(3, On(new WireTransport.Tcp("127.0.0.1", 80, ["192.0.2.8"]))), ClinicRefusal.InstrumentImpossible },
        { Set(3, On(new WireTransport.Tcp("127.0.0.1", 4002, []))), ClinicRefusal.InstrumentImpossible },
        { Set(3, On(new WireTransport.Serial("/etc/passwd", 9600))), ClinicRefusal.InstrumentImpossible },
        { Set(3, On(new WireTransport.Serial("/dev/../etc/passwd", 9600))), ClinicRefusal.InstrumentImpossible },
        { Set(3, On(new WireTransport.Serial("/dev/ttyS0", 9601))), ClinicRefusal.InstrumentImpossible },
        {
            Set(3, Link with { Tests = [Link.Tests[0], Link.Tests[0] with { Name = "aa" }] }),
            ClinicRefusal.InstrumentImpossible
        },
        { new ClinicEvent.InstrumentEnded(Reader, " "), ClinicRefusal.WhyMissing },
        { new ClinicEvent.InstrumentEnded(Instrument.IdOf(2), "again"), ClinicRefusal.UnknownInstrument },
        { Taken(3), ClinicRefusal.WireMessageIsSo },
        { Taken(5), ClinicRefusal.WireMessageIsSo },
        { new ClinicEvent.WireMessageJudged(2, []), ClinicRefusal.WireMessageIsSo },
        { new ClinicEvent.WireMessageJudged(3, [Asked, Asked]), ClinicRefusal.WireMessageIsSo },
        { new ClinicEvent.WireQuestionSettled(1, 2, WireSettling.Aside, null, "late"), ClinicRefusal.WireMessageIsSo },
        { new ClinicEvent.WireQuestionSettled(1, 3, WireSettling.Aside, null, " "), ClinicRefusal.WhyMissing },
        { new ClinicEvent.WireMessagesErased([2], InstrumentsState.UsualDays), ClinicRefusal.RetentionNotOver },
        { new ClinicEvent.WireMessagesErased([], InstrumentsState.UsualDays), ClinicRefusal.RetentionNotOver },
    };

    [Theory]
    [MemberData(nameof(Impossible))]
    public void Decide_WhatCannotBe_IsRefused(ClinicEvent happened, ClinicRefusal why)
    {
        var clinic = new MemoryClinic(Commands);
        Assert.Equal(why, Assert.IsType<ClinicDecision.Refused>(
            LiveClinic.Decide(clinic.State, [happened], StoryProvenance.Of(++said))).Why);
    }

    [Fact]
    public void Erased_AMessage_IsForgottenWithWhatWasAlikeInIt()
    {
        var state = new MemoryClinic([.. Commands, Erased]).Instruments;
        Assert.Equal([1L, 3L], state.Messages.Keys);
        Assert.Equal([1L, 3L], state.Alike(Reader, new string('b', 64)).Select(one => one.Number));
    }

    [Theory]
    [InlineData(0, false)]
    [InlineData(1, true)]
    public void Erase_ADecidedMessage_OnlyWhenItsDaysAreOver(int milliseconds, bool may)
    {
        var clinic = new MemoryClinic(Commands);
        var done = clinic.Instruments.Messages[2].DoneAt!.Value;
        var later = StoryProvenance.Of(++said) with
        {
            Arrived = done + Duration.FromDays(InstrumentsState.UsualDays)
                - Duration.FromMilliseconds(1 - milliseconds),
        };
        var decision = LiveClinic.Decide(clinic.State,
            [new ClinicEvent.WireMessagesErased([2], InstrumentsState.UsualDays)], later);
        Assert.Equal(may, decision is ClinicDecision.Accepted);
    }

    [Theory]
    [InlineData(InstrumentsState.LeastDays - 1, false)]
    [InlineData(InstrumentsState.LeastDays, true)]
    [InlineData(InstrumentsState.MostDays, true)]
    [InlineData(InstrumentsState.MostDays + 1, false)]
    public void Kept_ForSoManyDays_ThatIsHowLong(int days, bool may)
    {
        var clinic = new MemoryClinic(Commands);
        var set = LiveClinic.Decide(clinic.State, [new ClinicEvent.WireMessagesKept(days)], StoryProvenance.Of(++said));
        Assert.Equal(may, set is ClinicDecision.Accepted);
        if (!may)
            return;
        var kept = new MemoryClinic([.. Commands, new StoryCommand([new ClinicEvent.WireMessagesKept(days)],
            StoryProvenance.Of(++said))]);
        var done = kept.Instruments.Messages[2].DoneAt!.Value;
        Assert.Empty(kept.Instruments.Over(done + Duration.FromDays(days) - Duration.FromMilliseconds(1)));
        Assert.Contains(kept.Instruments.Over(done + Duration.FromDays(days)), one => one.Number == 2);
        Assert.IsType<ClinicDecision.Refused>(LiveClinic.Decide(kept.State,
            [new ClinicEvent.WireMessagesErased([2], days - 1)],
            StoryProvenance.Of(++said) with { Arrived = done + Duration.FromDays(days) }));
    }

    private static InstrumentLink On(WireTransport transport) => Link with { Transport = transport };

    private static ClinicEvent.InstrumentSet Set(int number, InstrumentLink link) =>
        new(Instrument.IdOf(number), link);
}
