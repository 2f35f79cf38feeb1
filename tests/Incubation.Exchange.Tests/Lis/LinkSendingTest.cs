using Incubation.Exchange.Lis;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>The sending end of a line: when it asks, what it sends again, and when it gives up.</summary>
public sealed class LinkSendingTest
{
    private const string Message = "H|\\^&\rL|1|N\r";

    [Fact]
    public void Message_AllAcknowledged_IsSentFrameByFrame()
    {
        var end = Instrument().Sends(Message);
        Assert.Equal("[ENQ]", end.Said());
        Assert.Equal(@"[1H|\^&/]", end.Hears("[ACK]").Said());
        Assert.Equal("[2L|1|N/]", end.Hears("[ACK]").Said());
        Assert.Equal("[EOT]", end.Hears("[ACK]").Said());
        Assert.Equal([new LinkAct.Sent(1)], end.Acts);
        Assert.True(end.Link.IsNeutral);
        Assert.Null(end.Link.NextTick);
    }

    [Fact]
    public void Messages_Two_EachHasTheLineOnce()
    {
        var end = Instrument().Sends(Message).Sends(Message).Hears("[ACK][ACK][ACK]");
        Assert.Equal(@"[ENQ][1H|\^&/][2L|1|N/][EOT][ENQ]", end.Said());
    }

    [Fact]
    public void Frame_Refused_IsSentSixTimesAndThenGivenUp()
    {
        var end = Instrument().Sends(Message).Hears("[ACK][ACK]");
        end.Said();
        Assert.Equal("[2L|1|N/][2L|1|N/][2L|1|N/][2L|1|N/][2L|1|N/]", end.Hears("[NAK][NAK][NAK][NAK][NAK]").Said());
        Assert.Equal("[EOT]", end.Hears("[NAK]").Said());
        Assert.Equal([new LinkAct.NotSent(1, SendFault.Refused)], end.Acts);
        Assert.Equal("", end.After(60).Said());
    }

    /// <summary>A frame that was taken at last counts its tries alone.</summary>
    [Fact]
    public void Frame_AfterARefusedOne_HasItsOwnTries()
    {
        var end = Instrument().Sends(Message).Hears("[ACK][NAK][NAK][NAK][NAK][NAK][ACK]");
        end.Said();
        Assert.Equal("[2L|1|N/][2L|1|N/]", end.Hears("[NAK][NAK]").Said());
        Assert.Equal("[EOT]", end.Hears("[ACK]").Said());
    }

    [Fact]
    public void Enquiry_OtherEndBusy_AsksAgainAfterTenSeconds()
    {
        var end = Instrument().Sends(Message).Hears("[NAK]");
        Assert.Equal([new LinkAct.NotSent(1, SendFault.Busy)], end.Acts.Where(act => act is not LinkAct.Say));
        Assert.Equal(end.Now + LinkSettings.AskAgainAfter, end.Link.NextTick);
        Assert.Equal("[ENQ]", end.After(9.9).Said());
        Assert.Equal("[ENQ]", end.After(0.1).Said());
    }

    [Theory]
    [InlineData("")]
    [InlineData("[ACK]")]
    [InlineData("[ACK][ACK]")]
    public void Answer_NoneInFifteenSeconds_EndsTheTransferAndBeginsAgain(string heard)
    {
        var end = Instrument().Sends(Message).Hears(heard);
        end.Said();
        Assert.Equal("", end.After(14.9).Said());
        Assert.Equal("[EOT]", end.After(0.1).Said());
        Assert.Equal([new LinkAct.NotSent(1, SendFault.NoAnswer)], end.Acts);
        Assert.Equal("[ENQ]", end.After(10).Said());
        Assert.Equal(@"[1H|\^&/][2L|1|N/][EOT]", end.Hears("[ACK][ACK][ACK]").Said());
    }

    [Fact]
    public void Answer_BytesThatAreNone_AreNotTakenForOne()
    {
        var end = Instrument().Sends(Message).Hears("[ACK]");
        end.Said();
        Assert.Equal("", end.Hears("[xyz]").Said());
        Assert.Equal("[2L|1|N/]", end.Hears("[ACK]").Said());
    }

    [Theory]
    [InlineData(LinkRole.Instrument, 1)]
    [InlineData(LinkRole.Computer, 20)]
    public void Contention_BothAsk_TheComputerGivesWay(LinkRole role, int seconds)
    {
        var end = new LineEnd(new LinkSettings(role)).Sends(Message).Hears("[ENQ]");
        Assert.Equal("[ENQ]", end.Said());
        Assert.Equal("", end.After(seconds - 0.1).Said());
        Assert.Equal("[ENQ]", end.After(0.1).Said());
    }

    [Fact]
    public void Contention_TheOtherHasHadTheLine_NoMoreWaiting()
    {
        var end = new LineEnd().Sends(Message).Hears("[ENQ]").After(1).Hears(@"[ENQ][1H|\^&][2L|1|N]").Stored(1, 0);
        Assert.Equal("[ENQ][ACK][ACK][ACK]", end.Said());
        Assert.Equal("[ENQ]", end.Hears("[EOT]").Said());
    }

    /// <summary>An EOT as answer takes the frame; the message is finished, then the line stays free.</summary>
    [Fact]
    public void Interrupt_OtherEndWantsTheLine_GetsItAfterTheMessage()
    {
        var end = Instrument().Sends(Message).Sends(Message).Hears("[ACK][EOT][ACK]");
        Assert.Equal(@"[ENQ][1H|\^&/][2L|1|N/][EOT]", end.Said());
        Assert.Equal([new LinkAct.Sent(1)], end.Acts);
        Assert.Equal("", end.After(14.9).Said());
        Assert.Equal("[ENQ]", end.After(0.1).Said());
    }

    [Fact]
    public void Connection_Ends_MessageWaitsForTheNext()
    {
        var end = Instrument().Sends(Message).Hears("[ACK][ACK]");
        Assert.Empty(end.Link.Disconnected());
        end.Said();
        Assert.Equal("", end.After(100).Said());
        Assert.Null(end.Link.NextTick);
        Assert.Equal(LinkCharacters.Enq,
            Assert.IsType<LinkAct.Say>(Assert.Single(end.Link.Connected(end.Now))).Bytes.Span[0]);
        Assert.Equal(@"[1H|\^&/]", end.Hears("[ACK]").Said());
    }

    [Fact]
    public void Send_MoreThanMayWait_IsRefused()
    {
        var link = new Link(new LinkSettings { Waiting = 2 });
        var now = NodaTime.Instant.FromUtc(2026, 3, 2, 8, 0);
        Assert.Equal([1, 2, null], Enumerable.Range(0, 3).Select(_ => link.Send(Wire.Bytes(Message), now).Message));
    }

    [Theory]
    [InlineData("H|\\^&\r\n")]
    [InlineData("H|\u0003\r")]
    public void Send_CharactersOfTheLine_AreRefused(string message) =>
        Assert.Throws<ArgumentException>(() => Instrument().Sends(message));

    private static LineEnd Instrument() => new(new LinkSettings(LinkRole.Instrument));
}
