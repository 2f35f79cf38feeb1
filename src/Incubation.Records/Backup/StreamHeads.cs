using System.Data.Common;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Backup;

/// <summary>Where the streams of a file end, as it says; nothing is verified.</summary>
internal static class StreamHeads
{
    /// <summary>The last sequence of each stream.</summary>
    public static Dictionary<string, long> Of(DbConnection connection)
    {
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT \"Stream\", MAX(\"Sequence\") FROM \"EventHeaders\" GROUP BY \"Stream\"";
        using var reader = command.ExecuteReader();
        var heads = new Dictionary<string, long>(StringComparer.Ordinal);
        while (reader.Read())
            heads[reader.GetString(0)] = reader.GetInt64(1);
        return heads;
    }

    /// <summary>The hash of a row; the default where there is none.</summary>
    public static Digest HashAt(DbConnection connection, string stream, long sequence) =>
        Queries.Scalar(connection,
            "SELECT \"Hash\" FROM \"EventHeaders\" WHERE \"Stream\" = @stream AND \"Sequence\" = @sequence",
            ("@stream", stream), ("@sequence", sequence)) is byte[] { Length: Digest.Length } hash
            ? Digest.FromBytes(hash)
            : default;
}
