using System.Buffers.Binary;
using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace Incubation.Server.Tests.Doors;

/// <summary>
/// An authenticator and its browser in memory (W3C Web Authentication level 3, 6.1, 6.5 and 8.7: no attestation), which
/// can be told to do what real ones do not: not to ask the person, to count backwards, to answer for another page.
/// </summary>
internal sealed class SoftAuthenticator : IDisposable
{
    private const byte Present = 0x01;
    private const byte Verified = 0x04;
    private const byte HasCredential = 0x40;

    private readonly ECDsa key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
    private readonly byte[] id = RandomNumberGenerator.GetBytes(32);
    private string handle = "";

    /// <summary>Whether it makes sure who the person is.</summary>
    public bool Verifies { get; set; } = true;

    /// <summary>What it counts up with each signature; null where it counts nothing.</summary>
    public uint? Count { get; set; } = 1;

    /// <summary>The page that it believes it answers.</summary>
    public string Origin { get; set; } = "http://localhost";

    /// <summary>The domain that it answers for; null for the one it is asked for.</summary>
    public string? Domain { get; set; }

    public string Credential => Base64Url.EncodeToString(id);

    public string Make(string options)
    {
        var asked = JsonNode.Parse(options)!;
        handle = (string)asked["user"]!["id"]!;
        var client = ClientData("webauthn.create", (string)asked["challenge"]!);
        var data = AuthenticatorData((string)asked["rp"]!["id"]!, HasCredential);
        byte[] attestation =
        [
            0xA3,
            .. Text("fmt"), .. Text("none"),
            .. Text("attStmt"), 0xA0,
            .. Text("authData"), 0x58, checked((byte)data.Length), .. data,
        ];
        return Answer(new JsonObject
        {
            ["clientDataJSON"] = Base64Url.EncodeToString(client),
            ["attestationObject"] = Base64Url.EncodeToString(attestation),
            ["transports"] = new JsonArray("internal"),
        });
    }

    public string Sign(string options)
    {
        var asked = JsonNode.Parse(options)!;
        var client = ClientData("webauthn.get", (string)asked["challenge"]!);
        var data = AuthenticatorData((string)asked["rpId"]!, 0);
        var signature = key.SignData([.. data, .. SHA256.HashData(client)], HashAlgorithmName.SHA256,
            DSASignatureFormat.Rfc3279DerSequence);
        return Answer(new JsonObject
        {
            ["clientDataJSON"] = Base64Url.EncodeToString(client),
            ["authenticatorData"] = Base64Url.EncodeToString(data),
            ["signature"] = Base64Url.EncodeToString(signature),
            ["userHandle"] = handle,
        });
    }

    public void Dispose() => key.Dispose();

    private string Answer(JsonObject response) => new JsonObject
    {
        ["id"] = Credential,
        ["rawId"] = Credential,
        ["type"] = "public-key",
        ["response"] = response,
        ["clientExtensionResults"] = new JsonObject(),
    }.ToJsonString();

    private byte[] ClientData(string type, string challenge) => JsonSerializer.SerializeToUtf8Bytes(
        new { type, challenge, origin = Origin, crossOrigin = false });

    private byte[] AuthenticatorData(string domain, byte more)
    {
        var flags = (byte)(Present | (Verifies ? Verified : 0) | more);
        Span<byte> count = stackalloc byte[4];
        if (Count is { } counted)
        {
            BinaryPrimitives.WriteUInt32BigEndian(count, counted);
            Count = counted + 1;
        }

        return
        [
            .. SHA256.HashData(Encoding.UTF8.GetBytes(Domain ?? domain)), flags, .. count,
            .. more == HasCredential ? CredentialData() : [],
        ];
    }

    private byte[] CredentialData()
    {
        var point = key.ExportParameters(false).Q;
        // A COSE key of kind EC2 for ES256 on P-256 (RFC 9053).
        return
        [
            .. new byte[16], 0, checked((byte)id.Length), .. id,
            0xA5, 0x01, 0x02, 0x03, 0x26, 0x20, 0x01, 0x21, 0x58, 0x20, .. point.X!, 0x22, 0x58, 0x20, .. point.Y!,
        ];
    }

    private static byte[] Text(string text) => [(byte)(0x60 + text.Length), .. Encoding.ASCII.GetBytes(text)];
}
