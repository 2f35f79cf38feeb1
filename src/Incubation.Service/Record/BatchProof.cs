using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Log;

namespace Incubation.Service.Record;

/// <summary>The line on a batch record by which anybody can prove later that it is unchanged.</summary>
public sealed class BatchProof(DataFile file)
{
    /// <summary>The head of the bench's stream at the batch's last row, signed with the record's key.</summary>
    public string Of(BenchId bench, BatchRecord batch)
    {
        ArgumentNullException.ThrowIfNull(batch);
        return file.Log.Note(StreamName.OfBench(bench), batch.Last).ToString();
    }
}
