using System.Collections.Immutable;
using System.Globalization;
using CsCheck;
using Incubation.Exchange.Lis;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>The results in a message: what is understood, and that nothing is guessed.</summary>
public sealed class ReaderMessageTest
{
    private static readonly DateTimeZone Zone = DateTimeZoneProviders.Tzdb["Europe/Vienna"];

    private const string Order = "P|1\rO|1|SP-001^3^B7|77|^^^DA|R||||||N\r";

    [Fact]
    public void Read_AResult_HasEverythingThatItsRecordsSay()
    {
        var message = Read(Order + "R|1|^^^DA^1|12.50|ng/mL|0.5 to 9|H\\A||F||AB|20260302080900|20260302081010|FL-1\r"
            + "C|1|I|first\rC|2|I|second\r");
        Assert.Empty(message.Faults);
        Assert.Equal(("Reader", MessageUse.Production, MessageEnd.Normal),
            (message.Sender, message.Use, message.End));
        var result = Assert.Single(message.Results);
        Assert.Equal((4, "SP-001", "77", "DA", "ng/mL", "FL-1", "AB"), (result.Record, result.Specimen,
            result.InstrumentSpecimen, result.Test, result.Unit, result.Instrument, result.Operator));
        Assert.Equal(("12.50", "12.50"), (result.Value.Text, result.Value.Shown));
        Assert.Equal(["H", "A"], result.Flags);
        Assert.Equal(["first", "second"], result.Comments);
        Assert.Equal(Instant.FromUtc(2026, 3, 2, 7, 10, 10), result.ReadAt!.At.Earliest);
        Assert.Equal(Instant.FromUtc(2026, 3, 2, 7, 9, 0), result.BegunAt!.At.Latest);
        Assert.False(result.IsControl || result.IsDoubtful);
    }

    [Theory]
    [InlineData("12.50", "12.50")]
    [InlineData("10.10", "10.10")]
    [InlineData(">10", ">10")]
    [InlineData("< 0.5", "<0.5")]
    [InlineData("0", "0")]
    [InlineData("12.5^", "12.5")]
    [InlineData("12,5", null)]
    [InlineData("1,250", null)]
    [InlineData("1.2E3", null)]
    [InlineData("-1", null)]
    [InlineData(">=10", null)]
    [InlineData("12.", null)]
    [InlineData(".5", null)]
    [InlineData("1.2.3", null)]
    [InlineData("１２", null)]
    [InlineData("12.345678901234567", null)]
    [InlineData("positive", null)]
    [InlineData("neg^0.12", null)]
    [InlineData("5\\6", null)]
    public void Value_ThatCanBeReadInOneWayAlone_IsANumber(string field, string? shown)
    {
        var value = Assert.Single(Read(Order + $"R|1|^^^DA|{field}|ng/mL||||F\r").Results).Value;
        Assert.Equal(shown, value.Shown);
        Assert.NotEmpty(value.Text);
    }

    [Theory]
    [InlineData("R|1|^^^DA|10|ng/mL||>||F", 7, "off the scale")]
    [InlineData("R|1|^^^DA|>10|ng/mL||<||F", 7, "off the scale")]
    [InlineData("R|1||10|ng/mL||||F", 3, "names no test")]
    [InlineData("R|1|^^^DA||ng/mL||||F", 4, "has no value")]
    [InlineData("R|1|^^^DA|5|ng/mL||||K", 9, "not a result status")]
    [InlineData("R|1|^^^DA|5|ng/mL||||F||||2026030208", 13, "not a date with a time")]
    [InlineData("R|1|^^^DA|5|ng/mL||||F||||20260230081010", 13, "not a date with a time")]
    [InlineData("R|1|^^^D&X1B&A|5|ng/mL||||F", 3, "cannot be shown")]
    public void Result_ThatCannotBeUnderstood_IsDoubtfulAndSaidWhere(string record, int field, string what)
    {
        var message = Read(Order + record + "\r");
        var fault = Assert.Single(message.Faults);
        Assert.Equal($"Record 4 (R), field {field}", fault.Place);
        Assert.Contains(what, fault.What, StringComparison.Ordinal);
        Assert.True(Assert.Single(message.Results).IsDoubtful);
    }

    [Theory]
    [InlineData(">10", ">")]
    [InlineData("<0.5", "<")]
    public void Flag_OffTheScale_AgreesWithItsComparator(string value, string flag) =>
        Assert.Empty(Read(Order + $"R|1|^^^DA|{value}|ng/mL||{flag}||F\r").Faults);

