using System.Data.Common;
using Incubation.Bench;
using Incubation.Records.Benches;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Integrity;

/// <summary>The rows that say what a bench knew, found by the log alone.</summary>
internal static class Checkpoints
{
    /// <summary>The last row that says what a bench knew after a row; null where there is none.</summary>
    public static (long Sequence, BenchEvent.CheckpointKept Kept)? Find(DbConnection connection, StreamName stream,
        long upTo)
    {
        var sequences = Queries.Texts(connection,
            "SELECT \"Sequence\" FROM \"EventHeaders\" WHERE \"Stream\" = @stream AND \"EventType\" = @type "
            + "ORDER BY \"Sequence\" DESC",
            ("@stream", stream.ToString()),
            ("@type", BenchEvents.Registry.FormOf<BenchEvent.CheckpointKept>().Name));
        foreach (var sequence in sequences.Select(text => long.Parse(text,
            System.Globalization.CultureInfo.InvariantCulture)))
        {
            var (header, payload) = RawRows.Read(connection, stream.ToString(), sequence - 1, 1).Single();
            var row = Chain.Verify(header, payload, new LogHead(sequence - 1, Digest.FromBytes(header.PreviousHash)),
                mayBeErased: true);
            if (row.Payload is not null
                && BenchStreams.EntryOf(row).Event is BenchEvent.CheckpointKept kept && kept.UpTo == upTo)
                return (sequence, kept);
        }

        return null;
    }
}
