using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Log;
using NodaTime;

namespace Incubation.Records.Benches;

/// <summary>A temperature that came in.</summary>
/// <param name="At">When it was measured.</param>
/// <param name="Device">Who sent it: a probe's key, or the tablet on which it was typed.</param>
/// <param name="Value">What was measured.</param>
/// <param name="IsOutside">Whether that was outside the tolerance then.</param>
public sealed record MeasuredTemperature(Instant At, DeviceId Device, Celsius Value, bool IsOutside);

/// <summary>The temperatures in a bench's stream. May be used from any thread.</summary>
/// <param name="file">The data file.</param>
public sealed class TemperatureRows(DataFile file)
{
    private const string EventType = "temperature-measured";

    /// <summary>
    /// What came in after a row, the oldest first, and the last row that was looked at. Throws
    /// <see cref="LogBrokenException"/> where a row is not what was written.
    /// </summary>
    /// <param name="bench">The bench.</param>
    /// <param name="after">The row; what was erased is left out.</param>
    /// <param name="most">Of the newest rows at most so many are looked at.</param>
    public (long UpTo, IReadOnlyList<MeasuredTemperature> Found) After(BenchId bench, long after, long most)
    {
        var stream = StreamName.OfBench(bench);
        var head = file.Log.Head(stream).Sequence;
        var erased = new BenchStreams(file).Beginning(bench)?.Event is BenchEvent.CheckpointKept kept ? kept.UpTo : 0;
        var from = Math.Max(after, Math.Max(erased, head - most));
        if (head <= from)
            return (head, []);
        var found = new List<MeasuredTemperature>();
        var last = from;
        foreach (var row in file.Log.ReadAll(stream, from))
        {
            last = row.Header.Sequence;
            if (row.Header.EventType == EventType && row.Payload is not null
                && BenchStreams.EntryOf(row) is { Event: BenchEvent.TemperatureMeasured measured } entry)
                found.Add(new MeasuredTemperature(entry.Provenance.At, entry.Provenance.Device, measured.Value,
                    measured.Outside));
        }

        return (last, found);
    }
}