    [Theory]
    [InlineData("F", ReaderResultStatus.Final)]
    [InlineData("", ReaderResultStatus.Final)]
    [InlineData("f", ReaderResultStatus.Final)]
    [InlineData("V", ReaderResultStatus.Verified)]
    [InlineData("R", ReaderResultStatus.SentBefore)]
    [InlineData("C", ReaderResultStatus.Correction)]
    [InlineData("P", ReaderResultStatus.Preliminary)]
    [InlineData("S", ReaderResultStatus.Preliminary)]
    [InlineData("I", ReaderResultStatus.Pending)]
    [InlineData("N", ReaderResultStatus.Pending)]
    [InlineData("W", ReaderResultStatus.Doubted)]
    [InlineData("X", ReaderResultStatus.NotMeasured)]
    public void Status_OfAResult_IsWhatItsLetterSays(string letter, ReaderResultStatus status) =>
        Assert.Equal(status, Assert.Single(Read(Order + $"R|1|^^^DA|5|ng/mL||||{letter}\r").Results).Status);

    [Fact]
    public void Result_NotMeasured_NeedsNoValue()
    {
        var message = Read(Order + "R|1|^^^DA||||||X\rC|1|I|E-17\r");
        Assert.Empty(message.Faults);
        Assert.Equal(["E-17"], Assert.Single(message.Results).Comments);
    }

    /// <summary>Whose a result is, says the order before it, and no earlier one.</summary>
    [Fact]
    public void Specimen_OfAResult_IsItsOrdersAlone()
    {
        var results = Read("R|1|^^^A|1\rP|1\rR|1|^^^B|2\rO|1|S1||^^^C\rR|1|^^^C|3\rR|2|^^^D|4\rO|2|||^^^E|||||||Q\r"
            + "R|1|^^^E|5\rP|2\rR|1|^^^F|6\rO|1|S2\rR|1|^^^G|7\r").Results;
        Assert.Equal([null, null, "S1", "S1", null, null, "S2"], results.Select(result => result.Specimen));
        Assert.Equal("E", Assert.Single(results, result => result.IsControl).Test);
    }

    [Theory]
    [InlineData("^^^DA", "DA")]
    [InlineData("^^^DA^2", "DA")]
    [InlineData("DA", "DA")]
    [InlineData("2160-0^Creatinine^LN^DA", "DA")]
    [InlineData("^Creatinine", "Creatinine")]
    public void Test_OfAResult_IsTheMakersNameElseTheFirst(string field, string test) =>
        Assert.Equal(test, Assert.Single(Read(Order + $"R|1|{field}|5\r").Results).Test);

    [Fact]
    public void Specimen_ThatCannotBeOne_IsNoneAndDoubtful()
    {
        var message = Read($"P|1\rO|1|{new string('x', 65)}\rR|1|^^^DA|5\rR|2|^^^DB|6\r");
        Assert.Equal("Record 3 (O), field 3", Assert.Single(message.Faults).Place);
        Assert.All(message.Results, result => Assert.True(result.IsDoubtful && result.Specimen is null));
    }

    [Fact]
    public void Records_OfAnotherEncoding_MakeTheirResultsDoubtfulAndNoOthers()
    {
        var message = ReaderMessageReader.Read(
            [.. "H|\\^&\rP|1\rO|1|S"u8, 0xE9, .. "\rR|1|^^^DA|5\rO|2|S2\rR|1|^^^DA|6\rR|2|^^^DB|7|"u8, 0xB5,
                .. "g\rR|3|^^^DC|8\rL|1\r"u8], LisEncoding.Utf8, Zone).Message!;
        Assert.Equal([true, false, true, false], message.Results.Select(result => result.IsDoubtful));
    }

    [Theory]
    [InlineData("L|1|N", MessageEnd.Normal)]
    [InlineData("L|1", MessageEnd.Normal)]
    [InlineData("L|1|F", MessageEnd.Normal)]
    [InlineData("L|1|T", MessageEnd.BrokenOff)]
    [InlineData("L|1|R", MessageEnd.BrokenOff)]
    [InlineData("L|1|E", MessageEnd.Fault)]
    [InlineData("L|1|Q", MessageEnd.Fault)]
    [InlineData("L|1|?", MessageEnd.Unknown)]
    [InlineData("", MessageEnd.None)]
    public void End_OfAMessage_IsWhatItsLastRecordSays(string last, MessageEnd end) =>
        Assert.Equal(end, ReaderMessageReader.Read(Wire.Bytes("H|\\^&\r" + last), LisEncoding.Utf8, Zone).Message!.End);

