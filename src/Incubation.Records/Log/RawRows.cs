using System.Data.Common;
using Incubation.Records.Storage;

namespace Incubation.Records.Log;

/// <summary>
/// Rows of the log as they are stored, past Entity Framework, which takes several times as long for them.
/// </summary>
internal static class RawRows
{
    private const string Columns =
        """
        SELECT h."Stream", h."Sequence", h."Arrived", h."Reported", h."Person", h."Device", h."Report", h."IndexInCommand",
               h."EventType", h."SchemaVersion", h."PayloadHash", h."PreviousHash", h."Hash", p."Json"
        FROM "EventHeaders" h LEFT JOIN "EventPayloads" p ON p."Stream" = h."Stream" AND p."Sequence" = h."Sequence"
        WHERE h."Stream" = @stream AND h."Sequence" > @after
        ORDER BY h."Sequence" LIMIT @most
        """;

    /// <summary>
    /// The names of the streams that have rows, in order: from name to name along the index, so that the number of rows
    /// does not matter.
    /// </summary>
    public static List<string> Streams(DbConnection connection) => Queries.Texts(
        connection,
        """
        WITH RECURSIVE names(name) AS (
          SELECT MIN("Stream") FROM "EventHeaders"
          UNION ALL
          SELECT (SELECT MIN("Stream") FROM "EventHeaders" WHERE "Stream" > name) FROM names WHERE name IS NOT NULL)
        SELECT name FROM names WHERE name IS NOT NULL
        """);

    /// <summary>
    /// Headers with their payloads, in order. Throws <see cref="LogBrokenException"/> where a column holds a value of a
    /// kind that it never had.
    /// </summary>
    public static IEnumerable<(EventHeaderRow Header, string? Payload)> Read(DbConnection connection, string stream,
        long after, long most = long.MaxValue)
    {
        using var command = connection.CreateCommand();
        command.CommandText = Columns;
        command.Add("@stream", stream);
        command.Add("@after", after);
        command.Add("@most", most);
        using var reader = command.ExecuteReader();
        var last = after;
        while (reader.Read())
        {
            var row = RowOf(reader, stream, last);
            last = row.Header.Sequence;
            yield return row;
        }
    }

    private static (EventHeaderRow Header, string? Payload) RowOf(DbDataReader reader, string stream, long after)
    {
        try
        {
            var header = new EventHeaderRow
            {
                Stream = stream,
                Sequence = Number(reader, 1),
                Arrived = Number(reader, 2),
                Reported = Number(reader, 3),
                Person = Text(reader, 4),
                Device = Text(reader, 5),
                Report = Text(reader, 6),
                IndexInCommand = Number(reader, 7),
                EventType = Text(reader, 8),
                SchemaVersion = Number(reader, 9),
                PayloadHash = Bytes(reader, 10),
                PreviousHash = Bytes(reader, 11),
                Hash = Bytes(reader, 12),
            };
            return (header, reader.IsDBNull(13) ? null : Text(reader, 13));
        }
        catch (InvalidCastException e)
        {
            throw new LogBrokenException(stream, after + 1, LogDifference.Unreadable, e);
        }
    }

    private static long Number(DbDataReader reader, int column) =>
        reader.GetFieldType(column) == typeof(long) ? reader.GetInt64(column) : throw new InvalidCastException();

    private static string Text(DbDataReader reader, int column) =>
        reader.GetFieldType(column) == typeof(string) ? reader.GetString(column) : throw new InvalidCastException();

    private static byte[] Bytes(DbDataReader reader, int column) =>
        reader.GetFieldType(column) == typeof(byte[])
            ? reader.GetFieldValue<byte[]>(column) : throw new InvalidCastException();
}
