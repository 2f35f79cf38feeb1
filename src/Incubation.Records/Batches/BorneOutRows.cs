using Incubation.Model;
using Incubation.Records.Integrity;

namespace Incubation.Records.Batches;

/// <summary>
/// What the rows of batches and cartridges must say, batch by batch, as this process has replayed them: a fingerprint a
/// row, in memory, where nobody changes it who can change the file. A hundred thousand cartridges take a few megabytes.
/// May be used from any thread.
/// </summary>
internal sealed class BorneOutRows
{
    private readonly Lock gate = new();
    private readonly Dictionary<(BenchId Bench, int Batch), Prints> batches = [];
    private volatile bool isWhole;

    /// <summary>Whether every batch that was closed is known; batches written since are.</summary>
    public bool IsWhole
    {
        get => isWhole;
        set => isWhole = value;
    }

    /// <summary>Notes what the rows of a batch must say.</summary>
    public void Note(BenchId bench, BatchRecord batch)
    {
        var prints = new Prints(Of(TableForm.Batches, BatchRows.Of(bench, batch)),
            [.. batch.Cartridges.Select(one => Of(TableForm.Cartridges, BatchRows.Of(one)))]);
        lock (gate)
            batches[(bench, batch.Number)] = prints;
    }

    /// <summary>Whether the log bears a row out; null where its batch was not replayed yet.</summary>
    public bool? Bears(BenchId bench, int batch, TableForm form, object row)
    {
        Prints? prints;
        lock (gate)
            prints = batches.GetValueOrDefault((bench, batch));
        if (prints is null)
            return isWhole ? false : null;
        var print = Of(form, row);
        return form == TableForm.Batches ? prints.Batch == print : prints.Cartridges.Contains(print);
    }

    /// <summary>Whether a batch was replayed.</summary>
    public bool Knows(BenchId bench, int batch)
    {
        lock (gate)
            return batches.ContainsKey((bench, batch));
    }

    /// <summary>How many cartridges each batch has, by the log.</summary>
    public IReadOnlyDictionary<(BenchId Bench, int Batch), int> Counts()
    {
        lock (gate)
            return batches.ToDictionary(batch => batch.Key, batch => batch.Value.Cartridges.Length);
    }

    /// <summary>Forgets the oldest batches of a bench, which were erased.</summary>
    public void Forget(BenchId bench, int upTo)
    {
        lock (gate)
            foreach (var gone in batches.Keys.Where(batch => batch.Bench == bench && batch.Batch <= upTo).ToList())
                batches.Remove(gone);
    }

    private static UInt128 Of(TableForm form, object row) => Fingerprint.Of(form.ValuesOf(row));

    private sealed record Prints(UInt128 Batch, UInt128[] Cartridges);
}
