using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace Incubation.Service.People;

/// <summary>Tokens, keys and codes that this server hands out: random, and kept as hashes only.</summary>
public static class Tokens
{
    /// <summary>Bytes of a token or key: 256 bits, more than the 128 that OWASP ASVS 5.0, 7.2.3, asks for.</summary>
    private const int Bytes = 32;

    private const int CodeLetters = 12;

    /// <summary>Letters and digits that are not taken for each other: 32 of them, so 60 bits in a code.</summary>
    private const string Alphabet = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

    /// <summary>A new token.</summary>
    public static string New() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(Bytes));

    /// <summary>A new short name, for the log.</summary>
    public static string NewName() => Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(4));

    /// <summary>A new code for people to type: "K7QD-2MXA-9RTE".</summary>
    public static string NewCode()
    {
        var letters = RandomNumberGenerator.GetString(Alphabet, CodeLetters);
        return $"{letters[..4]}-{letters[4..8]}-{letters[8..]}";
    }

    /// <summary>
    /// What is kept of a random token. It needs no salt and no rounds: nobody can guess 256 random bits.
    /// </summary>
    public static string Hash(string token) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(token)));

    /// <summary>Whether a token is the one of which a hash was kept.</summary>
    public static bool Fits(string token, string hash) =>
        CryptographicOperations.FixedTimeEquals(Encoding.ASCII.GetBytes(Hash(token)), Encoding.ASCII.GetBytes(hash));

    /// <summary>A typed code as it was given out: capitals, without what people put between.</summary>
    public static string Normal(string? typed)
    {
        var letters = new string([.. (typed ?? "").ToUpperInvariant().Where(char.IsAsciiLetterOrDigit)]);
        return letters.Length == CodeLetters ? $"{letters[..4]}-{letters[4..8]}-{letters[8..]}" : letters;
    }
}