    [Theory]
    [InlineData("P", MessageUse.Production)]
    [InlineData("", MessageUse.Production)]
    [InlineData("T", MessageUse.Training)]
    [InlineData("D", MessageUse.Debugging)]
    [InlineData("Q", MessageUse.QualityControl)]
    [InlineData("?", MessageUse.Unknown)]
    public void Use_OfAMessage_IsWhatItsHeaderSays(string letter, MessageUse use) => Assert.Equal(use,
        ReaderMessageReader.Read(Wire.Bytes($"H|\\^&||||||||||{letter}\rL|1\r"), LisEncoding.Utf8, Zone).Message!.Use);

    [Fact]
    public void Read_NoMessage_SaysWhy()
    {
        var (message, faults) = ReaderMessageReader.Read("hello"u8, LisEncoding.Utf8, Zone);
        Assert.Null(message);
        Assert.Single(faults);
    }

    [Fact]
    public void Write_AnyMessage_ReadsBackEqual() => Gen.Int.Sample(seed =>
    {
        var sent = Message(new Random(seed));
        var bytes = LisWriter.Write(ReaderMessageWriter.Write(sent), LisEncoding.Utf8)!;
        var (read, faults) = ReaderMessageReader.Read(bytes, LisEncoding.Utf8, Zone);
        Assert.Empty(faults);
        Assert.Equal((sent.Sender, sent.ControlId, sent.SentAt, sent.Use, MessageEnd.Normal),
            (read!.Sender, read.ControlId, read.SentAt, read.Use, read.End));
        Assert.Equal(sent.Results.Select(Comparable), read.Results.Select(Comparable));
    }, iter: 500);

    [Fact]
    public void Read_AlmostAMessage_NeverThrows() => Gen.Select(Gen.Int, Gen.Int[0, 10_000], Gen.Byte, Gen.Int[0, 3])
        .Sample((seed, place, character, how) =>
        {
            List<byte> bytes =
                [.. LisWriter.Write(ReaderMessageWriter.Write(Message(new Random(seed))), LisEncoding.Utf8)!];
            var at = place % bytes.Count;
            if (how == 0)
                bytes[at] = character;
            else if (how == 1)
                bytes.Insert(at, character);
            else if (how == 2)
                bytes.RemoveAt(at);
            else
                bytes.RemoveRange(at, bytes.Count - at);
            foreach (var encoding in Enum.GetValues<LisEncoding>())
            {
                var (message, faults) = ReaderMessageReader.Read([.. bytes], encoding, Zone);
                Assert.True(message is not null || !faults.IsEmpty);
                Assert.All(message?.Results ?? [], result => Assert.NotNull(result.Value.Text));
            }
        }, iter: 1000);

    private static ReaderMessage Read(string records) => ReaderMessageReader.Read(
        Wire.Bytes($"H|\\^&|||Reader\r{records}L|1|N\r"), LisEncoding.Utf8, Zone).Message!;

    private static string Comparable(ReaderResult result) => string.Join("; ", result with
    {
        Record = 0,
        Flags = [],
        Comments = [],
    }, string.Join(",", result.Flags), string.Join(",", result.Comments));

    private static ReaderMessage Message(Random random) => new(Words(random), [.. Enumerable
        .Range(0, random.Next(0, 6)).Select(_ => Result(random))])
    {
        ControlId = Words(random),
        SentAt = ReaderTime.Of(Time(random), Zone),
        Use = (MessageUse)random.Next(4),
    };

    private static ReaderResult Result(Random random) => new(0, random.Next(4) == 0 ? null : "SP-" + random.Next(3),
        "T" + Words(random), ReaderValue.Of(Value(random)), Words(random), (ReaderResultStatus)random.Next(8))
    {
        InstrumentSpecimen = random.Next(2) == 0 ? null : "7" + random.Next(3),
        IsControl = random.Next(5) == 0,
        Flags = random.Next(3) == 0 ? ["H", "A"] : ImmutableArray<string>.Empty,
        ReadAt = random.Next(4) == 0 ? null : ReaderTime.Of(Time(random), Zone),
        BegunAt = random.Next(2) == 0 ? null : ReaderTime.Of(Time(random), Zone),
        Operator = Words(random),
        Instrument = Words(random),
        Comments = [.. Enumerable.Range(0, random.Next(3)).Select(_ => Words(random))],
    };

    private static string Value(Random random) => (random.Next(5) == 0 ? "<" : "")
        + random.Next(100_000).ToString(CultureInfo.InvariantCulture) + (random.Next(2) == 0 ? "" : ".10");

    private static string Words(Random random) => string.Concat(Enumerable.Range(0, random.Next(8))
        .Select(_ => @"ab|\^&é素#/".AsSpan()[random.Next(10)])).Trim();

    private static Instant Time(Random random) =>
        Instant.FromUtc(2026, 1, 1, 0, 0) + Duration.FromSeconds(random.Next(100_000_000));
}
