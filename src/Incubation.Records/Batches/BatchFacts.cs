using Incubation.Model;
using Incubation.Records.Reports;
using Incubation.Records.Storage;
using NodaTime;

namespace Incubation.Records.Batches;

/// <summary>When a batch ran, and what it had.</summary>
/// <param name="StartedAt">When it was started, or null.</param>
/// <param name="ClosedAt">When it was closed, or null while it is open.</param>
/// <param name="Use">What it had and how long it was used; null while nothing was done.</param>
public sealed record BatchFacts(Instant? StartedAt, Instant? ClosedAt, BatchUse? Use)
{
    /// <summary>Of a batch, as the log bears it out; null where there is none.</summary>
    public static BatchFacts? Of(CartridgeProjection book, BenchId bench, int number)
    {
        ArgumentNullException.ThrowIfNull(book);
        return book.Find(bench, number) is not { } row ? null : new BatchFacts(
            row.StartedAt is { } started ? Nanoseconds.ToInstant(started) : null,
            row.ClosedAt is { } closed ? Nanoseconds.ToInstant(closed) : null,
            row is { StartedAt: not null, WorkedTo: not null } ? ReportProjection.UseOf(row) : null);
    }
}
