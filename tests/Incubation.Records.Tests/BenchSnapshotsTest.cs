using System.Collections;
using System.Text;
using Incubation.Bench;
using Incubation.Records.Benches;
using Incubation.Records.Log;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>A snapshot and the rows after it lead to what a replay from the first row leads to.</summary>
public sealed class BenchSnapshotsTest : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Load_SnapshotAfterAnyRow_IsTheStateOfAReplay(bool otherwise)
    {
        var entries = otherwise ? BenchStory.TellOtherwise() : BenchStory.Tell();
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        var snapshots = new BenchSnapshots(file);
        BenchState? state = null;
        foreach (var command in entries.GroupBy(entry => entry.Provenance.Id))
        {
            state = command.Aggregate(state, LiveBench.Apply);
            streams.Append(Rows.Bench, state!.Revision - command.Count(), [.. command]);
            snapshots.Save(state);
            var loaded = snapshots.Load(Rows.Bench, out var replayed);
            Assert.Equal(0, replayed);
            Assert.Equal(Written(state), Written(loaded));
        }
        Assert.True(state!.Revision > 30, "The story is too short to show anything.");
    }

    [Fact]
    public void Load_RowsAfterTheSnapshot_AreReplayed()
    {
        using var file = DataFile.Open(folder.DataFile);
        var entries = Append(file);
        new BenchSnapshots(file).Save(entries.Take(10).Aggregate((BenchState?)null, LiveBench.Apply)!);
        var loaded = new BenchSnapshots(file).Load(Rows.Bench, out var replayed);
        Assert.Equal(entries.Count - 10, replayed);
        Assert.Equal(Written(entries.Aggregate((BenchState?)null, LiveBench.Apply)), Written(loaded));
    }

    [Fact]
    public void Load_NoRows_IsNothing()
    {
        using var file = DataFile.Open(folder.DataFile);
        Assert.Null(new BenchSnapshots(file).Load(Rows.Bench, out _));
    }

    [Theory]
    [InlineData("UPDATE Snapshots SET Json = replace(Json, 'Bench 1', 'Bench 2')")]
    [InlineData("UPDATE Snapshots SET Program = 'another build'")]
    [InlineData("UPDATE Snapshots SET Sequence = Sequence - 1")]
    [InlineData("UPDATE Snapshots SET RowHash = zeroblob(32)")]
    [InlineData("DELETE FROM Snapshots")]
    public void Load_SnapshotAlteredOrOfAnotherBuild_IsNotUsed(string alter)
    {
        IReadOnlyList<BenchEntry> entries;
        using (var file = DataFile.Open(folder.DataFile))
        {
            entries = Append(file);
            new BenchSnapshots(file).Save(entries.Aggregate((BenchState?)null, LiveBench.Apply)!);
        }
        RawFile.Run(folder.DataFile, alter);
        using var again = DataFile.Open(folder.DataFile);
        var loaded = new BenchSnapshots(again).Load(Rows.Bench, out var replayed);
        Assert.Equal(entries.Count, replayed);
        Assert.Equal("Bench 1", loaded!.Name);
    }

    /// <summary>A log restored from elsewhere, or cut off, with the snapshot of a longer one.</summary>
    [Fact]
    public void Load_RowOfTheSnapshotGone_IsNotUsed()
    {
        using (var file = DataFile.Open(folder.DataFile))
            new BenchSnapshots(file).Save(Append(file).Aggregate((BenchState?)null, LiveBench.Apply)!);
        RawFile.Tamper(
            folder.DataFile,
            "DELETE FROM EventPayloads WHERE Sequence = (SELECT MAX(Sequence) FROM EventHeaders)",
            "DELETE FROM EventHeaders WHERE Sequence = (SELECT MAX(Sequence) FROM EventHeaders)");
        using var again = DataFile.Open(folder.DataFile);
        var loaded = new BenchSnapshots(again).Load(Rows.Bench, out var replayed);
        Assert.Equal(loaded!.Revision, replayed);
    }

    [Fact]
    public void Save_RowNotInTheLog_IsRefused()
    {
        using var file = DataFile.Open(folder.DataFile);
        var state = BenchStory.Tell().Aggregate((BenchState?)null, LiveBench.Apply)!;
        Assert.Throws<LogBrokenException>(() => new BenchSnapshots(file).Save(state));
    }

    private static IReadOnlyList<BenchEntry> Append(DataFile file)
    {
        var entries = BenchStory.Tell();
        new BenchStreams(file).Append(Rows.Bench, 0, entries);
        return entries;
    }

    /// <summary>Everything in a state; sets in the order of their words.</summary>
    private static string Written(object? value)
    {
        var text = new StringBuilder();
        switch (value)
        {
            case null or string:
                text.Append(value ?? "null");
                break;
            case IEnumerable many:
                var parts = many.Cast<object?>().Select(Written);
                text.Append('[').AppendJoin(", ", value.GetType().Name.Contains("HashSet", StringComparison.Ordinal)
                    ? parts.Order(StringComparer.Ordinal) : parts).Append(']');
                break;
            default:
                var type = value.GetType();
                if (type.Namespace?.StartsWith("Incubation", StringComparison.Ordinal) != true || type.IsEnum)
                {
                    text.Append(value);
                    break;
                }
                text.Append(type.Name).Append('{');
                foreach (var property in type.GetProperties()
                    .Where(property => property.GetIndexParameters().Length == 0
                        && property.GetMethod?.IsStatic == false))
                    text.Append(property.Name).Append('=').Append(Written(property.GetValue(value))).Append(' ');
                text.Append('}');
                break;
        }
        return text.ToString();
    }
}
