using Incubation.Clinic.People;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Record;

/// <summary>
/// Whether the data file says what the record says, and which copies of it are about, for administrators.
/// </summary>
public sealed class RecordCheckService
{
    private readonly DataFile file;
    private readonly CartridgeProjection book;
    private readonly TableWatch watch;
    private readonly BenchClock clock;

    internal RecordCheckService(DataFile file, CartridgeProjection book, TableWatch watch, BenchClock clock) =>
        (this.file, this.book, this.watch, this.clock) = (file, book, watch, clock);

    /// <summary>How the last comparison went; null before the first after a start.</summary>
    public TableComparison? Last => watch.Last;

    /// <summary>
    /// In what the tables differ: what the last comparison found, and what pages have come upon since.
    /// </summary>
    public IReadOnlyList<ProjectionDifference> Differences =>
        [.. Last?.Verdict.Differences ?? [], .. book.Noticed.Where(noticed => Last?.Verdict.Differences
            .Any(known => known.Table == noticed.Table && known.Row == noticed.Row) != true)];

    /// <summary>The copies of the data file that upgrades, restores and interrupted commands left beside it.</summary>
    public IReadOnlyList<LeftCopy> Copies() => LeftCopies.Of(file.Path, clock.Now);

    /// <summary>Compares now, without a pause.</summary>
    public Outcome Compare(Actor actor)
    {
        if (!Access.May(actor, Right.Administer))
            return new Outcome(Words.NotAllowed);
        watch.Compare();
        return Outcome.Done();
    }

    /// <summary>Rebuilds the tables that differ from the record; the record notes who did, and what differed.</summary>
    public Outcome Rebuild(Actor actor)
    {
        if (!Access.May(actor, Right.Administer))
            return new Outcome(Words.NotAllowed);
        try
        {
            watch.Rebuild(Provenances.Of(actor, clock));
            return watch.Last is { Verdict.Count: 0 } ? Outcome.Done() : new Outcome(RecordWords.TablesStillDiffer);
        }
        catch (AppendException)
        {
            return new Outcome(Words.LogUnwritable);
        }
        catch (Exception fault) when (fault is LogBrokenException or UnreadableEventException)
        {
            return new Outcome(fault.Message);
        }
    }
}
