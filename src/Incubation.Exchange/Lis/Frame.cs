using System.Globalization;

namespace Incubation.Exchange.Lis;

/// <summary>A piece of a message as it goes over the line.</summary>
/// <param name="Number">0 to 7: the first of a transfer is 1, after 7 comes 0.</param>
/// <param name="Text">What it carries, as bytes.</param>
/// <param name="EndsRecord">Whether a record ends with it (ETX), or goes on in the next (ETB).</param>
public sealed record Frame(int Number, ReadOnlyMemory<byte> Text, bool EndsRecord)
{
    /// <summary>The first number of a transfer.</summary>
    public const int First = 1;

    /// <summary>The most bytes of text in a frame that every receiver takes (ASTM E1381: 247 with what surrounds
    /// it).</summary>
    public const int UsualText = 240;

    /// <summary>The most bytes of text in any frame (LIS01-A2: 64,000 with what surrounds it).</summary>
    public const int MaxText = 64_000 - Surrounding;

    /// <summary>STX, number, ETX or ETB, two digits, CR, LF.</summary>
    internal const int Surrounding = 7;

    /// <summary>The number after another.</summary>
    public static int NumberAfter(int number) => (number + 1) % 8;

    /// <summary>The frame as bytes, from STX to LF.</summary>
    /// <exception cref="ArgumentException">The text holds what no frame may, or the number is none.</exception>
    public byte[] Encode()
    {
        if (Number is < 0 or > 7)
            throw new ArgumentException("The number of a frame is 0 to 7.");
        if (Text.Length > MaxText)
            throw new ArgumentException($"The text of a frame has at most {MaxText} bytes.");
        var bytes = new byte[Text.Length + Surrounding];
        bytes[0] = LinkCharacters.Stx;
        bytes[1] = (byte)('0' + Number);
        Text.Span.CopyTo(bytes.AsSpan(2));
        bytes[^5] = EndsRecord ? LinkCharacters.Etx : LinkCharacters.Etb;
        foreach (var character in Text.Span)
            if (LinkCharacters.IsBarred(character))
                throw new ArgumentException($"The character {character} never stands in a frame's text.");
        var sum = Checksum(bytes.AsSpan(1..^4)).ToString("X2", CultureInfo.InvariantCulture);
        bytes[^4] = (byte)sum[0];
        bytes[^3] = (byte)sum[1];
        bytes[^2] = LinkCharacters.Cr;
        bytes[^1] = LinkCharacters.Lf;
        return bytes;
    }

    /// <summary>The sum, modulo 256, of the bytes from a frame's number to its ETX or ETB.</summary>
    public static byte Checksum(ReadOnlySpan<byte> bytes)
    {
        var sum = 0;
        foreach (var character in bytes)
            sum = (sum + character) & 0xFF;
        return (byte)sum;
    }
}
