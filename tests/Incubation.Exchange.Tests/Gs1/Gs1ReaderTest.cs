using Incubation.Exchange.Gs1;
using NodaTime;
using Xunit;

namespace Incubation.Exchange.Tests.Gs1;

/// <summary>
/// What scanners send and people type. Vectors are those of the GS1 syntax dictionary and its reference implementation,
/// where nothing else is said.
/// </summary>
public sealed class Gs1ReaderTest
{
    private const int Year = 2026;
    private const string Gs = "\u001d";

    [Theory]
    // The reference implementation's example of a scan.
    [InlineData("]d2011231231231233310ABC123" + Gs + "99TESTING", "(01)12312312312333(10)ABC123(99)TESTING")]
    // The same from other symbologies, without a sign, with the separator first, shown, or at the end.
    [InlineData("]C1011231231231233310ABC123" + Gs + "99TESTING", "(01)12312312312333(10)ABC123(99)TESTING")]
    [InlineData("]Q3011231231231233310ABC123" + Gs + "99TESTING", "(01)12312312312333(10)ABC123(99)TESTING")]
    [InlineData("]e0011231231231233310ABC123" + Gs + "99TESTING", "(01)12312312312333(10)ABC123(99)TESTING")]
    [InlineData("011231231231233310ABC123" + Gs + "99TESTING", "(01)12312312312333(10)ABC123(99)TESTING")]
    [InlineData(Gs + "011231231231233310ABC123" + Gs + "99TESTING" + Gs, "(01)12312312312333(10)ABC123(99)TESTING")]
    [InlineData("^011231231231233310ABC123^99TESTING", "(01)12312312312333(10)ABC123(99)TESTING")]
    [InlineData("011231231231233310ABC123␝99TESTING\r\n", "(01)12312312312333(10)ABC123(99)TESTING")]
    // HL7 FHIR R4, Device/example-udi1, as printed and as scanned.
    [InlineData("(01)00844588003288(17)141120(10)7654321D(21)10987654d321",
        "(01)00844588003288(17)141120(10)7654321D(21)10987654d321")]
    [InlineData("]C1010084458800328817141120107654321D" + Gs + "2110987654d321",
        "(01)00844588003288(17)141120(10)7654321D(21)10987654d321")]
    // A separator after a field of predefined length does no harm; a variable field may come first.
    [InlineData("10AB" + Gs + "0112312312312333" + Gs + "17270131", "(10)AB(01)12312312312333(17)270131")]
    [InlineData("(10)A(B)C", "(10)A\\(B)C")]
    [InlineData("(10)A\\(21)C", "(10)A\\(21)C")]
    [InlineData("0112312312312333310312345630 8", null)]
    [InlineData("01123123123123333103123456308", "(01)12312312312333(3103)123456(30)8")]
    // The same field twice, saying the same.
    [InlineData("(10)AB(10)AB", "(10)AB")]
    public void Read_Code_GivesItsFields(string text, string? expected)
    {
        var reading = Gs1Reader.Read(text, Year);
        Assert.Equal(expected, reading.Scan is { } scan ? Gs1Writer.Bracketed(scan.Elements) : null);
        Assert.Equal(expected is null, reading.Fault is not null);
    }

    [Fact]
    public void Read_KitBox_FillsItemLotExpiryAndSerial()
    {
        var scan = Gs1Reader.Read("]d20100844588003288172704001012/A" + Gs + "21S-7" + Gs + "3025", Year).Scan!;
        Assert.Equal(("00844588003288", "12/A", "S-7", 25),
            (scan.Item!.Value.Value, scan.Lot, scan.Serial, scan.Count));
        Assert.Equal(new Gs1Day(new LocalDate(2027, 4, 30), true), scan.Expiry);
        Assert.Null(scan.Produced);
    }

    [Theory]
    [InlineData("https://example.com/01/12312312312333/22/TEST/10/ABC/21/XYZ", "^011231231231233322TEST^10ABC^21XYZ")]
    [InlineData("https://id.gs1.org/01/09521234543213/10/ABC123?17=261231", "^010952123454321310ABC123^17261231")]
    [InlineData("HTTPS://example.com/some/path/01/09521234543213/10/ABC%26%2B123?linkType=all&17=261231#top",
        "^010952123454321310ABC&+123^17261231")]
    // GTIN-13 in the address, as older addresses have it.
    [InlineData("https://example.com/01/9521234543213/", "^0109521234543213")]
    public void Read_DigitalLink_GivesItsFields(string address, string expected) =>
        Assert.Equal(expected, "^" + Gs1Writer.ElementString(Gs1Reader.Read(address, Year).Scan!.Elements)
            .Replace(Gs, "^", StringComparison.Ordinal));

