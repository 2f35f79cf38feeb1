using Incubation.Exchange.Lis;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>The receiving end of a line: what it answers, what it has stored before it answers, what it never takes
/// twice.</summary>
public sealed class LinkReceivingTest
{
    private const string Start = @"[ENQ][1H|\^&][2P|1][3O|1|S1][4R|1|^^^DA|5.2]";

    [Fact]
    public void Message_FrameByFrame_IsAcknowledgedAndItsLastFrameOnlyWhenStored()
    {
        var end = new LineEnd().Hears(Start);
        Assert.Equal("[ACK][ACK][ACK][ACK][ACK]", end.Said());
        end.Hears("[5L|1|N]");
        Assert.Equal("", end.Said());
        Assert.Equal([@"1.0 H|\^&/P|1/O|1|S1/R|1|^^^DA|5.2/L|1|N/."], end.Pieces());
        Assert.Equal("", end.After(14).Said());
        Assert.Equal("[ACK]", end.Stored(1, 0).Said());
        Assert.Equal("", end.Hears("[EOT]").Said());
        Assert.True(end.Link.IsNeutral);
        Assert.Empty(end.Acts);
    }

    /// <summary>From a decreasing level on the sender counts on what came before (LIS02-A2).</summary>
    [Fact]
    public void Message_RecordOfAHigherLevel_HasWhatIsBeforeItStoredFirst()
    {
        var end = new LineEnd().Hears(Start);
        end.Said();
        end.Hears("[5O|2|S2]");
        Assert.Equal("", end.Said());
        Assert.Equal([@"1.0 H|\^&/P|1/O|1|S1/R|1|^^^DA|5.2/"], end.Pieces());
        Assert.Equal("[ACK]", end.Stored(1, 0).Said());
        end.Hears("[6C|1|I|x][7R|1|^^^DB|7][0P|2]");
        Assert.Equal("[ACK][ACK]", end.Said());
        Assert.Equal(["1.1 O|2|S2/C|1|I|x/R|1|^^^DB|7/"], end.Pieces());
        end.Stored(1, 1).Hears("[1L|1|N]");
        Assert.Equal(["1.2 P|2/L|1|N/."], end.Pieces());
        Assert.Equal("[ACK][ACK]", end.Stored(1, 2).Said());
    }

