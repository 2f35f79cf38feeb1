using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Records.Batches;
using NodaTime;

namespace Incubation.Service.Record;

/// <summary>The words of whatever else happened in a batch.</summary>
public static class HappeningText
{
    /// <summary>The words of a batch's entries.</summary>
    public static Func<BenchEntry, string> Of(BatchRecord batch, DateTimeZone zone, PeopleState people)
    {
        ArgumentNullException.ThrowIfNull(batch);
        return new BenchEventText(batch.State,
            new RecordClock(zone, batch.Happenings.Select(entry => entry.Provenance.At)), people)
        {
            Undone = batch.Undone,
        }.Of;
    }
}
