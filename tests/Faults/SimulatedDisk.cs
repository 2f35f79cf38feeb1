using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Benches;
using Incubation.Records.Log;
using Incubation.Records.Storage;
using Incubation.Service.Benches;

namespace Incubation.Faults;

/// <summary>How the next write ends.</summary>
internal enum WriteFate
{
    /// <summary>On the disk.</summary>
    Succeeds,

    /// <summary>
    /// The process dies before anything of it is on the disk, or with a part that recovery throws away.
    /// </summary>
    DiesBefore,

    /// <summary>The process dies when it is on the disk, before anybody is told.</summary>
    DiesAfter,

    /// <summary>On the disk, but the program is told that it failed.</summary>
    ToldFailed,
}

/// <summary>The process is gone: nothing that it still does has any effect.</summary>
internal sealed class ProcessGoneException : Exception;

/// <summary>
/// One bench's log on a model of a disk: rows are encoded, hashed and chained by the code of the real log, a
/// transaction is there or not, and what is there survives the process.
/// </summary>
/// <param name="bench">The bench whose log it is.</param>
/// <param name="fate">How each next write ends.</param>
internal sealed class SimulatedDisk(BenchId bench, Func<WriteFate> fate) : IBenchLog
{
    private readonly StreamName stream = StreamName.OfBench(bench);
    private readonly List<(EventHeaderRow Header, string Json)> rows = [];
    private LogHead head = new(0, Chain.Beginning(StreamName.OfBench(bench).ToString()));

    /// <summary>Whether there is no room.</summary>
    public bool Full { get; set; }

    /// <summary>Whether the process that uses it is dead.</summary>
    public bool Dead { get; set; }

    /// <summary>How many rows it has.</summary>
    public int Count => rows.Count;

    /// <summary>Writes that found no room.</summary>
    public int Refused { get; private set; }

    /// <summary>Called when a write has killed the process.</summary>
    public Action? Died { get; set; }

    /// <summary>The ids of the commands in it, one for each row that begins a command.</summary>
    public IEnumerable<ReportId> Commands() => rows.Where(row => row.Header.IndexInCommand == 0)
        .Select(row => new ReportId(row.Header.Report));

    /// <summary>The entries after so many, verified and decoded as a start does.</summary>
    public IEnumerable<BenchEntry> From(long after)
    {
        var before = after == 0 ? new LogHead(0, Chain.Beginning(stream.ToString())) : HeadAt((int)after);
        for (var index = (int)after; index < rows.Count; index++)
        {
            var row = Chain.Verify(rows[index].Header, rows[index].Json, before);
            before = new LogHead(row.Header.Sequence, row.Header.Hash);
            yield return BenchStreams.EntryOf(row);
        }
    }

    /// <inheritdoc/>
    public Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId id, long after, CancellationToken cancellation)
    {
        if (Dead)
            throw new ProcessGoneException();
        return Task.FromResult<IReadOnlyList<BenchEntry>>([.. From(after)]);
    }

    /// <inheritdoc/>
    public Task AppendAsync(BenchId id, long after, IReadOnlyList<BenchEntry> entries, CancellationToken cancellation)
    {
        if (Dead)
            throw new ProcessGoneException();
        if (Full)
        {
            Refused++;
            throw new IOException("No space left on the device.");
        }

        if (after != rows.Count)
            throw new InvalidOperationException($"The log has {rows.Count} rows, not {after}.");
        var end = fate();
        if (end == WriteFate.DiesBefore)
            Die();
        for (var index = 0; index < entries.Count; index++)
            Add(entries[index], index);
        if (end == WriteFate.DiesAfter)
            Die();
        return end == WriteFate.ToldFailed ? throw new IOException("The disk answered too late.") : Task.CompletedTask;
    }

    private void Add(BenchEntry entry, int index)
    {
        var encoded = BenchEvents.Registry.Encode(entry.Event);
        var header = EventLog.HeaderOf(stream, head, new NewRow(encoded, entry.Provenance), index);
        rows.Add((header, encoded.Json));
        head = new LogHead(header.Sequence, Digest.FromBytes(header.Hash));
    }

    private LogHead HeadAt(int count) => new(count, Digest.FromBytes(rows[count - 1].Header.Hash));

    private void Die()
    {
        Dead = true;
        Died?.Invoke();
        throw new ProcessGoneException();
    }
}
