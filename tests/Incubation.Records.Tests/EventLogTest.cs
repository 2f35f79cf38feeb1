using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Log;
using Incubation.TestKit;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Appending to a stream and reading it back.</summary>
public sealed class EventLogTest : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Load_AfterReopening_GivesWhatWasAppended()
    {
        var entries = Rows.BenchEntries(1, 60);
        LogHead head;
        using (var file = DataFile.Open(folder.DataFile))
        {
            var streams = new BenchStreams(file);
            head = streams.Append(Rows.Bench, 0, [.. entries.Take(17)]);
            foreach (var entry in entries.Skip(17))
                head = streams.Append(Rows.Bench, head.Sequence, [entry]);
        }

        using var again = DataFile.Open(folder.DataFile);
        var loaded = new BenchStreams(again).Load(Rows.Bench).ToList();
        Assert.Equal(entries.Select(Any.WriteOut), loaded.Select(Any.WriteOut));
        Assert.Equal(60, head.Sequence);
        Assert.Equal(head, again.Log.Head(StreamName.OfBench(Rows.Bench)));
    }

    [Fact]
    public void Load_MoreRowsThanAPage_GivesAllInOrder()
    {
        var entries = Rows.BenchEntries(1, 1203);
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, entries);

        Assert.Equal(entries.Select(entry => entry.Provenance.Id), streams.Load(Rows.Bench)
            .Select(entry => entry.Provenance.Id));
        Assert.Equal(
            Enumerable.Range(701, 503).Select(n => (long)n),
            file.Log.ReadAll(StreamName.OfBench(Rows.Bench), after: 700).Select(row => row.Header.Sequence));
    }

    [Fact]
    public void Load_TouchOfOneNanosecond_IsExact()
    {
        var provenance = Rows.Provenance(1) with
        {
            At = Rows.Morning + Duration.FromNanoseconds(1),
            Arrived = Rows.Morning + Duration.FromNanoseconds(123_456_789),
        };
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, [new BenchEntry(new BenchEvent.BatchStarted(1), provenance)]);
        Assert.Equal(provenance, streams.Load(Rows.Bench).Single().Provenance);
    }

    [Fact]
    public void Append_StreamMovedOn_ThrowsConflictAndWritesNothing()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 3));

        foreach (var wrong in new long[] { 0, 2, 4 })
        {
            var refused = Assert.Throws<AppendException>(() =>
                streams.Append(Rows.Bench, wrong, Rows.BenchEntries(10, 1)));
            Assert.Equal(AppendFailure.Conflict, refused.Failure);
            Assert.Contains("ends at row 3", refused.Message, StringComparison.Ordinal);
        }
        Assert.Equal(3, streams.Load(Rows.Bench).Count());
    }

    [Fact]
    public void Append_SameReportAgain_ThrowsAlreadyRecordedAndWritesNothing()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 2));

        var refused = Assert.Throws<AppendException>(() =>
            streams.Append(Rows.Bench, 2, [.. Rows.BenchEntries(5, 1), .. Rows.BenchEntries(2, 1)]));
        Assert.Equal(AppendFailure.AlreadyRecorded, refused.Failure);
        Assert.Equal(2, streams.Load(Rows.Bench).Count());
    }

    [Fact]
    public void Append_SameReportOnAnotherBench_IsRecorded()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 1));
        streams.Append(BenchId.Of("bench-2"), 0, Rows.BenchEntries(1, 1));
        Assert.Equal([Rows.Bench, BenchId.Of("bench-2")], streams.All());
    }

    [Fact]
    public void Append_SeveralEventsOfOneCommand_NumbersThem()
    {
        using var file = DataFile.Open(folder.DataFile);
        var twice = new BenchEvent.BatchStarted(1);
        new BenchStreams(file).Append(Rows.Bench, 0, [
            new BenchEntry(twice, Rows.Provenance(1)), new BenchEntry(twice, Rows.Provenance(1)),
                new BenchEntry(twice, Rows.Provenance(2))]);
        Assert.Equal([0, 1, 0], file.Log.ReadAll(StreamName.OfBench(Rows.Bench))
            .Select(row => row.Header.IndexInCommand));
    }

    [Fact]
    public void Append_TimeBeyondTheLog_ThrowsTimeOutOfRange()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        var entry = new BenchEntry(new BenchEvent.BatchStarted(1),
            Rows.Provenance(1) with { At = Instant.FromUtc(2300, 1, 1, 0, 0) });
        Assert.Equal(AppendFailure.TimeOutOfRange,
            Assert.Throws<AppendException>(() => streams.Append(Rows.Bench, 0, [entry])).Failure);
        Assert.Empty(streams.Load(Rows.Bench));
    }

    [Fact]
    public async Task Append_ManyBenchesAtOnce_EveryStreamIsWhole()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        await Task.WhenAll(Enumerable.Range(1, 4).Select(number => Task.Run(
            () =>
            {
                for (var n = 0; n < 25; n++)
                    streams.Append(BenchId.Of($"bench-{number}"), n, Rows.BenchEntries(n, 1));
            },
            TestContext.Current.CancellationToken)));

        var verdicts = file.Log.VerifyAll().Streams;
        Assert.Equal(4, verdicts.Count);
        Assert.All(verdicts, verdict => Assert.Null(verdict.Broken));
        Assert.All(verdicts, verdict => Assert.Equal(25, verdict.Head.Sequence));
    }

    [Fact]
    public void Hash_KnownRow_IsWhatTheDefinitionSays()
    {
        // Both digests were worked out by another program (Python's hashlib and struct) from the definition in the
        // room's README.
        using var file = DataFile.Open(folder.DataFile);
        new BenchStreams(file)
            .Append(Rows.Bench, 0, [new BenchEntry(new BenchEvent.BatchStarted(1), Rows.Provenance(1))]);
        var row = file.Log.ReadAll(StreamName.OfBench(Rows.Bench)).Single();
        Assert.Equal("""{"batch":1}""", row.Payload);
        Assert.Equal("f2fa4eba4d08fa93c58626551154add546628186037f224cfd16b861883c588b",
            row.Header.PreviousHash.ToString());
        Assert.Equal("5652242004913676068f70c1f243901d1126ff4968dfcbd92a274143379b6708", row.Header.Hash.ToString());
    }
}
