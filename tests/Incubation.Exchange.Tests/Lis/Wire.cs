using System.Text;
using CsCheck;
using Incubation.Exchange.Lis;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>What tests of the line share: the published vectors, random messages, bytes as they come.</summary>
internal static class Wire
{
    public const string Header = @"1H|\^&|||Mini LIS||||||||LIS2-A|20210309142633";

    /// <summary>Frames as others have published them: number and text without the record's CR, checksum.</summary>
    public static IReadOnlyList<(string Text, string Sum)> Vectors { get; } =
    [
        (Header, "96"),
        ("2P|1|PID123456||NID123456|Brown^Bobby^B|White|196501020304|M", "66"),
        ("3O|1|SID305||ABO|N|20210309142633|||||N||||CENTBLOOD", "4B"),
        ("4L|1|N", "07"),
        ("2P|1|666|||頭いい^素晴らしい|||U", "3D"),
        ("1A|B|C|D", "BF"),
    ];

    /// <summary>Messages of some records of bytes that a text may have, each record with its CR.</summary>
    public static Gen<byte[][]> Messages { get; } = Gen.Int.Select(seed => Message(new Random(seed)));

    public static byte[] Bytes(string text) => Encoding.UTF8.GetBytes(text);

    public static byte[] Joined(IEnumerable<byte[]> pieces) => [.. pieces.SelectMany(piece => piece)];

    /// <summary>What a reader of frames makes of bytes.</summary>
    public static List<LineSign> Read(IEnumerable<byte> bytes, int maxText = Frame.MaxText)
    {
        var reader = new FrameReader(maxText);
        return [.. bytes.Select(reader.Take).OfType<LineSign>()];
    }

    public static byte[][] Message(Random random) =>
        [.. Enumerable.Range(0, random.Next(1, 12)).Select(_ => Record(random))];

    private static byte[] Record(Random random)
    {
        var length = random.Next(10) == 0 ? random.Next(200, 1500) : random.Next(1, 260);
        var record = new byte[length];
        for (var at = 0; at < length - 1; at++)
            record[at] = Character(random);
        record[^1] = LinkCharacters.Cr;
        return record;
    }

    private static byte Character(Random random)
    {
        while (true)
        {
            var character = (byte)random.Next(7, 255);
            if (!LinkCharacters.IsBarred(character) && character is not (LinkCharacters.Cr or LinkCharacters.Lf))
                return character;
        }
    }
}
