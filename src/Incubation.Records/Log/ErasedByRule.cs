using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records.Clinic;

namespace Incubation.Records.Log;

/// <summary>
/// Tells a payload that was erased by rule from one that somebody took away: what was erased stands as an event in the
/// clinic's stream, which is taken in first.
/// </summary>
internal sealed class ErasedByRule
{
    private static readonly string Name = ClinicEvents.Registry.FormOf<ClinicEvent.RecordErased>().Name;
    private static readonly string OfOrders = ClinicEvents.Registry.FormOf<ClinicEvent.OrdersErased>().Name;

    private readonly Dictionary<BenchId, long> upTo = [];
    private readonly List<RowRange> requests = [];
    private readonly List<long> missing = [];

    /// <summary>
    /// Takes a verified row in. Throws <see cref="LogBrokenException"/> where a bench's payload is gone and no event
    /// says why.
    /// </summary>
    public void Take(LogRow row)
    {
        var (header, payload) = row;
        if (header.Stream.Bench is { } bench)
        {
            if (payload is null && header.Sequence > upTo.GetValueOrDefault(bench))
                throw new LogBrokenException(header.Stream.ToString(), header.Sequence, LogDifference.PayloadMissing);
            return;
        }

        if (payload is null)
            missing.Add(header.Sequence);
        else if (header.EventType == Name && ClinicEvents.Registry.Decode(row) is ClinicEvent.RecordErased erased)
            Note(erased);
        else if (header.EventType == OfOrders && ClinicEvents.Registry.Decode(row) is ClinicEvent.OrdersErased orders)
            requests.AddRange(orders.Rows);
    }

    /// <summary>
    /// After the clinic's last row: throws <see cref="LogBrokenException"/> for the first payload that is gone and that
    /// no event names.
    /// </summary>
    public void RefuseOthers(string stream)
    {
        if (stream != StreamName.Clinic.ToString())
            return;
        var ruled = requests.OrderBy(range => range.First).ToList();
        var at = 0;
        foreach (var sequence in missing)
        {
            while (at < ruled.Count && ruled[at].Last < sequence)
                at++;
            if (at == ruled.Count || sequence < ruled[at].First)
                throw new LogBrokenException(stream, sequence, LogDifference.PayloadMissing);
        }
    }

    private void Note(ClinicEvent.RecordErased erased)
    {
        upTo[erased.Bench] = Math.Max(upTo.GetValueOrDefault(erased.Bench), erased.UpTo);
        requests.AddRange(erased.Requests);
    }
}
