using System.Text;
using CsCheck;
using Incubation.Exchange.Lis;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>Records of LIS02-A2: what divides them, what stands for it, what is kept, what is named as wrong.</summary>
public sealed class LisReaderTest
{
    private const string Published = @"H|\^&|||Mini LIS||||||||LIS2-A|20210309142633" + "\r"
        + "P|1|PID123456||NID123456|Brown^Bobby^B|White|196501020304|M\r"
        + "O|1|SID305||ABO|N|20210309142633|||||N||||CENTBLOOD\rL|1|N\r";

    public static TheoryData<LisEncoding> Encodings => [.. Enum.GetValues<LisEncoding>()];

    [Fact]
    public void Read_PublishedMessage_HasItsRecordsAndFields()
    {
        var message = Whole(Published);
        Assert.Equal(["H", "P", "O", "L"], message.Records.Select(record => record.Type));
        Assert.Equal("Mini LIS", message.Records[0][5].Text);
        Assert.Equal(["Brown", "Bobby", "B", ""],
            Enumerable.Range(1, 4).Select(part => message.Records[1][6].Component(part)));
        Assert.Equal("SID305", message.Records[2][3].Text);
        Assert.Equal("CENTBLOOD", message.Records[2][16].Text);
        Assert.True(message.Records[2][17].IsEmpty);
        Assert.True(message.Records[2][0].IsEmpty);
    }

    [Theory]
    [InlineData(@"H|\^&", "R|1|a^b\\c")]
    [InlineData(@"H~!@#", "R~1~a@b!c")]
    [InlineData(@"H,\^$,", "R,1,a^b\\c")]
    [InlineData(@"h|\^&", "r|1|a^b\\c")]
    public void Read_DelimitersOfTheHeader_DivideItsRecords(string header, string record)
    {
        var read = Whole($"{header}\r{record}\rL{header[1]}1\r").Records[1];
        Assert.Equal("R", read.Type);
        Assert.Equal(("a", "b"), (read[3].Component(1), read[3].Component(2)));
        Assert.Equal(["c"], read[3].Repeats.Skip(1).Select(value => value.Component(1)));
    }

    [Theory]
    [InlineData("a&F&b", "a|b")]
    [InlineData("a&S&b&R&c&E&d", @"a^b\c&d")]
    [InlineData("&H&loud&N& quiet", "loud quiet")]
    [InlineData("&X0A&", "\n")]
    [InlineData("&XE90d&", "é\r")]
    [InlineData("Smith & Sons & Co", "Smith & Sons & Co")]
    [InlineData("5 & 6", "5 & 6")]
    [InlineData("&X0&", "&X0&")]
    [InlineData("&X&", "&X&")]
    [InlineData("&Q&", "&Q&")]
    [InlineData("&", "&")]
    [InlineData("&&F&", "&|")]
    public void Text_OfAnEscapedField_IsWhatItMeans(string field, string text)
    {
        var read = Whole($"H|\\^&\rC|1|I|{field}\rL|1\r").Records[1][4];
        Assert.Equal(text, read.Text);
        Assert.Equal(text, read.Component(1));
    }

    [Fact]
    public void Read_RecordsOfNoKnownType_AreKeptAsTheyCame()
    {
        var message = Whole("H|\\^&\rZ9|1|x^y\r|2|z\rM|1|raw&Q&\rS|1\rL|1|N\r");
        Assert.Equal(["H", "Z9", "", "M", "S", "L"], message.Records.Select(record => record.Type));
        Assert.Equal("H|\\^&\rZ9|1|x^y\r|2|z\rM|1|raw&Q&\rS|1\rL|1|N\r",
            Encoding.ASCII.GetString(LisWriter.Write(message, LisEncoding.Ascii)!));
    }

