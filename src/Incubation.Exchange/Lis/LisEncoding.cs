using System.Text;

namespace Incubation.Exchange.Lis;

/// <summary>In which encoding an instrument writes: the standards leave it to the two ends.</summary>
public enum LisEncoding
{
    /// <summary>ASCII; anything beyond is a fault.</summary>
    Ascii,

    /// <summary>ISO 8859-1.</summary>
    Latin1,

    /// <summary>UTF-8.</summary>
    Utf8,
}

/// <summary>Bytes and text.</summary>
internal static class LisEncodings
{
    private static readonly Encoding Ascii = Encoding.GetEncoding("us-ascii", EncoderFallback.ReplacementFallback,
        new DecoderReplacementFallback("\uFFFD"));

    private static readonly Encoding Utf8 = new UTF8Encoding(encoderShouldEmitUTF8Identifier: false);

    /// <summary>Reads; what is not of the encoding becomes U+FFFD, and is told.</summary>
    public static (string Text, bool IsWhole) Read(this LisEncoding encoding, ReadOnlySpan<byte> bytes) =>
        (Of(encoding).GetString(bytes), IsWhole(encoding, bytes));

    /// <summary>Writes; null where the encoding has not each character.</summary>
    public static byte[]? Write(this LisEncoding encoding, string text)
    {
        var bytes = Of(encoding).GetBytes(text);
        return Of(encoding).GetString(bytes) == text ? bytes : null;
    }

    private static bool IsWhole(LisEncoding encoding, ReadOnlySpan<byte> bytes) => encoding switch
    {
        LisEncoding.Ascii => !bytes.ContainsAnyExceptInRange((byte)0, (byte)127),
        LisEncoding.Utf8 => System.Text.Unicode.Utf8.IsValid(bytes),
        _ => true,
    };

    private static Encoding Of(LisEncoding encoding) => encoding switch
    {
        LisEncoding.Ascii => Ascii,
        LisEncoding.Latin1 => Encoding.Latin1,
        LisEncoding.Utf8 => Utf8,
        _ => throw new ArgumentOutOfRangeException(nameof(encoding), encoding, "There is no such encoding."),
    };
}
