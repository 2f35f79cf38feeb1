using System.Security.Cryptography;
using Incubation.Records.Storage;
using Org.BouncyCastle.Asn1.Nist;
using Org.BouncyCastle.Asn1.Pkcs;
using Org.BouncyCastle.Asn1.X509;
using Org.BouncyCastle.Cms;
using Org.BouncyCastle.Crypto;
using Org.BouncyCastle.Crypto.Operators;
using Org.BouncyCastle.Crypto.Parameters;
using Org.BouncyCastle.Security;
using Org.BouncyCastle.X509;

namespace Incubation.Records.Backup;

/// <summary>
/// A file encrypted to a certificate: CMS EnvelopedData (RFC 5652), the content by AES-256-CBC, its key by RSAES-OAEP
/// with SHA-256. It goes through in a stream, whatever its length. What the content is, and that nobody
/// changed it, is for the record's own signatures to say.
/// </summary>
internal static class EncryptedCopy
{
    /// <summary>What the name of an encrypted backup ends with.</summary>
    public const string Ending = ".cms";

    private const int LeastBits = 2048;
    private const int BufferBytes = 1 << 16;

    /// <summary>
    /// The certificate in a file, PEM or DER. Throws <see cref="BackupException"/> where it holds none that a backup
    /// can be encrypted to.
    /// </summary>
    public static X509Certificate Recipient(string path)
    {
        X509Certificate? certificate;
        try
        {
            certificate = new X509CertificateParser().ReadCertificate(File.ReadAllBytes(path));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or GeneralSecurityException)
        {
            throw new BackupException(BackupProblem.RecipientUnusable,
                Sentence.Of(Words.RecipientUnreadable, path, e.Message), e);
        }

        return certificate?.GetPublicKey() is RsaKeyParameters key && key.Modulus.BitLength >= LeastBits
            ? certificate
            : throw new BackupException(BackupProblem.RecipientUnusable, Sentence.Of(Words.RecipientNotRsa, path));
    }

    /// <summary>
    /// Encrypts a file into one for its owner alone, which does not exist; it is on the disk when this returns.
    /// </summary>
    public static void Encrypt(string from, string to, X509Certificate recipient)
    {
        var sha256 = new AlgorithmIdentifier(NistObjectIdentifiers.IdSha256);
        var padding = new RsaesOaepParameters(sha256,
            new AlgorithmIdentifier(PkcsObjectIdentifiers.IdMgf1, sha256), RsaesOaepParameters.DefaultPSourceAlgorithm);
        var generator = new CmsEnvelopedDataStreamGenerator();
        generator.SetBufferSize(BufferBytes);
        generator.AddRecipientInfoGenerator(new KeyTransRecipientInfoGenerator(recipient,
            new Asn1KeyWrapper(PkcsObjectIdentifiers.IdRsaesOaep, padding, recipient)));
        OwnFile.MakeEmpty(to);
        using var target = new FileStream(to, FileMode.Open, FileAccess.Write);
        using (var source = File.OpenRead(from))
        using (var sealing = generator.Open(target, CmsEnvelopedGenerator.Aes256Cbc))
            source.CopyTo(sealing, BufferBytes);
        target.Flush(flushToDisk: true);
    }

    /// <summary>
    /// Decrypts a file into one for its owner alone, which does not exist. Throws <see cref="BackupException"/> where
    /// the key does not open it; nothing is left then.
    /// </summary>
    public static void Decrypt(string from, string to, string privateKey)
    {
        var key = PrivateKey(privateKey);
        try
        {
            using var source = File.OpenRead(from);
            var parser = new CmsEnvelopedDataParser(source);
            var recipient = parser.GetRecipientInfos().GetRecipients().First();
            OwnFile.MakeEmpty(to);
            using var target = new FileStream(to, FileMode.Open, FileAccess.Write);
            recipient.GetContentStream(key).ContentStream.CopyTo(target, BufferBytes);
            target.Flush(flushToDisk: true);
        }
        catch (Exception e) when (e is CmsException or CryptoException or GeneralSecurityException or IOException
            or InvalidOperationException or ArgumentException or InvalidCastException)
        {
            File.Delete(to);
            throw new BackupException(BackupProblem.PrivateKeyUnusable,
                Sentence.Of(Words.CopyNotDecrypted, from, privateKey, e.Message), e);
        }
    }

    private static AsymmetricKeyParameter PrivateKey(string path)
    {
        try
        {
            using var rsa = RSA.Create();
            rsa.ImportFromPem(File.ReadAllText(path));
            return DotNetUtilities.GetRsaKeyPair(rsa).Private;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException
            or CryptographicException)
        {
            throw new BackupException(BackupProblem.PrivateKeyUnusable,
                Sentence.Of(Words.PrivateKeyUnreadable, path, e.Message), e);
        }
    }
}
