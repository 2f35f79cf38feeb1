using System.Security.Cryptography;
using System.Text;

namespace Incubation.Exchange.Webhooks;

/// <summary>
/// The secret with which messages to a destination are signed, in the written form of the public specification
/// "Standard Webhooks": whsec_ and base64 of 24 to 64 bytes.
/// </summary>
public sealed class WebhookSecret
{
    /// <summary>How the written form begins.</summary>
    public const string Begins = "whsec_";

    /// <summary>How many bytes a new one has.</summary>
    public const int Length = 32;

    private const int LeastLength = 24;
    private const int MostLength = 64;
    private readonly byte[] key;

    private WebhookSecret(byte[] key) => this.key = key;

    /// <summary>A secret of random bytes.</summary>
    /// <param name="bytes">24 to 64 bytes that nobody can guess.</param>
    public static WebhookSecret Of(ReadOnlySpan<byte> bytes)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(bytes.Length, LeastLength, nameof(bytes));
        ArgumentOutOfRangeException.ThrowIfGreaterThan(bytes.Length, MostLength, nameof(bytes));
        return new WebhookSecret(bytes.ToArray());
    }

    /// <summary>Reads the written form; null where it is none.</summary>
    public static WebhookSecret? Read(string? text)
    {
        if (text is null || !text.StartsWith(Begins, StringComparison.Ordinal))
            return null;
        var bytes = new byte[MostLength + 3];
        return Convert.TryFromBase64String(text[Begins.Length..], bytes, out var length)
            && length is >= LeastLength and <= MostLength ? new WebhookSecret(bytes[..length]) : null;
    }

    /// <summary>The written form: whoever has it can sign.</summary>
    public string Write() => Begins + Convert.ToBase64String(key);

    /// <summary>
    /// The signature of a message: HMAC-SHA256 over its id, its time in whole seconds since 1970 and its body, with
    /// dots between, in base64 after the version.
    /// </summary>
    public string Sign(string id, long timestamp, ReadOnlySpan<byte> body)
    {
        using var mac = IncrementalHash.CreateHMAC(HashAlgorithmName.SHA256, key);
        mac.AppendData(Encoding.UTF8.GetBytes(string.Create(System.Globalization.CultureInfo.InvariantCulture,
            $"{id}.{timestamp}.")));
        mac.AppendData(body);
        return "v1," + Convert.ToBase64String(mac.GetHashAndReset());
    }
}

/// <summary>
/// The secrets of a destination as they lie beside the log: the one in force and, for a while after it was replaced,
/// the one before.
/// </summary>
/// <param name="Present">The one in force.</param>
/// <param name="Before">The one before; null where messages bear one signature.</param>
/// <param name="BothUntil">Until when, in whole seconds since 1970; 0 where there is none before.</param>
public sealed record WebhookSecrets(WebhookSecret Present, WebhookSecret? Before = null, long BothUntil = 0)
{
    /// <summary>With another secret in force.</summary>
    /// <param name="next">The one from now on.</param>
    /// <param name="bothUntil">Until when messages bear both signatures, in whole seconds since 1970.</param>
    public WebhookSecrets Replaced(WebhookSecret next, long bothUntil) => new(next, Present, bothUntil);

    /// <summary>The header of signatures at a time: one, or two between which a blank stands.</summary>
    public string Sign(string id, long timestamp, ReadOnlySpan<byte> body)
    {
        var signature = Present.Sign(id, timestamp, body);
        return Before is { } before && timestamp < BothUntil
            ? $"{signature} {before.Sign(id, timestamp, body)}" : signature;
    }

    /// <summary>As it lies beside the log.</summary>
    public string Write() => string.Create(System.Globalization.CultureInfo.InvariantCulture,
        $"{Present.Write()}|{Before?.Write()}|{BothUntil}");

    /// <summary>Reads what <see cref="Write"/> wrote; null where it is not that.</summary>
    public static WebhookSecrets? Read(string? text) =>
        text?.Split('|') is [var present, var before, var until] && WebhookSecret.Read(present) is { } secret
            && long.TryParse(until, System.Globalization.NumberStyles.None,
                System.Globalization.CultureInfo.InvariantCulture, out var both)
            ? new WebhookSecrets(secret, WebhookSecret.Read(before), both) : null;
}
