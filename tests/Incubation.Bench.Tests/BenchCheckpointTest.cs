using Xunit;
using static Incubation.Bench.Tests.Scene;

namespace Incubation.Bench.Tests;

/// <summary>What a bench knows between two batches is all that the events after it rest on.</summary>
public sealed class BenchCheckpointTest
{
    /// <summary>
    /// A new part of a bench's state belongs into one of the two parts, where it outlives the batch or ends with it:
    /// what is beside them is known from the log's headers, or follows.
    /// </summary>
    [Fact]
    public void State_BesideItsTwoParts_HoldsNothingButTheLog() => Assert.Equal(
        ["Checkpoint", "HasUnplanned", "Recorded", "Revision", "Run"],
        typeof(BenchState).GetProperties().Where(property => property.SetMethod is not null)
            .Select(property => property.Name).Order(StringComparer.Ordinal));

    [Fact]
    public void Closing_ABatch_LeavesNothingOfItAndTheCheckpointAsItWas()
    {
        var scene = Reacting();
        var done = scene.Now;
        scene.Say(120, new BenchCommand.Discarded(R("R1"), DiscardReason.Dropped, null));
        scene.Say(125, new BenchCommand.GiveUpRequest(R("R1"), "no specimen left", Confirmed: true));
        var before = scene.Now.Checkpoint;
        Assert.IsType<Decision.Accepted>(scene.Say(130, new BenchCommand.CloseBatch()));
        var checkpoint = BenchCheckpoint.Of(scene.Now);
        Assert.Equal(Dump.Of(before with { Batch = 2, LastArrived = checkpoint.LastArrived }), Dump.Of(checkpoint));
        Assert.Equal(Dump.Of(BenchState.From(checkpoint, 0).Run), Dump.Of(scene.Now.Run));
        Assert.Throws<ArgumentException>(() => BenchCheckpoint.Of(done));
    }
}
