using Incubation.Records.Benches;
using Incubation.Records.Export;
using Incubation.Records.Log;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>A stream as JSON lines and back.</summary>
public sealed class LogExportTest : IDisposable
{
    private readonly TempFolder folder = new();
    private readonly List<LogRow> rows;
    private readonly string[] lines;

    public LogExportTest()
    {
        using var file = DataFile.Open(folder.DataFile);
        new BenchStreams(file).Append(Rows.Bench, 0, Rows.BenchEntries(1, 40));
        rows = [.. file.Log.ReadAll(StreamName.OfBench(Rows.Bench))];
        using var writer = new StringWriter();
        LogExport.Write(file.Log, StreamName.OfBench(Rows.Bench), writer);
        lines = writer.ToString().TrimEnd('\n').Split('\n');
    }

    public void Dispose() => folder.Dispose();

    [Fact]
    public void Read_WhatWasWritten_GivesTheSameRows()
    {
        Assert.Equal(40, lines.Length);
        Assert.Equal(rows, Read(lines));
    }

    [Fact]
    public void Read_LineAltered_NamesTheRow()
    {
        lines[6] = lines[6].Replace("\"aide\"", "\"another\"", StringComparison.Ordinal);
        Assert.Equal((7, LogDifference.HeaderDiffers), Broken());
    }

    [Fact]
    public void Read_LineMissing_NamesTheRow()
    {
        lines[6] = lines[7];
        Assert.Equal((7, LogDifference.RowMissing), Broken());
    }

    [Theory]
    [InlineData("")]
    [InlineData("{}")]
    [InlineData("not a row")]
    public void Read_NoRow_NamesTheLine(string line)
    {
        lines[2] = line;
        Assert.Contains("Line 3", Assert.Throws<FormatException>(() => Read(lines)).Message, StringComparison.Ordinal);
    }

    private static List<LogRow> Read(string[] lines)
    {
        using var reader = new StringReader(string.Join('\n', lines));
        return [.. LogExport.Read(reader)];
    }

    private (long Sequence, LogDifference Difference) Broken()
    {
        var broken = Assert.Throws<LogBrokenException>(() => Read(lines));
        return (broken.Sequence, broken.Difference);
    }
}
