using Incubation.Records.Benches;
using Incubation.Records.Log;
using Microsoft.Data.Sqlite;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>Whatever is altered in the file is found, and the row is named.</summary>
public sealed class BrokenLogTest : IDisposable
{
    private readonly TempFolder folder = new();

    public BrokenLogTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, 9));
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public void VerifyAll_Untouched_FindsNothing()
    {
        RawFile.Tamper(folder.DataFile);
        Assert.Null(Verdict().Broken);
        Assert.Equal(9, Verdict().Head.Sequence);
    }

    [Fact]
    public void Load_PayloadAltered_NamesTheRow()
    {
        RawFile.Tamper(folder.DataFile, "UPDATE EventPayloads SET Json = replace(Json, '{', '{ ') WHERE Sequence = 4");
        AssertBroken(4, LogDifference.PayloadDiffers);
    }

    [Theory]
    [InlineData("Arrived = Arrived + 1")]
    [InlineData("Reported = Reported - 1")]
    [InlineData("Person = 'somebody else'")]
    [InlineData("Device = 'tablet-2'")]
    [InlineData("Report = 'report-77'")]
    [InlineData("IndexInCommand = 1")]
    [InlineData("EventType = 'cleared '")]
    [InlineData("SchemaVersion = SchemaVersion + 1")]
    [InlineData("PayloadHash = zeroblob(32)")]
    [InlineData("PreviousHash = zeroblob(32)")]
    [InlineData("Hash = zeroblob(32)")]
    public void Load_HeaderAltered_NamesTheRow(string change)
    {
        RawFile.Tamper(folder.DataFile, $"UPDATE EventHeaders SET {change} WHERE Sequence = 5");
        AssertBroken(5, LogDifference.HeaderDiffers);
    }

    [Theory]
    [InlineData("Hash = x'00'")]
    [InlineData("Hash = 'text'")]
    [InlineData("Arrived = 'noon'")]
    [InlineData("Person = ''")]
    public void Load_ValueNeverWritten_IsFoundInThatRow(string change)
    {
        RawFile.Tamper(folder.DataFile, $"UPDATE EventHeaders SET {change} WHERE Sequence = 5");
        var broken = Assert.IsType<LogBrokenException>(Verdict().Broken);
        Assert.InRange(broken.Sequence, 1, 5);
        Assert.Contains(broken.Difference, new[] { LogDifference.Unreadable, LogDifference.HeaderDiffers });
    }

    [Fact]
    public void Load_TwoRowsExchanged_NamesTheFirst()
    {
        RawFile.Tamper(
            folder.DataFile,
            "UPDATE EventHeaders SET Sequence = 1000 WHERE Sequence = 3",
            "UPDATE EventHeaders SET Sequence = 3 WHERE Sequence = 4",
            "UPDATE EventHeaders SET Sequence = 4 WHERE Sequence = 1000",
            "UPDATE EventPayloads SET Sequence = 1000 WHERE Sequence = 3",
            "UPDATE EventPayloads SET Sequence = 3 WHERE Sequence = 4",
            "UPDATE EventPayloads SET Sequence = 4 WHERE Sequence = 1000");
        AssertBroken(3, LogDifference.HeaderDiffers);
    }

    [Theory]
    [InlineData(1)]
    [InlineData(6)]
    public void Load_RowCutOut_NamesTheGap(long sequence)
    {
        RawFile.Tamper(
            folder.DataFile,
            $"DELETE FROM EventPayloads WHERE Sequence = {sequence}",
            $"DELETE FROM EventHeaders WHERE Sequence = {sequence}");
        AssertBroken(sequence, LogDifference.RowMissing);
    }

    [Fact]
    public void Load_PayloadGone_NamesTheRow()
    {
        RawFile.Tamper(folder.DataFile, "DELETE FROM EventPayloads WHERE Sequence = 2");
        AssertBroken(2, LogDifference.PayloadMissing);
    }

    [Fact]
    public void VerifyAll_HeadersCutOffTheEnd_FindsWhatTheySaid()
    {
        RawFile.Tamper(folder.DataFile, "DELETE FROM EventHeaders WHERE Sequence >= 8");
        AssertBroken(8, LogDifference.HeaderMissing);
    }

    [Fact]
    public void VerifyAll_AllHeadersGone_FindsWhatTheySaid()
    {
        RawFile.Tamper(folder.DataFile, "DELETE FROM EventHeaders");
        AssertBroken(1, LogDifference.HeaderMissing);
    }

    /// <summary>Somebody who alters a row and makes its hash anew is found at the next row.</summary>
    [Fact]
    public void Load_RowAlteredAndHashedAnew_NamesTheNextRow()
    {
        LogHeader header;
        using (var file = DataFile.Open(folder.DataFile))
            header = file.Log.ReadAll(StreamName.OfBench(Rows.Bench)).ElementAt(3).Header;
        var forged = Chain.RowOf(header) with { Person = "somebody else" };
        var hash = Chain.OfHeader(forged);
        RawFile.Tamper(folder.DataFile,
            $"UPDATE EventHeaders SET Person = 'somebody else', Hash = x'{hash}' WHERE Sequence = 4");
        AssertBroken(5, LogDifference.LinkDiffers);
    }

    [Fact]
    public void Append_LastRowAltered_IsRefused()
    {
        RawFile.Tamper(folder.DataFile, "UPDATE EventHeaders SET Person = 'somebody else' WHERE Sequence = 9");
        using var file = DataFile.Open(folder.DataFile);
        var broken = Assert.Throws<LogBrokenException>(() => new BenchStreams(file)
            .Append(Rows.Bench, 9, Rows.BenchEntries(20, 1)));
        Assert.Equal(9, broken.Sequence);
        Assert.Equal(9L, RawFile.Scalar(folder.DataFile, "SELECT COUNT(*) FROM EventHeaders"));
    }

    [Theory]
    [InlineData("UPDATE EventHeaders SET Person = 'x' WHERE Sequence = 1", "never changed")]
    [InlineData("DELETE FROM EventHeaders WHERE Sequence = 9", "never deleted")]
    [InlineData("UPDATE EventPayloads SET Json = '{}' WHERE Sequence = 1", "never changed")]
    [InlineData("DELETE FROM EventPayloads WHERE Sequence = 1", "by rule only")]
    [InlineData(
        "INSERT INTO EventHeaders SELECT Stream, Sequence + 2, Arrived, Reported, Person, Device, 'new', 0, EventType, "
        + "SchemaVersion, PayloadHash, PreviousHash, Hash FROM EventHeaders WHERE Sequence = 9",
        "follows the last one")]
    [InlineData(
        "INSERT OR REPLACE INTO EventHeaders SELECT Stream, Sequence, Arrived, Reported, 'x', Device, Report, 0, "
        + "EventType, SchemaVersion, PayloadHash, PreviousHash, Hash FROM EventHeaders WHERE Sequence = 9",
        "follows the last one")]
    public void Triggers_AnotherProgramAltersTheLog_Refuse(string statement, string sentence)
    {
        var refused = Assert.Throws<SqliteException>(() => RawFile.Run(folder.DataFile, statement));
        Assert.Contains(sentence, refused.Message, StringComparison.Ordinal);
        Assert.Null(Verdict().Broken);
    }

    private StreamVerdict Verdict()
    {
        using var file = DataFile.Open(folder.DataFile);
        return Assert.Single(file.Log.VerifyAll().Streams);
    }

    private void AssertBroken(long sequence, LogDifference difference)
    {
        var broken = Assert.IsType<LogBrokenException>(Verdict().Broken);
        Assert.Equal((sequence, difference), (broken.Sequence, broken.Difference));
        Assert.Equal("bench/bench-1", broken.Stream);
        Assert.Contains($"row {sequence}", broken.Message, StringComparison.Ordinal);
        Assert.Equal(sequence - 1, Verdict().Head.Sequence);
    }
}
