using System.Buffers;
using System.Security.Cryptography;
using System.Text;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Seals;

/// <summary>
/// Seals what the server trusts beside the log, with keys derived from the record's: whoever can write the data file
/// and has not the key can change none of it unnoticed. The bytes are written out in the room's README.
/// </summary>
internal sealed class RecordSeal(SigningKey key)
{
    /// <summary>128 bits: an id has at most 64 characters.</summary>
    private const int EndBytes = 16;

    private const string WrapForm = "aes-256-gcm-1$";
    private static readonly int NonceBytes = AesGcm.NonceByteSizes.MaxSize;
    private static readonly int TagBytes = AesGcm.TagByteSizes.MaxSize;

    private readonly byte[] sealing = key.Derive("incubation seal 1"u8);
    private readonly byte[] wrapping = key.Derive("incubation secret wrap 1"u8);

    /// <summary>The seal of a secret that a row set; that row's hash is under it too.</summary>
    public byte[] Of(SecretRow row, Digest setBy) => Sealed("secret", bytes =>
    {
        Chain.Write(bytes, row.Owner);
        Chain.Write(bytes, row.Kind.ToString());
        Chain.Write(bytes, row.Hash);
        Chain.Write(bytes, row.Expires is { } expires ? Nanoseconds.Of(expires) : long.MinValue);
        Chain.Write(bytes, row.SetBy);
        bytes.Write(setBy.ToBytes());
    });

    /// <summary>The seal of a sign-in that began with a row; that row's hash is under it too.</summary>
    public byte[] Of(SessionRow row, Digest begun) => Sealed("sign-in", bytes =>
    {
        Chain.Write(bytes, row.Id);
        Chain.Write(bytes, row.Person);
        Chain.Write(bytes, row.Way.ToString());
        Chain.Write(bytes, row.Device is null ? 0 : 1);
        Chain.Write(bytes, row.Device ?? "");
        Chain.Write(bytes, row.Name);
        Chain.Write(bytes, Nanoseconds.Of(row.Started));
        Chain.Write(bytes, Nanoseconds.Of(row.LastSeen));
        Chain.Write(bytes, row.Begun);
        if (row.Browser is { } browser)
            Chain.Write(bytes, browser);
        bytes.Write(begun.ToBytes());
    });

    /// <summary>The seal of a snapshot.</summary>
    public byte[] Of(SnapshotRow row) => Sealed("snapshot", bytes =>
    {
        Chain.Write(bytes, row.Stream);
        Chain.Write(bytes, row.Sequence);
        bytes.Write(row.RowHash);
        Chain.Write(bytes, row.Program);
        Chain.Write(bytes, row.Json);
    });

    /// <summary>The seal of a notice.</summary>
    public byte[] Of(NoticeRow row) => Sealed("notice", bytes =>
    {
        Chain.Write(bytes, row.Stream);
        Chain.Write(bytes, row.Sequence);
        Chain.Write(bytes, row.Request);
        Chain.Write(bytes, row.Kind.ToString());
        Chain.Write(bytes, row.Bench);
        Chain.Write(bytes, row.Batch);
        Chain.Write(bytes, Nanoseconds.Of(row.At));
        Chain.Write(bytes, row.Number);
        Chain.Write(bytes, row.Revision);
    });

    /// <summary>The seal of what became of a message.</summary>
    public byte[] Of(DeliveryRow row) => Sealed("delivery", bytes =>
    {
        Chain.Write(bytes, row.Destination);
        Chain.Write(bytes, row.Stream);
        Chain.Write(bytes, row.Sequence);
        Chain.Write(bytes, row.Request);
        Chain.Write(bytes, row.Status.ToString());
        Chain.Write(bytes, row.Tries);
        Chain.Write(bytes, Nanoseconds.Of(row.NextTry));
        Chain.Write(bytes, row.LastTry is { } last ? Nanoseconds.Of(last) : long.MinValue);
        Chain.Write(bytes, row.Answer is null ? 0 : 1);
        Chain.Write(bytes, row.Answer ?? "");
    });

    /// <summary>
    /// The id under which the end of a sign-in is recorded: by it the log tells which of a person's sign-ins has ended,
    /// and nobody without the key can record another command under it.
    /// </summary>
    public ReportId EndOf(Digest begun) => new("end-" + Convert.ToHexStringLower(
        Sealed("sign-in's end", bytes => bytes.Write(begun.ToBytes())).AsSpan(0, EndBytes)));

    /// <summary>Whether a seal is the one that a row must have.</summary>
    public static bool Holds(byte[]? present, byte[] wanted) =>
        present is not null && CryptographicOperations.FixedTimeEquals(present, wanted);

    /// <summary>
    /// A secret's hash as it lies in the data file: whoever has the file alone cannot even begin to guess. AES-256-GCM
    /// with a random nonce; owner and kind are authenticated with it.
    /// </summary>
    public string Wrap(string owner, SecretKind kind, string hash)
    {
        var plain = Encoding.UTF8.GetBytes(hash);
        var all = new byte[NonceBytes + plain.Length + TagBytes];
        RandomNumberGenerator.Fill(all.AsSpan(0, NonceBytes));
        using var cipher = new AesGcm(wrapping, TagBytes);
        cipher.Encrypt(all.AsSpan(0, NonceBytes), plain, all.AsSpan(NonceBytes, plain.Length),
            all.AsSpan(NonceBytes + plain.Length), Beside(owner, kind));
        return WrapForm + Convert.ToBase64String(all);
    }

    /// <summary>The hash in what <see cref="Wrap"/> made; null where it is none.</summary>
    public string? Unwrap(string owner, SecretKind kind, string wrapped)
    {
        if (!wrapped.StartsWith(WrapForm, StringComparison.Ordinal))
            return null;
        try
        {
            var all = Convert.FromBase64String(wrapped[WrapForm.Length..]);
            if (all.Length < NonceBytes + TagBytes)
                return null;
            var plain = new byte[all.Length - NonceBytes - TagBytes];
            using var cipher = new AesGcm(wrapping, TagBytes);
            cipher.Decrypt(all.AsSpan(0, NonceBytes), all.AsSpan(NonceBytes, plain.Length),
                all.AsSpan(NonceBytes + plain.Length), plain, Beside(owner, kind));
            return Encoding.UTF8.GetString(plain);
        }
        catch (Exception e) when (e is FormatException or CryptographicException)
        {
            return null;
        }
    }

    private static byte[] Beside(string owner, SecretKind kind)
    {
        var bytes = new ArrayBufferWriter<byte>(64);
        Chain.Write(bytes, owner);
        Chain.Write(bytes, kind.ToString());
        return bytes.WrittenSpan.ToArray();
    }

    private byte[] Sealed(string what, Action<ArrayBufferWriter<byte>> write)
    {
        var bytes = new ArrayBufferWriter<byte>(256);
        Chain.Write(bytes, "incubation " + what + " 1");
        write(bytes);
        return HMACSHA256.HashData(sealing, bytes.WrittenSpan);
    }
}
