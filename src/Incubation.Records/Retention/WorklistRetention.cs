using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Worklist;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Retention;

/// <summary>
/// The end of orders that were cancelled: the payloads of their rows go, the hashed headers stay, and a row says which
/// went. Orders that were run go with their batch. May be used from any thread.
/// </summary>
public sealed class WorklistRetention(DataFile file, ClinicLog log)
{
    private const int MostAtOnce = 500;

    /// <summary>
    /// Erases what may go by then, at most so many at once; says how many orders. Throws <see cref="AppendException"/>
    /// where the file could not take it.
    /// </summary>
    public int EraseOver(Instant now, Func<Provenance> provenance)
    {
        ArgumentNullException.ThrowIfNull(provenance);
        ImmutableArray<long> over = [.. log.Worklist.Over(now).Take(MostAtOnce).Select(order => order.Row)];
        if (over.IsEmpty)
            return 0;
        var rows = log.Worklist.RowsOf(over);
        var outcome = log.Record([new ClinicEvent.OrdersErased(over, rows, WorklistState.KeptDays)], provenance(),
            context => Delete(context, rows));
        if (outcome is not ClinicOutcome.Recorded)
            return 0;
        file.EmptyLog();
        return over.Length;
    }

    private static void Delete(RecordsContext context, ImmutableArray<RowRange> rows)
    {
        var clinic = StreamName.Clinic.ToString();
        context.Erasures.AddRange(rows.Select(range =>
            new ErasureRow { Stream = clinic, First = range.First, Last = range.Last, Event = 0 }));
        // The trigger that guards payloads looks for these rows.
        context.SaveChanges();
        foreach (var range in rows)
            context.EventPayloads.Where(row => row.Stream == clinic && row.Sequence >= range.First
                && row.Sequence <= range.Last).ExecuteDelete();
    }
}
