using Xunit;

namespace Incubation.Bench.Tests;

/// <summary>What a bench knows between two batches is all that the events after it rest on.</summary>
public sealed class BenchStandingTest
{
    /// <summary>Ends with its batch, or follows from what is kept: none of it has to be kept.</summary>
    private static readonly string[] OfTheBatch =
    [
        "Phase", "StartedAt", "Cartridges", "Done", "Adopted", "HasUnplanned", "GivenUp", "Acknowledged", "Undo", "StoryStart", "Story", "Outage", "Settled",
        "Rejected",
        // The commands recorded are read from the log's headers.
        "Recorded", "Revision",
    ];

    /// <summary>Kept under another name.</summary>
    private static readonly Dictionary<string, string> Otherwise = new()
    {
        ["Id"] = "Bench",
        ["Cards"] = "Readers",
        ["CardDoubts"] = "Readers",
        ["LastReport"] = "Hands",
    };

    /// <summary>
    /// A new part of the state fails here: either it ends with its batch (name it above, and empty it where a batch is closed), or
    /// it goes into <see cref="BenchStanding"/>, with a new version of the event that carries it.
    /// </summary>
    [Fact]
    public void State_EachPartOfIt_IsKeptOrEndsWithItsBatch()
    {
        var kept = typeof(BenchStanding).GetProperties().Select(property => property.Name).ToHashSet();
        var parts = typeof(BenchState).GetProperties().Where(property => property.SetMethod is not null).Select(property => property.Name);
        Assert.DoesNotContain(parts, part => !OfTheBatch.Contains(part) && !kept.Contains(Otherwise.GetValueOrDefault(part, part)));
    }
}
