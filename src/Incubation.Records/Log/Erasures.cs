using System.Data.Common;
using Incubation.Records.Storage;

namespace Incubation.Records.Log;

/// <summary>
/// Which payloads of a stream were erased by rule, as the file notes it; whether that is so, the record's own events
/// say.
/// </summary>
internal sealed class Erasures
{
    private readonly List<(long First, long Last, long Event)> ranges;

    private Erasures(List<(long First, long Last, long Event)> ranges) => this.ranges = ranges;

    /// <summary>
    /// The last row of a stream that was erased, and the row that says what the bench knew after it; null where none
    /// was.
    /// </summary>
    public (long UpTo, long Standing)? Beginning => ranges is [var (_, last, standing), ..] ? (last, standing) : null;

    /// <summary>Those of a stream; none in a file of a version that erased nothing.</summary>
    public static Erasures Of(DbConnection connection, string stream)
    {
        var ranges = new List<(long, long, long)>();
        if (!StorageEngine.Present.HasTable(connection, "Erasures"))
            return new Erasures(ranges);
        using var command = connection.CreateCommand();
        command.CommandText =
            "SELECT \"First\", \"Last\", \"Event\" FROM \"Erasures\" WHERE \"Stream\" = @stream ORDER BY \"First\"";
        command.Add("@stream", stream);
        using var reader = command.ExecuteReader();
        while (reader.Read())
            ranges.Add((reader.GetInt64(0), reader.GetInt64(1), reader.GetInt64(2)));
        return new Erasures(ranges);
    }

    /// <summary>Whether a row was erased.</summary>
    public bool Covers(long sequence)
    {
        // Few ranges in a bench's stream, one for each intake in the clinic's: the last that begins no later is the
        // one.
        var (low, high) = (0, ranges.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (ranges[middle].First <= sequence)
                low = middle + 1;
            else
                high = middle;
        }
        return low > 0 && sequence <= ranges[low - 1].Last;
    }
}
