using System.Buffers;
using System.Text.Json;
using Incubation.Records.Storage;

namespace Incubation.Records.Log;

/// <summary>What is signed with the record's key. The bytes are written out in the room's README.</summary>
internal static class HeadSignatures
{
    /// <summary>The signature of a stream's head.</summary>
    public static byte[] OfHead(SigningKey key, string stream, LogHead head)
    {
        var bytes = new ArrayBufferWriter<byte>(256);
        Chain.Write(bytes, "incubation log head 1");
        Chain.Write(bytes, stream);
        Chain.Write(bytes, head.Sequence);
        bytes.Write(head.Hash.ToBytes());
        return key.Sign(bytes.WrittenSpan);
    }

    /// <summary>The signature of the list of all streams.</summary>
    public static byte[] OfStreams(SigningKey key, IReadOnlyList<string> streams)
    {
        var bytes = new ArrayBufferWriter<byte>(256);
        Chain.Write(bytes, "incubation log streams 1");
        foreach (var stream in streams)
            Chain.Write(bytes, stream);
        return key.Sign(bytes.WrittenSpan);
    }

    /// <summary>The list's row, signed.</summary>
    public static StreamListRow ListOf(SigningKey key, IEnumerable<string> streams)
    {
        List<string> names = [.. streams.Order(StringComparer.Ordinal)];
        return new StreamListRow
        {
            Id = StreamListRow.Only,
            Key = key.Name,
            Streams = JsonSerializer.Serialize(names),
            Signature = OfStreams(key, names)
        };
    }

    /// <summary>The names in a list's row; null where it holds something else.</summary>
    public static IReadOnlyList<string>? NamesOf(string json)
    {
        try
        {
            return JsonSerializer.Deserialize<List<string>>(json);
        }
        catch (JsonException)
        {
            return null;
        }
    }
}
