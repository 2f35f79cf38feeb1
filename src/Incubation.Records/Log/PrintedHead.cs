using System.Diagnostics.CodeAnalysis;
using System.Globalization;

namespace Incubation.Records.Log;

/// <summary>
/// A row of a stream as it is noted outside the data file, on a printed batch record: its place, the first half of its
/// hash and the first half of its signature (RFC 2104 §5 allows a signature to be cut to half its length).
/// </summary>
/// <param name="Stream">The stream.</param>
/// <param name="Sequence">The row.</param>
/// <param name="Hash">32 hexadecimal digits.</param>
/// <param name="Signature">32 hexadecimal digits.</param>
public sealed record PrintedHead(StreamName Stream, long Sequence, string Hash, string Signature)
{
    private const int Digits = Digest.Length;

    /// <summary>Reads a note as <see cref="ToString"/> writes it; false for any other text.</summary>
    public static bool TryParse(string? text, [NotNullWhen(true)] out PrintedHead? note)
    {
        note = null;
        // From the end: a bench's id may hold spaces.
        var words = (text ?? "").Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        if (words is not [.. var name, var sequence, var hash, var signature]
            || !StreamName.TryParse(string.Join(' ', name), out var stream)
            || !long.TryParse(sequence, NumberStyles.None, CultureInfo.InvariantCulture, out var number) || number < 1
            || !IsHex(hash) || !IsHex(signature))
            return false;
        note = new PrintedHead(stream, number, hash.ToLowerInvariant(), signature.ToLowerInvariant());
        return true;
    }

    /// <summary>The stream, the row, and the two halves, with a space between them.</summary>
    public override string ToString() =>
        string.Create(CultureInfo.InvariantCulture, $"{Stream} {Sequence} {Hash} {Signature}");

    /// <summary>The note of a row.</summary>
    internal static PrintedHead Of(StreamName stream, LogHead head, SigningKey key) => new(
        stream, head.Sequence, head.Hash.ToString()[..Digits],
            Convert.ToHexStringLower(HeadSignatures.OfHead(key, stream.ToString(), head))[..Digits]);

    private static bool IsHex(string text) => text.Length == Digits && text.All(char.IsAsciiHexDigit);
}
