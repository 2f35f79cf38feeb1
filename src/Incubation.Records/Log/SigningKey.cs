using System.Security.Cryptography;
using System.Text;
using Incubation.Records.Storage;

namespace Incubation.Records.Log;

/// <summary>
/// The key of a record: 32 random bytes in a file of its own, outside the data file. With it the heads of the streams
/// are signed (HMAC-SHA256, RFC 2104), so that whoever holds the data file alone can neither cut a tail off nor make a
/// chain anew without being found.
/// </summary>
public sealed class SigningKey
{
    /// <summary>Name of the key's file, in the folder of the data file unless another path is set.</summary>
    public const string FileName = "record.key";

    /// <summary>Length of a key in bytes, that of the hash, as RFC 2104 §3 advises at the least.</summary>
    public const int Length = HMACSHA256.HashSizeInBytes;

    private const int NameDigits = 16;
    private readonly byte[] bytes;

    private SigningKey(byte[] bytes) => this.bytes = bytes;

    /// <summary>Tells this key from others and says nothing of it: 16 hexadecimal digits.</summary>
    public string Name => Convert.ToHexStringLower(Sign("incubation record key 1"u8))[..NameDigits];

    /// <summary>
    /// Where the key of a data file lies unless another path is set: one for all data files of a folder.
    /// </summary>
    public static string PathBeside(string dataFile) =>
        Path.Combine(Path.GetDirectoryName(Path.GetFullPath(dataFile))!, FileName);

    /// <summary>
    /// The key in a file, or null where there is no file. Throws <see cref="DataFileException"/> where it holds none.
    /// </summary>
    public static SigningKey? Find(string path)
    {
        try
        {
            if (!File.Exists(path))
                return null;
            var text = File.ReadAllText(path).Trim();
            return text.Length == 2 * Length && text.All(char.IsAsciiHexDigit)
                ? new SigningKey(Convert.FromHexString(text))
                : throw new DataFileException(DataFileProblem.KeyUnreadable, path, Words.KeyUnreadable);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new DataFileException(DataFileProblem.KeyUnreadable, path, Words.KeyCannotBeRead, e.Message, e);
        }
    }

    /// <summary>
    /// Makes a key in a file for its owner alone; it is on the disk when this returns. Throws
    /// <see cref="DataFileException"/>.
    /// </summary>
    internal static SigningKey Make(string path)
    {
        var key = new SigningKey(RandomNumberGenerator.GetBytes(Length));
        var part = path + ".part";
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(Path.GetFullPath(path))!);
            File.Delete(part);
            OwnFile.MakeEmpty(part);
            using (var file = new FileStream(part, FileMode.Open, FileAccess.Write))
            {
                file.Write(Encoding.ASCII.GetBytes(Convert.ToHexStringLower(key.bytes) + "\n"));
                file.Flush(flushToDisk: true);
            }
            File.Move(part, path, overwrite: false);
            return key;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new DataFileException(DataFileProblem.KeyUnreadable, path, Words.KeyCannotBeMade, e.Message, e);
        }
    }

    internal byte[] Sign(ReadOnlySpan<byte> data) => HMACSHA256.HashData(bytes, data);

    /// <summary>
    /// A key for another purpose, of the same length: HKDF-SHA256 (RFC 5869) without salt, with the purpose as its
    /// info.
    /// </summary>
    internal byte[] Derive(ReadOnlySpan<byte> purpose)
    {
        var derived = new byte[Length];
        HKDF.DeriveKey(HashAlgorithmName.SHA256, bytes, derived, default, purpose);
        return derived;
    }
}
