using Incubation.Bench;
using Incubation.Clinic.TestKit;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>A report that came while nobody was signed in.</summary>
public sealed class LockedTabletTest
{
    [Fact]
    public void Locked_ReportThenSettled_StandsAsUncheckedUntilThen()
    {
        var entries = LockedTabletStory.Tell();
        var before = entries.Take(entries.Count - 1).Aggregate((BenchState?)null, LiveBench.Apply)!;
        var after = LiveBench.Apply(before, entries[^1]);

        Assert.Equal(PeopleStory.Tablet, Assert.Single(before.Unchecked).Device);
        Assert.Empty(after.Unchecked);
        Assert.Contains(entries, entry => entry.Event is BenchEvent.IdentityNotChecked);
    }

    [Fact]
    public void Undo_OfUncheckedReport_KeepsTheMark()
    {
        var entries = LockedTabletStory.Tell();
        var mixed = entries.Single(entry => entry.Event is BenchEvent.Mixed);
        var state = entries.TakeWhile(entry => entry.Event is not BenchEvent.Discarded)
            .Aggregate((BenchState?)null, LiveBench.Apply)!;

        var undone = LiveBench.Apply(state,
            new BenchEntry(new BenchEvent.ReportUndone(mixed.Provenance.Id), Rows.Provenance(50)));

        Assert.Equal(mixed.Provenance.Id, Assert.Single(undone.Unchecked).Report);
    }
}