    [Fact]
    public void LinkPath_LotWithSigns_EscapesThem()
    {
        Assert.Equal("/10/ABC%26%2B123", Gs1Writer.LinkPath(Gs1Reader.Read("(10)ABC&+123", Year).Scan!.Elements));
        Assert.Equal(
            "/01/09521234543213/10/ABC123?17=261231",
            Gs1Writer.LinkPath(Gs1Reader.Read("(01)09521234543213(10)ABC123(17)261231", Year).Scan!.Elements));
    }

    [Fact]
    public void Expiry_OfADigitalLink_IsItsDay() =>
        Assert.Equal(new Gs1Day(new LocalDate(2026, 12, 31), false),
            Gs1Reader.Read("https://id.gs1.org/01/09521234543213/10/ABC123?17=261231", Year).Scan!.Expiry);

    [Theory]
    [InlineData("", "Nothing was scanned.")]
    [InlineData(null, "Nothing was scanned.")]
    [InlineData("  \r\n", "Nothing was scanned.")]
    [InlineData("]d2", "only a code's prefix (]d2)")]
    [InlineData("]C1", "only a code's prefix (]C1)")]
    [InlineData("]Q3", "only a code's prefix (]Q3)")]
    [InlineData("]Q1HELLO", "(]Q1) is not a GS1 code")]
    [InlineData("]d1HELLO", "(]d1) is not a GS1 code")]
    [InlineData("HELLO", "“HELLO” is not a GS1 code")]
    [InlineData("5901234123457", "“5901234123457” is not a GS1 code")]
    [InlineData("(01)12312312312334", "item number 12312312312334 is wrong: its check digit is 4 and should be 3")]
    [InlineData("(01)1231231231233", "item number “1231231231233” is too short")]
    [InlineData("(01)123123123123334", "is too long: at most 14")]
    [InlineData("(17)210229", "expiry date 210229 is not a date")]
    [InlineData("(17)201310", "expiry date 201310 is not a date")]
    [InlineData("(17)2A0131", "contains “A”")]
    [InlineData("(10)", "lot “” is too short")]
    [InlineData("(10)ABC DEF", "contains a space")]
    [InlineData("(10)ABCü", "contains “ü”")]
    [InlineData("(10)123456789012345678901",
        "at most 20 characters are allowed. The separator after it may be missing")]
    [InlineData("(10)AB(10)AC", "lot is there twice, as AB and as AC")]
    [InlineData("(99", "“(99” at character 1 should be")]
    [InlineData("(05)1", "(05) is not a known application identifier")]
    [InlineData("]d2010952123454321305X", "“05X” at character 17, after the item number, does not")]
    // The scanner leaves the separator out: the lot swallows the serial number.
    [InlineData("]C1010084458800328817141120107654321D2110987654d321", "set the scanner to send the group separator")]
    [InlineData("https://example.com/products/7", "has no item number")]
    [InlineData("https://example.com/01/09521234543213/10", "ends after “10”")]
    [InlineData("https://example.com/01/09521234543213/10/A%2", "“A%2” in the address is wrong")]
    public void Read_Garbage_SaysWhatIsWrong(string? text, string expected)
    {
        var reading = Gs1Reader.Read(text, Year);
        Assert.Null(reading.Scan);
        Assert.Contains(expected, reading.Fault, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_TooLong_SaysSo() =>
        Assert.Contains("2401 characters", Gs1Reader.Read(new string('1', 2401), Year).Fault, StringComparison.Ordinal);

    /// <summary>
    /// A lot with a space at its end: fails, and is not quietly trimmed (GS1 syntax dictionary, character set 82).
    /// </summary>
    [Fact]
    public void Read_SpaceAtTheEndOfALot_Fails() =>
        Assert.Contains("space", Gs1Reader.Read("(10)ABC (21)X", Year).Fault, StringComparison.Ordinal);

    [Fact]
    public void Set82_EveryCharacter_IsAsPublished()
    {
        const string Published = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";
        Assert.Equal(82, Published.Length);
        Assert.All(Enumerable.Range(0, 256), code =>
            Assert.Equal(Published.Contains((char)code, StringComparison.Ordinal), Gs1Check.IsSet82((char)code)));
    }
}
