using CsCheck;
using Incubation.Exchange.Gs1;
using Incubation.Model.Terms;
using Xunit;

namespace Incubation.Exchange.Tests.Gs1;

/// <summary>
/// Whatever a code says, each of its forms says it again; whatever else comes, a sentence comes back.
/// </summary>
public sealed class Gs1RoundTripTest
{
    private const int Year = 2026;
    private const string Set82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";

    private static readonly Gs1Field[] Fields =
        [.. Gs1Table.Every.OrderBy(field => field.Identifier, StringComparer.Ordinal)];

    private static readonly Gen<List<Gs1Element>> Codes = Gen.Int.Select(seed =>
    {
        var random = new Random(seed);
        return Enumerable.Range(0, random.Next(1, 7)).Select(_ => Fields[random.Next(Fields.Length)])
            .DistinctBy(field => field.Identifier)
            .Select(field => new Gs1Element(field.Identifier, Value(field, random))).ToList();
    });

    [Fact]
    public void ElementString_AnyCode_ReadsBackEqual() => Codes.Sample(code =>
        Assert.Equal(code, Gs1Reader.Read("]d2" + Gs1Writer.ElementString(code), Year).Scan?.Elements), iter: 3000);

    [Fact]
    public void Bracketed_AnyCode_ReadsBackEqual() => Codes.Sample(code =>
        Assert.Equal(code, Gs1Reader.Read(Gs1Writer.Bracketed(code), Year).Scan?.Elements), iter: 3000);

    [Fact]
    public void LinkPath_AnyCodeOfAnItem_ReadsBackEqual() => Codes.Sample(
        code =>
        {
            List<Gs1Element> ofItem = [new("01", "12312312312333"),
                .. code.Where(element => element.Identifier != "01")];
            Assert.Equal(ofItem,
                Gs1Reader.Read("https://example.com" + Gs1Writer.LinkPath(ofItem), Year).Scan?.Elements);
        }, iter: 3000);

    [Fact]
    public void Read_AnyText_SaysOneThingOrTheOther() => Gen.String.Sample(Answers, iter: 5000);

    [Fact]
    public void Read_AlmostACode_SaysOneThingOrTheOther() => Gen.Select(Codes, Gen.Int[0, 200], Gen.Char).Sample(
        (code, place, letter) =>
        {
            foreach (var text in new[] { "]d2" + Gs1Writer.ElementString(code), Gs1Writer.Bracketed(code),
                "https://e.org" + Gs1Writer.LinkPath(code) })
            {
                var at = place % text.Length;
                Answers(text[..at] + letter + text[(at + 1)..]);
                Answers(text.Remove(at));
                Answers(text.Insert(at, letter.ToString()));
            }
        }, iter: 3000);

    /// <summary>No identifier is the beginning of a longer one: else a scan could be split in two ways.</summary>
    [Fact]
    public void Table_NoIdentifier_BeginsAnother() =>
        Assert.DoesNotContain(Fields, field =>
            Fields.Any(other => other != field
                && other.Identifier.StartsWith(field.Identifier, StringComparison.Ordinal)));

    private static void Answers(string text)
    {
        var reading = Gs1Reader.Read(text, Year);
        Assert.True(reading.Scan is null != reading.Fault is null);
        Assert.True(reading.Fault is null || reading.Fault.EndsWith('.'));
        _ = (reading.Scan?.Item, reading.Scan?.Expiry, reading.Scan?.Count);
    }

    private static string Value(Gs1Field field, Random random)
    {
        var length = random.Next(field.Least, field.Most + 1);
        return field.Characters switch
        {
            Gs1Characters.Date => $"{random.Next(100):00}{random.Next(1, 13):00}{random.Next(29):00}",
            Gs1Characters.Checked => Digits(length - 1, random) is var digits ? digits + CheckDigit.OfGs1(digits) : "",
            Gs1Characters.Digits => Digits(length, random),
            _ => Digits(field.DigitsFirst, random)
                + string.Concat(Enumerable.Range(0, length - field.DigitsFirst)
                    .Select(_ => Set82[random.Next(Set82.Length)])),
        };
    }

    private static string Digits(int length, Random random) =>
        string.Concat(Enumerable.Range(0, length).Select(_ => (char)('0' + random.Next(10))));
}
