using System.Text.RegularExpressions;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Xunit;

namespace Incubation.Records.Tests;

/// <summary>The last closed batch in which a request stands: found by an index, whatever the bench has run.</summary>
public sealed class LastClosedTest : IDisposable
{
    private readonly TempFolder folder = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void LastClosed_IsTheLastOfItsBatches_AndAnIndexLeadsToIt()
    {
        using var file = DataFile.Open(folder.DataFile);
        _ = new OldClinic(file, carriesOver: true);
        var book = new CartridgeProjection(file, ClinicLog.Open(file).Amended);
        Assert.Equal(3, book.LastClosed(Rows.Bench, Model.RequestId.Of("B2-R4"))!.Batch);
        Assert.Equal(1, book.LastClosed(Rows.Bench, Model.RequestId.Of("B1-R1"))!.Batch);
        // One that is in work stands in no closed batch.
        Assert.Null(book.LastClosed(Rows.Bench, Model.RequestId.Of("B4-R1")));

        using var connection = RawFile.Open(folder.DataFile);
        using var command = connection.CreateCommand();
        // As a shell would take it: parameters before the statement, by name in it.
        var statement = book.LastClosedStatement(Rows.Bench, Model.RequestId.Of("B1-R1"));
        command.CommandText = "EXPLAIN QUERY PLAN " + Regex.Replace(
            statement[statement.IndexOf("SELECT", StringComparison.Ordinal)..], @"@\w+", "1");
        using var rows = command.ExecuteReader();
        var steps = new List<string>();
        while (rows.Read())
            steps.Add(rows.GetString(3));
        Assert.Contains(steps, step => step.Contains("(Request=? AND Bench=?)", StringComparison.Ordinal));
        Assert.DoesNotContain(steps, step => step.StartsWith("SCAN", StringComparison.Ordinal));
    }
}
