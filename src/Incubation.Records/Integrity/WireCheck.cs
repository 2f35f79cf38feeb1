using System.Data.Common;
using System.Security.Cryptography;
using System.Text.Json;
using Incubation.Records.Log;

namespace Incubation.Records.Integrity;

/// <summary>What is wrong with the bytes of a message that an instrument sent.</summary>
public enum WireFault
{
    /// <summary>They are others than the log says.</summary>
    Changed,

    /// <summary>They are gone, and the log does not say that they were erased.</summary>
    Missing,

    /// <summary>The log knows no message of that number, or says that its bytes were erased.</summary>
    Unknown,
}

/// <summary>A message whose bytes are not as the log says.</summary>
/// <param name="Message">Its number.</param>
/// <param name="Fault">What is wrong.</param>
public sealed record WireDifference(long Message, WireFault Fault);

/// <summary>
/// Holds the bytes of instruments' messages, which lie beside the log, against their fingerprints in it.
/// </summary>
internal static class WireCheck
{
    private const string Taken = "wire-message-taken";
    private const string Erased = "wire-messages-erased";

    /// <summary>Every message whose bytes differ, by number; of a log that is whole.</summary>
    public static IReadOnlyList<WireDifference> Of(DbConnection connection)
    {
        var (kept, isAny) = Kept(connection);
        // Where none was ever taken the file may be of a version that had no such table.
        if (!isAny)
            return [];
        var found = new List<WireDifference>();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT \"Number\", \"Bytes\" FROM \"WireMessages\" ORDER BY \"Number\"";
        using (var reader = command.ExecuteReader())
            while (reader.Read())
            {
                var number = reader.GetInt64(0);
                if (!kept.Remove(number, out var fingerprint))
                    found.Add(new WireDifference(number, WireFault.Unknown));
                else if (reader.GetValue(1) is not byte[] bytes
                    || Convert.ToHexStringLower(SHA256.HashData(bytes)) != fingerprint)
                    found.Add(new WireDifference(number, WireFault.Changed));
            }

        return [.. found.Concat(kept.Keys.Select(number => new WireDifference(number, WireFault.Missing)))
            .OrderBy(one => one.Message)];
    }

    /// <summary>
    /// The fingerprints of the messages that were taken and not erased; by the names on disk, which stay.
    /// </summary>
    private static (Dictionary<long, string> Kept, bool IsAny) Kept(DbConnection connection)
    {
        var kept = new Dictionary<long, string>();
        var isAny = false;
        foreach (var (header, payload) in RawRows.Read(connection, StreamName.Clinic.ToString(), 0))
        {
            if (payload is null || header.EventType is not (Taken or Erased))
                continue;
            isAny = true;
            using var json = JsonDocument.Parse(payload);
            if (header.EventType == Taken)
                kept[json.RootElement.GetProperty("message").GetInt64()] =
                    json.RootElement.GetProperty("fingerprint").GetString()!;
            else
                foreach (var number in json.RootElement.GetProperty("messages").EnumerateArray())
                    kept.Remove(number.GetInt64());
        }

        return (kept, isAny);
    }
}
