using System.Text;
using CsCheck;
using Incubation.Exchange.Lis;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>Frames as bytes: checksum, numbers, lengths, and what damaged ones are called.</summary>
public sealed class FrameTest
{
    public static TheoryData<string, string> Vectors =>
        [.. Wire.Vectors.Select(vector => (vector.Text, vector.Sum))];

    [Theory]
    [MemberData(nameof(Vectors))]
    public void Encode_Vector_HasThePublishedChecksum(string text, string sum)
    {
        var frame = new Frame(text[0] - '0', Wire.Bytes(text[1..] + "\r"), true);
        Assert.Equal(Wire.Bytes($"\u0002{text}\r\u0003{sum}\r\n"), frame.Encode());
    }

    /// <summary>The standard leaves the encoding to the two ends: the sum is one of bytes.</summary>
    [Fact]
    public void Checksum_OtherEncoding_IsThatOfItsBytes()
    {
        var encoding = CodePagesEncodingProvider.Instance.GetEncoding(932)!;
        Assert.Equal(0x78, Frame.Checksum(encoding.GetBytes("2P|1|666|||頭いい^素晴らしい|||U\r\u0003")));
    }

    [Theory]
    [MemberData(nameof(Vectors))]
    public void Take_Vector_IsWhole(string text, string sum)
    {
        var frame = Whole(Wire.Bytes($"\u0002{text}\r\u0003{sum.ToLowerInvariant()}\r\n"));
        Assert.Equal(text[0] - '0', frame.Number);
        Assert.Equal(Wire.Bytes(text[1..] + "\r"), frame.Text.ToArray());
        Assert.True(frame.EndsRecord);
    }

    [Fact]
    public void Of_MoreThanEightFrames_NumbersRunOneToSevenThenZero()
    {
        var frames = MessageFrames.Of(Wire.Bytes(string.Concat(Enumerable.Repeat("C|1|I|x\r", 18)))).ToList();
        Assert.Equal([1, 2, 3, 4, 5, 6, 7, 0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2], frames.Select(frame => frame.Number));
        Assert.All(frames, frame => Assert.True(frame.EndsRecord));
    }

    [Theory]
    [InlineData(240, 1)]
    [InlineData(241, 2)]
    [InlineData(480, 2)]
    [InlineData(481, 3)]
    public void Of_LongRecord_EndsInItsLastFrameAlone(int length, int expected)
    {
        var frames = MessageFrames.Of(Wire.Bytes(new string('x', length - 1) + "\r")).ToList();
        Assert.Equal(expected, frames.Count);
        Assert.All(frames, frame => Assert.InRange(frame.Encode().Length, 8, 247));
        Assert.Equal([.. Enumerable.Repeat(false, expected - 1), true], frames.Select(frame => frame.EndsRecord));
    }

    [Fact]
    public void Of_RecordWithoutItsEnd_GetsOne() =>
        Assert.Equal(Wire.Bytes("L|1|N\r"), Assert.Single(MessageFrames.Of(Wire.Bytes("L|1|N"))).Text.ToArray());

    [Fact]
    public void Of_TextOfSeveralBytesACharacter_CutsNoCharacter()
    {
        var frames = MessageFrames.Of(Wire.Bytes("P" + string.Concat(Enumerable.Repeat("素é", 400)) + "\r")).ToList();
        var strict = new UTF8Encoding(false, throwOnInvalidBytes: true);
        Assert.Equal("P" + string.Concat(Enumerable.Repeat("素é", 400)) + "\r",
            string.Concat(frames.Select(frame => strict.GetString(frame.Text.Span))));
        Assert.All(frames, frame => Assert.InRange(frame.Text.Length, 1, Frame.UsualText));
    }

    [Theory]
    [InlineData("\u00021L|1|N\r\u000308\r\n", FrameFault.Checksum)]
    [InlineData("\u00021L|1|N\r\u000306\r\n", FrameFault.Checksum)]
    [InlineData("\u0002AL|1|N\r\u000314\r\n", FrameFault.Number)]
    [InlineData("\u00028L|1|N\r\u00030B\r\n", FrameFault.Number)]
    [InlineData("\u0002\u000303\r\n", FrameFault.Number)]
    [InlineData("\u00024L|1|N\r\u00030G\r\n", FrameFault.End)]
    [InlineData("\u00024L|1|N\r\u000307\n", FrameFault.End)]
    [InlineData("\u00024L|1|N\r\u000307\r\r", FrameFault.End)]
    [InlineData("\u00024L|1\u0006N\r\u000391\r\n", FrameFault.Character)]
    [InlineData("\u00024L|1\u00024L|1|N\r\u000307\r\n", FrameFault.Character)]
    public void Take_DamagedFrame_IsSaidOnceAndWhy(string bytes, FrameFault fault) =>
        Assert.Equal(fault, Assert.IsType<LineSign.Damaged>(Assert.Single(Wire.Read(Wire.Bytes(bytes)))).Fault);

