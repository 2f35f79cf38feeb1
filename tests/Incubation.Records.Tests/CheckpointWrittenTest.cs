using Incubation.Bench;
using Incubation.Records.Benches;
using Incubation.Records.Export;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>
/// What a bench knows between two batches is written today letter by letter as a program of before wrote it.
/// </summary>
public sealed class CheckpointWrittenTest
{
    [Fact]
    public void Checkpoint_OfAReplay_IsWrittenAsItStands()
    {
        using var reader = File.OpenText(Path.Combine(AppContext.BaseDirectory, "Samples", "bench-standing-5.jsonl"));
        var rows = LogExport.Read(reader).ToList();
        var kept = Assert.IsType<BenchEvent.CheckpointKept>(BenchStreams.EntryOf(rows[^1]).Event);
        var state = rows.TakeWhile(row => row.Header.Sequence <= kept.UpTo).Select(BenchStreams.EntryOf)
            .Aggregate((BenchState?)null, LiveBench.Apply)!;
        // The sample's gate, its probe and what it asks of labels were set by hand.
        var again = kept with
        {
            Checkpoint = BenchCheckpoint.Of(state) with
            {
                LotGates = kept.Checkpoint.LotGates,
                Probes = kept.Checkpoint.Probes,
                Labels = kept.Checkpoint.Labels,
            },
        };
        Assert.Equal(rows[^1].Payload, BenchEvents.Registry.Encode(again).Json);
    }
}
