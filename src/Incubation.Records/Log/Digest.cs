using System.Security.Cryptography;

namespace Incubation.Records.Log;

/// <summary>A SHA-256 digest. Its default value is 32 zero bytes, which no row has.</summary>
public readonly record struct Digest
{
    /// <summary>Length in bytes.</summary>
    public const int Length = SHA256.HashSizeInBytes;

    private static readonly string Zeros = new('0', 2 * Length);

    private readonly string? hex;

    private Digest(string hex) => this.hex = hex;

    /// <summary>The SHA-256 digest of some bytes.</summary>
    public static Digest Of(ReadOnlySpan<byte> data)
    {
        Span<byte> digest = stackalloc byte[Length];
        SHA256.HashData(data, digest);
        return new Digest(Convert.ToHexStringLower(digest));
    }

    /// <summary>
    /// The digest that 32 stored bytes are; throws <see cref="ArgumentException"/> for another length.
    /// </summary>
    public static Digest FromBytes(ReadOnlySpan<byte> bytes) =>
        bytes.Length == Length
            ? new Digest(Convert.ToHexStringLower(bytes))
            : throw new ArgumentException($"A digest has {Length} bytes, not {bytes.Length}.", nameof(bytes));

    /// <summary>
    /// The digest that 64 hexadecimal digits are; throws <see cref="FormatException"/> for anything else.
    /// </summary>
    public static Digest Parse(string text) =>
        text.Length == 2 * Length
            ? new Digest(Convert.ToHexStringLower(Convert.FromHexString(text)))
            : throw new FormatException($"A digest has {2 * Length} hexadecimal digits, not {text.Length}.");

    /// <summary>The 32 bytes.</summary>
    public byte[] ToBytes() => Convert.FromHexString(ToString());

    /// <summary>64 hexadecimal digits, lower case.</summary>
    public override string ToString() => hex ?? Zeros;

    public bool Equals(Digest other) => ToString() == other.ToString();

    public override int GetHashCode() => ToString().GetHashCode(StringComparison.Ordinal);
}