    [Fact]
    public void Take_LongerThanAgreed_KeepsNoMoreAndSaysSo()
    {
        var frame = new Frame(1, new byte[241].Select(_ => (byte)'x').ToArray(), true).Encode();
        Assert.Equal(FrameFault.TooLong,
            Assert.IsType<LineSign.Damaged>(Assert.Single(Wire.Read(frame, maxText: 240))).Fault);
        Assert.IsType<LineSign.Whole>(Assert.Single(Wire.Read(frame, maxText: 241)));
    }

    /// <summary>A frame whose end was lost and which is sent again is answered once.</summary>
    [Theory]
    [InlineData("\u00024L|1|N\r\u0003")]
    [InlineData("\u00024L|1|N\r\u000307")]
    [InlineData("\u00024L|1|N\r\u000307\r")]
    public void Take_EndLostThenSentAgain_IsOneWholeFrame(string cut) =>
        Assert.IsType<LineSign.Whole>(
            Assert.Single(Wire.Read(Wire.Bytes(cut + "\u00024L|1|N\r\u000307\r\n"))));

    [Theory]
    [InlineData("\u0002")]
    [InlineData("\u00024")]
    [InlineData("\u00024L|1")]
    [InlineData("\u00024L|1|N\r\u0003")]
    [InlineData("\u00024L|1|N\r\u00030")]
    [InlineData("\u00024L|1|N\r\u000307\r")]
    public void Take_LineCutInMidFrame_EnquiryAndEndAreHeard(string cut) =>
        Assert.Equal([new LineSign.EndOfTransmission(), new LineSign.Enquiry()],
            Wire.Read(Wire.Bytes(cut + "\u0004\u0005")));

    [Fact]
    public void Take_BytesOfNothing_AreCounted()
    {
        var reader = new FrameReader();
        foreach (var character in Wire.Bytes("\r\nhello\u0006\u0015"))
            reader.Take(character);
        Assert.Equal(7, reader.Stray);
    }

    [Fact]
    public void Read_AnyMessage_ComesBackWhole() => Gen.Select(Wire.Messages, Gen.Int[16, 400]).Sample(
        (message, maxText) =>
        {
            var frames = MessageFrames.Of(Wire.Joined(message), maxText).ToList();
            var read = Wire.Read(frames.SelectMany(frame => frame.Encode())).Cast<LineSign.Whole>().ToList();
            Assert.Equal(Wire.Joined(message), Wire.Joined(read.Select(sign => sign.Frame.Text.ToArray())));
            Assert.Equal(frames.Select(frame => (frame.Number, frame.EndsRecord)),
                read.Select(sign => (sign.Frame.Number, sign.Frame.EndsRecord)));
            Assert.Equal(message.Length, read.Count(sign => sign.Frame.EndsRecord));
        }, iter: 500);

    /// <summary>One wrong byte anywhere is never taken for a frame.</summary>
    [Fact]
    public void Read_OneByteChanged_TakesNoOtherText() => Gen.Select(Wire.Messages, Gen.Int[0, 100_000], Gen.Byte)
        .Sample((message, place, other) =>
        {
            var bytes = MessageFrames.Of(message[0]).First().Encode();
            var at = place % bytes.Length;
            var text = bytes[2..^5];
            if (at >= bytes.Length - 4 || bytes[at] == other)
                return;
            bytes[at] = other;
            Assert.DoesNotContain(Wire.Read(bytes),
                sign => sign is LineSign.Whole whole && !whole.Frame.Text.Span.SequenceEqual(text));
        }, iter: 3000);

    [Fact]
    public void Take_AnyBytes_NeitherThrowsNorKeepsMore() => Gen.Byte.Array[0, 3000].Sample(bytes =>
    {
        var reader = new FrameReader(maxText: 50);
        foreach (var character in bytes)
            if (reader.Take(character) is LineSign.Whole whole)
                Assert.InRange(whole.Frame.Text.Length, 0, 50);
    }, iter: 500);

    private static Frame Whole(byte[] bytes) =>
        Assert.IsType<LineSign.Whole>(Assert.Single(Wire.Read(bytes))).Frame;
}