    [Fact]
    public void Record_InSeveralFrames_IsOne()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^+][2&|||A+][3][4L|1+][5|N]");
        Assert.Equal([@"1.0 H|\^&|||A/L|1|N/."], end.Pieces());
    }

    [Fact]
    public void Records_SeveralInAFrame_AreTakenAlike()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&/P|1/O|1|S1+][2/R|1|^^^DA|5.2/L|1|N/]");
        Assert.Equal([@"1.0 H|\^&/P|1/O|1|S1/R|1|^^^DA|5.2/L|1|N/."], end.Pieces());
        Assert.Equal("[ACK][ACK][ACK]", end.Stored(1, 0).Said());
    }

    [Fact]
    public void Messages_TwoOfOneTransfer_AreTwo()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&][2L|1|N]").Stored(1, 0).Hears(@"[3H|\^&][4L|1|F]");
        Assert.Equal([@"1.0 H|\^&/L|1|N/.", @"2.0 H|\^&/L|1|F/."], end.Pieces());
    }

    [Fact]
    public void Messages_TwoInOneFrame_AreAcknowledgedWhenBothAreStored()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&/L|1|N/H|\^&/L|1|F/]");
        Assert.Equal([@"1.0 H|\^&/L|1|N/.", @"2.0 H|\^&/L|1|F/."], end.Pieces());
        Assert.Equal("[ACK]", end.Stored(2, 0).Said());
        Assert.Equal("[ACK]", end.Stored(1, 0).Said());
    }

    /// <summary>The ACK was lost, the frame comes again.</summary>
    [Fact]
    public void Frame_SameNumberAgain_IsAcknowledgedAndKeptOnce()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&][2P|1][2P|1][2P|1][3L|1|N]");
        Assert.Equal("[ACK][ACK][ACK][ACK][ACK]", end.Said());
        Assert.Equal([@"1.0 H|\^&/P|1/L|1|N/."], end.Pieces());
        Assert.Equal("[ACK][ACK]", end.Stored(1, 0).Hears("[3L|1|N]").Said());
        Assert.Empty(end.Pieces());
    }

    [Fact]
    public void Frame_AfterSeven_IsZero()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&]");
        for (var number = 2; number <= 17; number++)
            end.Hears($"[{number % 8}C|1]");
        Assert.Equal(string.Concat(Enumerable.Repeat("[ACK]", 18)), end.Said());
    }

    [Theory]
    [InlineData("[1H!]", FrameFault.Checksum)]
    [InlineData("[2P|1]", FrameFault.Order)]
    [InlineData("[0P|1]", FrameFault.Order)]
    public void FirstFrame_DamagedOrOutOfOrder_IsRefusedAndTakenWhenItComesRight(string frame, FrameFault fault)
    {
        var end = new LineEnd().Hears("[ENQ]" + frame);
        Assert.Equal("[ACK][NAK]", end.Said());
        Assert.Equal([new LinkAct.FrameRefused(fault)], end.Acts);
        Assert.Equal("[ACK][ACK]", end.Hears(@"[1H|\^&][2L|1|N]").Stored(1, 0).Said());
        Assert.Equal([@"1.0 H|\^&/L|1|N/."], end.Pieces());
    }

    /// <summary>The disk is full: the frame is not taken, and comes again with the number that it had.</summary>
    [Fact]
    public void Message_NotStored_IsNotAcknowledgedAndComesAgainAsTheSamePiece()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&][2L|1|N]");
        end.Pieces();
        Assert.Equal("[ACK][ACK][NAK]", end.Stored(1, 0, isStored: false).Said());
        end.Hears("[2L|1|N]");
        Assert.Equal([@"1.0 H|\^&/L|1|N/."], end.Pieces());
        Assert.Equal("[ACK]", end.Stored(1, 0).Said());
    }

    [Fact]
    public void Messages_OneOfTwoNotStored_ComeAgainWithTheirNumbers()
    {
        const string Frame = @"[1H|\^&/L|1|N/H|\^&/L|1|F/]";
        var end = new LineEnd().Hears("[ENQ]" + Frame);
        var pieces = end.Pieces();
        Assert.Equal("[ACK][NAK]", end.Stored(1, 0).Stored(2, 0, isStored: false).Said());
        Assert.Equal(pieces, end.Hears(Frame).Pieces());
        Assert.Equal("[ACK]", end.Stored(1, 0).Stored(2, 0).Said());
        end.Hears(@"[EOT][ENQ][1H|\^&][2L|1|N]");
        Assert.Equal([@"4.0 H|\^&/L|1|N/."], end.Pieces());
    }

    /// <summary>The sender has not waited: what is stored late is answered to nobody.</summary>
    [Fact]
    public void Message_StoredAfterTheSenderGaveUp_IsNotAcknowledgedAndTheNextAsksAgain()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&][2L|1|N]").After(15).Hears("[EOT][ENQ]");
        Assert.Equal("[ACK][ACK][NAK]", end.Said());
        Assert.Equal("", end.Stored(1, 0).Said());
        Assert.Equal("[ACK][ACK]", end.After(10).Hears(@"[ENQ][1H|\^&][2L|1|N]").Said());
        Assert.Equal([@"1.0 H|\^&/L|1|N/.", @"3.0 H|\^&/L|1|N/."], end.Pieces());
    }

    [Fact]
    public void Frame_AgainWhileItIsBeingStored_IsAnsweredOnce()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&][2L|1|N][2L|1|N][2L|1|N!]");
        Assert.Equal("[ACK][ACK]", end.Said());
        Assert.Single(end.Pieces());
        Assert.Equal("[ACK]", end.Stored(1, 0).Said());
        Assert.Equal("", end.Stored(1, 0).Stored(7, 3).Said());
    }

    [Theory]
    [InlineData("[EOT]", CutCause.EndOfTransmission)]
    [InlineData("[ENQ]", CutCause.Enquiry)]
    public void Message_Unfinished_IsCutAndSaidSo(string sign, CutCause cause)
    {
        var end = new LineEnd().Hears(Start + sign);
        var cut = Assert.IsType<LinkAct.Cut>(Assert.Single(end.Acts, act => act is LinkAct.Cut));
        Assert.Equal((1, 0, cause), (cut.Message, cut.Pieces, cut.Cause));
        Assert.Equal(@"H|\^&/P|1/O|1|S1/R|1|^^^DA|5.2/", LineEnd.Text(cut.Rest));
        Assert.True(end.Link.IsNeutral);
    }

    [Fact]
    public void Message_CutAfterAPieceWasStored_LeavesThat()
    {
        var end = new LineEnd().Hears(Start + "[5O|2|S2]").Stored(1, 0).Hears("[6R|1|^^^DB|7][EOT]");
        var cut = Assert.Single(end.Acts.OfType<LinkAct.Cut>());
        Assert.Equal((1, 1, "O|2|S2/R|1|^^^DB|7/"), (cut.Message, cut.Pieces, LineEnd.Text(cut.Rest)));
    }

    [Fact]
    public void Message_CutByAHeader_IsStoredAsFarAsItCame()
    {
        var end = new LineEnd().Hears(Start + @"[5H|\^&]");
        Assert.Equal([@"1.0 H|\^&/P|1/O|1|S1/R|1|^^^DA|5.2/"], end.Pieces());
        Assert.Equal((1, 1, CutCause.NextHeader), end.Acts.OfType<LinkAct.Cut>()
            .Select(cut => (cut.Message, cut.Pieces, cut.Cause)).Single());
        end.Stored(1, 0).Hears("[6L|1|N]");
        Assert.Equal([@"2.0 H|\^&/L|1|N/."], end.Pieces());
    }

    [Fact]
    public void Message_WithoutAHeader_IsStoredFrameByFrameAndEndsWithItsLastRecord()
    {
        var end = new LineEnd().Hears("[ENQ]");
        Assert.Equal("[ACK]", end.Said());
        Assert.Equal(["1.0 O|1|S1/"], end.Hears("[1O|1|S1]").Pieces());
        Assert.Equal("", end.Said());
        Assert.Equal(["1.1 R|1|^^^DA"], end.Stored(1, 0).Hears("[2R|1|^^^DA+]").Pieces());
        Assert.Equal(["1.2 |5.2/"], end.Stored(1, 1).Hears("[3|5.2]").Pieces());
        Assert.Equal(["1.3 L|1|N/."], end.Stored(1, 2).Hears("[4L|1|N]").Pieces());
        Assert.Equal("[ACK][ACK][ACK]", end.Said());
        Assert.Equal("[ACK]", end.Stored(1, 3).Hears("[EOT]").Said());
        Assert.Empty(end.Acts);
    }

    [Fact]
    public void Records_AfterTheLastOne_AreAMessageOfTheirOwn()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&/L|1|N/O|1|S1/R|1|^^^DA|5.2/][2L|1|N]");
        Assert.Equal([@"1.0 H|\^&/L|1|N/.", "2.0 O|1|S1/R|1|^^^DA|5.2/"], end.Pieces());
        Assert.Equal("[ACK][ACK]", end.Stored(1, 0).Stored(2, 0).Said());
        Assert.Equal(["2.1 L|1|N/."], end.Hears("[2L|1|N]").Pieces());
        Assert.Empty(end.Acts);
    }

    [Theory]
    [InlineData("[EOT]", CutCause.EndOfTransmission)]
    [InlineData(@"[2H|\^&]", CutCause.NextHeader)]
    public void Message_WithoutAHeaderAndWithoutAnEnd_LosesNothingThatWasAcknowledged(string sign, CutCause cause)
    {
        var end = new LineEnd().Hears("[ENQ][1O|1|S1/R|1|^^^DA|5.2]").Stored(1, 0).Hears(sign);
        var cut = Assert.Single(end.Acts.OfType<LinkAct.Cut>());
        Assert.Equal((1, 1, cause), (cut.Message, cut.Pieces, cut.Cause));
        Assert.True(cut.Rest.IsEmpty);
        Assert.Equal(["1.0 O|1|S1/R|1|^^^DA|5.2/"], end.Pieces());
    }

    [Fact]
    public void Frame_WithoutAHeaderAndNotStored_ComesAgainWithItsNumber()
    {
        var end = new LineEnd().Hears("[ENQ][1O|1|S1]").Stored(1, 0, isStored: false);
        Assert.Equal("[ACK][NAK]", end.Said());
        Assert.Equal(["1.0 O|1|S1/", "1.0 O|1|S1/"], end.Hears("[1O|1|S1]").Pieces());
        Assert.Equal("[ACK]", end.Stored(1, 0).Said());
    }

    [Fact]
    public void Transfer_Silence_EndsAfterThirtySeconds()
    {
        var end = new LineEnd().Hears(Start);
        Assert.Equal(end.Now + LinkSettings.FrameWithin, end.Link.NextTick);
        end.After(29);
        Assert.False(end.Link.IsNeutral);
        end.After(1);
        Assert.True(end.Link.IsNeutral);
        Assert.Equal(CutCause.Silence, Assert.Single(end.Acts.OfType<LinkAct.Cut>()).Cause);
        end.Said();
        Assert.Equal("", end.Hears("[5L|1|N]").Said());
    }

    /// <summary>A long frame on a slow line takes its time; one without an end does not keep the line.</summary>
    [Fact]
    public void Frame_SlowButComing_KeepsTheLineAndAnEndlessOneLosesIt()
    {
        var end = new LineEnd(new LinkSettings { TakenText = 240 }).Hears("[ENQ]").Hears("[\u00021H]");
        for (var second = 0; second < 200; second += 20)
            end.After(20).Hears("[xx]");
        Assert.False(end.Link.IsNeutral);
        for (var second = 0; second < 60; second += 20)
            end.After(20).Hears("[" + new string('x', 300) + "]");
        Assert.True(end.Link.IsNeutral);
    }

    /// <summary>Were the ENQ a damaged STX, an ACK would be taken for the frame's.</summary>
    [Fact]
    public void Enquiry_InMidTransfer_IsAnsweredNakAndTheNextAck() =>
        Assert.Equal("[ACK][ACK][NAK][ACK]", new LineEnd().Hears(@"[ENQ][1H|\^&][ENQ][ENQ]").Said());

    [Fact]
    public void LineCutInMidFrame_SenderBeginsAgain_TakesItsMessageOnce()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&]").Hears("[\u00022P|1|xx]").After(15).Hears("[EOT]").Hears("[ENQ]")
            .Hears(@"[1H|\^&][2P|1|xx][3L|1|N]");
        Assert.Equal([@"2.0 H|\^&/P|1|xx/L|1|N/."], end.Pieces());
    }

    [Fact]
    public void Connection_Ends_CutsAndTheNextBeginsNew()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&]").Hears("[\u00022P|1|xx]");
        Assert.Equal(CutCause.Disconnected, Assert.IsType<LinkAct.Cut>(Assert.Single(end.Link.Disconnected())).Cause);
        end.Said();
        Assert.Equal("", end.Hears("[ENQ]").Said());
        end.Link.Connected(end.Now);
        Assert.Equal("[ACK][ACK]", end.Hears(@"[ENQ][1H|\^&]").Said());
    }

    [Fact]
    public void Message_LongerThanAgreed_IsNeverAcknowledged()
    {
        var end = new LineEnd(new LinkSettings { TakenMessage = 30 }).Hears(@"[ENQ][1H|\^&]")
            .Hears("[2C|1|I|0123456789012345678901234567890]");
        Assert.Equal("[ACK][ACK][NAK]", end.Said());
        Assert.Equal([new LinkAct.FrameRefused(FrameFault.MessageTooLong)], end.Acts);
        end.Hears("[2L|1|N]");
        Assert.Equal([@"1.0 H|\^&/L|1|N/."], end.Pieces());
    }

    [Fact]
    public void Line_WantedByTheReceiver_IsAskedForWithEveryAnswerAndUsedWhenFree()
    {
        var end = new LineEnd().Hears(@"[ENQ][1H|\^&]").Sends("H|\\^&\rL|1|N\r");
        Assert.Equal("[ACK][ACK]", end.Said());
        end.Link.AskForLine();
        Assert.Equal("[EOT][EOT]", end.Hears("[2P|1][2P|1]").Said());
        Assert.Equal("[EOT]", end.Hears("[3L|1|N]").Stored(1, 0).Said());
        Assert.Equal("[ENQ]", end.Hears("[EOT]").Said());
        Assert.Equal(@"[1H|\^&/]", end.Hears("[ACK]").Said());
    }

    /// <summary>LF after each record, as some instruments send it, is no part of it, and no record by itself.</summary>
    [Fact]
    public void Records_WithLineFeedsAndEmptyLines_AreTheSame()
    {
        var end = new LineEnd().Hears("[ENQ][1H|\\^&/\n/\n][2L|1|N/\n]");
        Assert.Equal([@"1.0 H|\^&/L|1|N/."], end.Pieces());
    }
}
