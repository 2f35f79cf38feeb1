using System.Buffers.Binary;
using System.Security.Cryptography;
using System.Text;

namespace Incubation.Records.Integrity;

/// <summary>Half of a SHA-256: tells rows apart in little memory, also where somebody chooses them.</summary>
internal static class Fingerprint
{
    /// <summary>Of a text.</summary>
    public static UInt128 Of(string text)
    {
        Span<byte> digest = stackalloc byte[SHA256.HashSizeInBytes];
        SHA256.HashData(Encoding.UTF8.GetBytes(text), digest);
        return BinaryPrimitives.ReadUInt128BigEndian(digest);
    }

    /// <summary>Of the columns of a row, each with its length before it.</summary>
    public static UInt128 Of(object?[] values)
    {
        var text = new StringBuilder();
        foreach (var value in values)
        {
            var column = TableForm.Text(value);
            text.Append(value is null ? -1 : column.Length).Append(':').Append(column);
        }

        return Of(text.ToString());
    }
}
