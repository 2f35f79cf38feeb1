using Incubation.Records.Benches;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using NodaTime;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>A write that fails, or a process that dies in the middle of one, leaves the log as it was.</summary>
public sealed class FailedWriteTest : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Append_DiskFull_SaysSoAndTheLogGoesOnLater()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 4));
        var pages = (long)RawFile.Scalar(folder.DataFile, "PRAGMA page_count")!;

        OnWriter(file, $"PRAGMA max_page_count = {pages}");
        var refused = Assert.Throws<AppendException>(() => streams.Append(Rows.Bench, 4, Rows.BenchEntries(5, 500)));
        Assert.Equal(AppendFailure.DiskFull, refused.Failure);
        Assert.Contains("is full", refused.Message, StringComparison.Ordinal);
        Assert.Equal(4, streams.Load(Rows.Bench).Count());

        OnWriter(file, $"PRAGMA max_page_count = {pages * 100}");
        Assert.Equal(504, streams.Append(Rows.Bench, 4, Rows.BenchEntries(5, 500)).Sequence);
        Assert.Empty(file.Log.VerifyAll().Faults);
    }

    [Fact]
    public void Append_MayNotWrite_SaysSoAndWritesNothing()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        OnWriter(file, "PRAGMA query_only = ON");
        var refused = Assert.Throws<AppendException>(() => streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 1)));
        Assert.Equal(AppendFailure.ReadOnly, refused.Failure);

        OnWriter(file, "PRAGMA query_only = OFF");
        Assert.Equal(1, streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 1)).Sequence);
    }

    [Fact]
    public void Append_AnotherProgramHoldsTheFile_SaysSoAndWritesNothing()
    {
        using var file = DataFile.Open(folder.DataFile, new DataFileOptions(BusyTimeout: Duration.FromMilliseconds(1)));
        var streams = new BenchStreams(file);
        using (var other = RawFile.Open(folder.DataFile))
        {
            using var holding = other.BeginTransaction();
            var refused = Assert.Throws<AppendException>(() => streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 1)));
            Assert.Equal(AppendFailure.Locked, refused.Failure);
        }
        Assert.Equal(1, streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 1)).Sequence);
    }

    [Fact]
    public void Write_BreaksOffBeforeTheCommit_LeavesNothing()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        streams.Append(Rows.Bench, 0, Rows.BenchEntries(1, 2));
        Assert.Throws<InvalidOperationException>(() => file.Write<int>(StreamName.OfBench(Rows.Bench), context =>
        {
            context.Projections.Add(new ProjectionRow { Name = "half", Sequence = 1, CodeVersion = 1 });
            context.SaveChanges();
            throw new InvalidOperationException("in the middle");
        }));
        using (var context = file.Read())
            Assert.Empty(context.Projections);
        Assert.Equal(3, streams.Append(Rows.Bench, 2, Rows.BenchEntries(3, 1)).Sequence);
    }

    /// <summary>
    /// What the disk holds at an instant is what a process that dies then leaves: the file and its write-ahead log.
    /// </summary>
    [Fact]
    public void Open_WriteAheadLogLeftBehind_EverythingAcknowledgedIsThere()
    {
        using var file = DataFile.Open(folder.DataFile);
        new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, 20));
        var left = CopyAsLeftBehind();
        Assert.NotEqual(0, new FileInfo(left + "-wal").Length);

        using var reopened = DataFile.Open(left);
        Assert.Equal(20, new BenchStreams(reopened).Load(Rows.Bench).Count());
    }

    /// <summary>A write-ahead log cut off anywhere loses the commits after the cut, whole, and no more.</summary>
    [Fact]
    public void Open_WriteAheadLogCutOffAnywhere_HoldsWholeCommandsInOrder()
    {
        using var file = DataFile.Open(folder.DataFile);
        var streams = new BenchStreams(file);
        OnWriter(file, "PRAGMA wal_checkpoint(TRUNCATE)");
        for (var command = 0; command < 4; command++)
            streams.Append(Rows.Bench, command * 3, Rows.BenchEntries(command * 3, 3));
        var length = new FileInfo(folder.DataFile + "-wal").Length;

        var found = new List<long>();
        foreach (var cut in Enumerable.Range(0, 17).Select(part => length * part / 16))
        {
            var left = CopyAsLeftBehind();
            using (var wal = File.OpenWrite(left + "-wal"))
                wal.SetLength(cut);
            using var reopened = DataFile.Open(left);
            Assert.Empty(reopened.Log.VerifyAll().Faults);
            var rows = reopened.Log.Head(StreamName.OfBench(Rows.Bench)).Sequence;
            Assert.Equal(rows + 1, new BenchStreams(reopened)
                .Append(Rows.Bench, rows, Rows.BenchEntries(100, 1)).Sequence);
            found.Add(rows);
        }
        Assert.All(found, rows => Assert.Equal(0, rows % 3));
        Assert.Equal(found.Order(), found);
        Assert.Equal((0, 12), (found[0], found[^1]));
    }

    private static void OnWriter(DataFile file, string pragma)
    {
        using var command = file.Writer.CreateCommand();
        command.CommandText = pragma;
        command.ExecuteScalar();
    }

    private string CopyAsLeftBehind()
    {
        var left = folder.At("left.db");
        File.Copy(folder.DataFile, left, overwrite: true);
        File.Copy(folder.DataFile + "-wal", left + "-wal", overwrite: true);
        return left;
    }
}
