using System.Collections.Immutable;
using System.Data.Common;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Events;
using Incubation.Records.Log;
using Incubation.Records.Seals;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Benches;

/// <summary>
/// States of benches at a row of their streams, so that a start replays only what came after. A snapshot is sealed,
/// names the row that it stands after by that row's hash, and is used by the very build that made it alone: any change
/// of the program is followed by a full replay. May be used from any thread.
/// </summary>
public sealed class BenchSnapshots
{
    /// <summary>Names this build: the compiler gives every assembly of other content another id.</summary>
    internal static readonly string ThisProgram = string.Join(
        ' ', new[] { typeof(Assay), typeof(Planning.Planner), typeof(LiveBench),
            typeof(BenchSnapshots) }.Select(type => type.Module.ModuleVersionId));

    private readonly DataFile file;

    /// <summary>The snapshots in a data file.</summary>
    public BenchSnapshots(DataFile file) => this.file = file;

    /// <summary>
    /// The state of a bench, from its snapshot where one can be trusted and the rows after it; null for an empty
    /// stream. Throws <see cref="LogBrokenException"/> or <see cref="UnreadableEventException"/> as a replay does.
    /// </summary>
    /// <param name="bench">The bench.</param>
    /// <param name="replayed">How many rows were replayed.</param>
    public BenchState? Load(BenchId bench, out long replayed)
    {
        var stream = StreamName.OfBench(bench);
        var state = Kept(stream) ?? AfterErasure(bench);
        replayed = 0;
        foreach (var entry in Decoding.InOrder(file.Log.ReadAll(stream, state?.Revision ?? 0), BenchStreams.EntryOf))
        {
            state = LiveBench.Apply(state, entry);
            replayed++;
        }
        return state;
    }

    /// <summary>
    /// Keeps a state in place of an older one. Throws <see cref="AppendException"/> where the file cannot take it, and
    /// <see cref="LogBrokenException"/> where the state's row is not in the log.
    /// </summary>
    public void Save(BenchState state)
    {
        var stream = StreamName.OfBench(state.Id);
        var row = new SnapshotRow
        {
            Stream = stream.ToString(),
            Sequence = state.Revision,
            RowHash = file.Log.HeadAt(stream, state.Revision).Hash.ToBytes(),
            Program = ThisProgram,
            Json = StateJson.Write(state),
            Hash = [],
        };
        row = row with { Hash = file.Seal.Of(row) };
        file.Write(stream, context =>
        {
            context.Snapshots.Where(old => old.Stream == row.Stream).ExecuteDelete();
            context.Snapshots.Add(row);
            return row.Sequence;
        });
    }

    /// <summary>Where a replay begins when the oldest rows were erased, or null.</summary>
    private BenchState? AfterErasure(BenchId bench)
    {
        if (new BenchStreams(file).Beginning(bench) is not { } beginning)
            return null;
        using var connection = file.OpenReader();
        return WithRecorded(connection, StreamName.OfBench(bench), LiveBench.Apply(null, beginning));
    }

    private BenchState? Kept(StreamName stream)
    {
        using var connection = file.OpenReader();
        if (RowOf(connection, stream) is not { } row || row.Program != ThisProgram)
            return null;
        if (!RecordSeal.Holds(row.Hash, file.Seal.Of(row)))
        {
            file.Distrust(new LogBrokenException($"Snapshots: {stream}", 0, LogDifference.SealDiffers));
            return null;
        }
        try
        {
            if (!file.Log.HeadAt(stream, row.Sequence).Hash.ToBytes().AsSpan().SequenceEqual(row.RowHash))
                return null;
            return StateJson.Read(row.Json) is { } state && state.Revision == row.Sequence
                ? WithRecorded(connection, stream, state) : null;
        }
        catch (Exception e)
            when (e is JsonException or NotSupportedException or LogBrokenException or ArgumentException)
        {
            // A replay from the first row says what is wrong, if anything is.
            return null;
        }
    }

    private static SnapshotRow? RowOf(DbConnection connection, StreamName stream)
    {
        using var command = connection.CreateCommand();
        command.CommandText =
            "SELECT \"Sequence\", \"RowHash\", \"Program\", \"Json\", \"Hash\" FROM \"Snapshots\" "
            + "WHERE \"Stream\" = @stream";
        command.Add("@stream", stream.ToString());
        using var reader = command.ExecuteReader();
        return reader.Read()
            ? new SnapshotRow
            {
                Stream = stream.ToString(),
                Sequence = reader.GetInt64(0),
                RowHash = reader.GetFieldValue<byte[]>(1),
                Program = reader.GetString(2),
                Json = reader.GetString(3),
                Hash = reader.GetFieldValue<byte[]>(4),
            }
            : null;
    }

    /// <summary>The commands recorded up to the state, out of the log's headers.</summary>
    private static BenchState WithRecorded(DbConnection connection, StreamName stream, BenchState state)
    {
        using var command = connection.CreateCommand();
        command.CommandText =
            "SELECT \"Report\" FROM \"EventHeaders\" WHERE \"Stream\" = @stream AND \"Sequence\" <= @sequence "
            + "ORDER BY \"Sequence\"";
        command.Add("@stream", stream.ToString());
        command.Add("@sequence", state.Revision);
        using var reader = command.ExecuteReader();
        var recorded = ImmutableHashSet.CreateBuilder<ReportId>();
        while (reader.Read())
            recorded.Add(ReportId.Of(reader.GetString(0)));
        return state with { Recorded = recorded.ToImmutable() };
    }
}