    [Theory]
    [InlineData("", "Message", "does not begin with a header")]
    [InlineData("\r\n\r", "Message", "does not begin with a header")]
    [InlineData("P|1\rL|1\r", "Message", "does not begin with a header")]
    [InlineData("H\r", "Record 1 (H), field 2", "four different delimiters")]
    [InlineData("H|\\^\r", "Record 1 (H), field 2", "four different delimiters")]
    [InlineData("H||^&|\r", "Record 1 (H), field 2", "four different delimiters")]
    [InlineData("HAB^&|\r", "Record 1 (H), field 2", "four different delimiters")]
    [InlineData("H|\\^&\rP|1\r", "Message", "last record (L) is missing")]
    [InlineData("H|\\^&\rP|1\rH|\\^&\rL|1\r", "Record 3 (H)", "second header")]
    [InlineData("H|\\^&\rL|1\rR|1\r", "Message", "after its last record")]
    public void Read_WhatIsWrong_IsNamedWithItsPlace(string message, string place, string what)
    {
        var fault = LisReader.Read(Wire.Bytes(message), LisEncoding.Utf8).Faults[0];
        Assert.Equal(place, fault.Place);
        Assert.Contains(what, fault.What, StringComparison.Ordinal);
        Assert.EndsWith(".", fault.What, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(LisEncoding.Ascii, new byte[] { 0xE9 }, "ASCII")]
    [InlineData(LisEncoding.Utf8, new byte[] { 0xE9 }, "UTF-8")]
    [InlineData(LisEncoding.Utf8, new byte[] { 0xC3 }, "UTF-8")]
    public void Read_BytesOfAnotherEncoding_AreNamedAndTheRecordIsDamaged(LisEncoding encoding, byte[] bytes,
        string name)
    {
        var reading = LisReader.Read([.. "H|\\^&\rC|1|I|"u8, .. bytes, .. "\rL|1\r"u8], encoding);
        var fault = Assert.Single(reading.Faults);
        Assert.Equal("Record 2 (C)", fault.Place);
        Assert.Contains(name, fault.What, StringComparison.Ordinal);
        Assert.Equal([false, true, false], reading.Message!.Records.Select(record => record.IsDamaged));
    }

    [Theory]
    [InlineData(LisEncoding.Latin1, "Müller é")]
    [InlineData(LisEncoding.Utf8, "頭いい 素晴らしい é")]
    [InlineData(LisEncoding.Ascii, "Muller")]
    public void Write_TextOfTheEncoding_ReadsBack(LisEncoding encoding, string text)
    {
        var written = LisWriter.Write(Remark(text), encoding)!;
        Assert.Equal(text, LisReader.Read(written, encoding).Message!.Records[1][4].Text);
    }

    [Theory]
    [InlineData(LisEncoding.Latin1, "頭")]
    [InlineData(LisEncoding.Ascii, "é")]
    public void Write_TextThatTheEncodingHasNot_IsNothing(LisEncoding encoding, string text) =>
        Assert.Null(LisWriter.Write(Remark(text), encoding));

    [Fact]
    public void Write_HalfACharacter_IsNothing() =>
        Assert.Null(LisWriter.Write(Remark("a\ud800"), LisEncoding.Utf8));

    [Theory]
    [MemberData(nameof(Encodings))]
    public void Write_AnyText_ReadsBackAndGoesOverTheLine(LisEncoding encoding) => Gen.String.Sample(text =>
    {
        if (LisWriter.Write(Remark(text), encoding) is not { } written)
            return;
        Assert.Equal(text, LisReader.Read(written, encoding).Message!.Records[1][4].Text);
        Assert.DoesNotContain(written, one => LinkCharacters.IsBarred(one) || one == LinkCharacters.Lf);
        Assert.Equal(3, written.Count(one => one == LinkCharacters.Cr));
    }, iter: 2000);

    [Fact]
    public void Read_AnyBytes_NeitherThrowsNorSaysNothing() => Gen.Byte.Array[0, 400].Sample(bytes =>
    {
        foreach (var encoding in Enum.GetValues<LisEncoding>())
        {
            var reading = LisReader.Read([.. "H|\\^&\r"u8, .. bytes], encoding);
            Assert.True(reading.IsWhole || !reading.Faults.IsEmpty);
            Assert.All(reading.Message!.Records, record => Assert.NotNull(record[3].Text));
            var bare = LisReader.Read(bytes, encoding);
            Assert.True(bare.Message is not null || !bare.Faults.IsEmpty);
            Assert.All(reading.Faults.Concat(bare.Faults), fault =>
                Assert.DoesNotMatch(@"\{\d\}", fault.What));
        }
    }, iter: 1000);

    [Fact]
    public void Read_MoreThanIsReasonable_StopsAndSaysSo()
    {
        var records = LisReader.Read(Wire.Bytes("H|\\^&\r" + string.Concat(Enumerable.Repeat("C\r", 60_000))),
            LisEncoding.Ascii);
        Assert.Equal(LisReader.MaxRecords, records.Message!.Records.Length);
        Assert.Contains(records.Faults, fault => fault.What.Contains("50000", StringComparison.Ordinal));
        var fields = LisReader.Read(Wire.Bytes("H|\\^&\rR" + new string('|', 1_000_000) + "\rL|1\r"),
            LisEncoding.Ascii);
        Assert.Equal("Record 2 (R), field 101", Assert.Single(fields.Faults).Place);
        Assert.True(fields.Message!.Records[1].IsDamaged);
        Assert.Equal(LisReader.MaxFields + 1, fields.Message.Records[1].Fields.Length);
    }

    [Fact]
    public void Read_ManyFaults_AreBoundedInNumberAndEveryDamagedRecordIsMarked()
    {
        var remarks = Wire.Joined(Enumerable.Repeat("C|\u00e9\r"u8.ToArray(), 100));
        var reading = LisReader.Read([.. "H|\\^&\r"u8, .. remarks], LisEncoding.Ascii);
        Assert.Equal(20, reading.Faults.Length);
        Assert.Equal(100, reading.Message!.Records.Count(record => record.IsDamaged));
    }

    [Fact]
    public void Read_AMarkOfTheByteOrder_IsPassedOver() => Assert.Equal(4, Whole("\uFEFF" + Published).Records.Length);

    /// <summary>The published frames, as bytes over the line, cut at every place once.</summary>
    [Fact]
    public void Published_FramesOverTheLine_AreTheMessageWhereverTheyAreCut()
    {
        var frames = Wire.Joined(Wire.Vectors.Take(4)
            .Select(vector => Wire.Bytes($"\u0002{vector.Text}\r\u0003{vector.Sum}\r\n")));
        byte[] bytes = [LinkCharacters.Enq, .. frames, LinkCharacters.Eot];
        var now = NodaTime.Instant.FromUtc(2026, 3, 2, 8, 0);
        for (var cut = 0; cut <= bytes.Length; cut++)
        {
            var link = new Link(new LinkSettings());
            link.Connected(now);
            List<LinkAct> acts =
                [.. link.Received(bytes.AsSpan(..cut), now), .. link.Received(bytes.AsSpan(cut..), now)];
            var store = Assert.Single(acts.OfType<LinkAct.Store>());
            Assert.True(store.IsLast);
            Assert.Equal(Published, Encoding.UTF8.GetString(store.Bytes.Span));
        }
    }

    private static LisMessage Whole(string message)
    {
        var reading = LisReader.Read(Wire.Bytes(message), LisEncoding.Utf8);
        Assert.Empty(reading.Faults);
        Assert.True(reading.IsWhole);
        return reading.Message!;
    }

    private static LisMessage Remark(string text)
    {
        var usual = Delimiters.Usual;
        return new LisMessage(usual,
        [
            LisRecord.Of(usual, 1, "H", new LisField(@"\^&", usual)),
            LisRecord.Of(usual, 2, "C", LisField.Of(usual, "1"), LisField.Of(usual, "I"), LisField.Of(usual, text)),
            LisRecord.Of(usual, 3, "L", LisField.Of(usual, "1"), LisField.Of(usual, "N")),
        ]);
    }
}
