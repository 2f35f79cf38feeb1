using System.Data.Common;
using Incubation.Records.Log;
using Incubation.Records.Storage;

namespace Incubation.Records.Integrity;

/// <summary>What a comparison finds, as it goes on.</summary>
internal sealed class Findings
{
    private readonly List<ProjectionDifference> differences = [];
    private readonly List<string> behind = [];
    private readonly List<string> notReplayed = [];
    private readonly List<Mend> mends = [];
    private readonly HashSet<string> benches = new(StringComparer.Ordinal);

    public long Rows { get; private set; }

    public long Count { get; private set; }

    public ProjectionVerdict Verdict => new([.. differences], Count, Rows, [.. behind])
    {
        NotReplayed = [.. notReplayed],
    };

    /// <summary>Notes a stream that the program that reads it does not take.</summary>
    public void NotReplayed(StreamName stream) => notReplayed.Add(stream.ToString());

    /// <summary>What would make the tables say what the log says, but for those of batches and cartridges.</summary>
    public IReadOnlyList<Mend> Mends => mends;

    /// <summary>The benches whose batches or cartridges differ.</summary>
    public IReadOnlySet<string> Benches => benches;

    /// <summary>Holds a row against what the log leads to.</summary>
    /// <param name="form">The row's table.</param>
    /// <param name="stored">As the file has it; null where it is not there.</param>
    /// <param name="replayed">As it must be.</param>
    /// <param name="asOf">The end of the bench's stream by which that is so; null where nothing can change it.</param>
    public void Compare(TableForm form, object?[]? stored, object?[] replayed, LogEnd? asOf = null)
    {
        Rows++;
        var differs = false;
        foreach (var difference in ProjectionDifference.Between(form, stored, replayed))
        {
            differs = true;
            Add(difference);
        }

        if (differs)
            Note(form, replayed, new Mend(form, replayed, IsRow: true, asOf));
    }

    /// <summary>A row of which the log knows nothing.</summary>
    public void AddTooMany(TableForm form, object?[] stored, LogEnd? asOf = null)
    {
        Add(ProjectionDifference.TooMany(form.Table, form.KeyOf(stored)));
        Note(form, stored, new Mend(form, stored, IsRow: false, asOf));
    }

    /// <summary>A batch of a bench of which the log knows nothing.</summary>
    public void AddTooMany(string table, string bench, string batch)
    {
        Add(ProjectionDifference.TooMany(table, $"{bench}, {batch}"));
        benches.Add(bench);
    }

    /// <summary>A row of a bench that has no stream: nothing makes its tables anew, so it goes by itself.</summary>
    public void AddOfNoBench(TableForm form, object?[] stored)
    {
        Add(ProjectionDifference.TooMany(form.Table, form.KeyOf(stored)));
        mends.Add(new Mend(form, stored, IsRow: false, AsOf: null));
    }

    public void Add(ProjectionDifference difference)
    {
        Count++;
        if (differences.Count < ProjectionVerdict.MostNamed)
            differences.Add(difference);
    }

    private void Note(TableForm form, object?[] values, Mend mend)
    {
        // Where a notice stands among all, nothing but its own table says: that is made anew whole.
        if (form == TableForm.Notices)
            return;
        if (form.IsOfBatches)
            benches.Add((string)values[form.Columns.ToList().IndexOf("Bench")]!);
        else
            mends.Add(mend);
    }

    /// <summary>Takes back what was said of rows that a later row of the log took back.</summary>
    public void Forget(Func<ProjectionDifference, bool> isSo) => Count -= differences.RemoveAll(one => isSo(one));

    /// <summary>Notes tables that this program makes anew before it uses them.</summary>
    public void Behind(string name) => behind.Add(name);

    /// <summary>
    /// Whether the version by which tables were written is this program's. An earlier one, or none, is behind; a later
    /// one no program has written that could read this file.
    /// </summary>
    public bool IsCurrent(DbConnection connection, string name, long version)
    {
        var stored = Positions.Of(connection, name)?.Version;
        if (stored > version)
            Add(Positions.LaterVersion(name, stored.Value, version));
        else if (stored != version)
            Behind(name);
        return stored == version;
    }
}

/// <summary>The end of a stream.</summary>
internal sealed record LogEnd(StreamName Stream, long Sequence);

/// <summary>A row that must be written, or must go.</summary>
/// <param name="Form">Its table.</param>
/// <param name="Values">Its columns.</param>
/// <param name="IsRow">Whether the log knows it.</param>
/// <param name="AsOf">The end of the stream by which that is so; null where nothing can change it.</param>
internal sealed record Mend(TableForm Form, object?[] Values, bool IsRow, LogEnd? AsOf);

/// <summary>The tables of a file for short reads, each of one instant.</summary>
internal abstract class Tables : IDisposable
{
    /// <summary>Reads as it stands at one instant; what is given must not be read on afterwards.</summary>
    public abstract T Read<T>(Func<DbConnection, T> read);

    /// <inheritdoc/>
    public virtual void Dispose() { }

    /// <summary>Those of a file that this process has open.</summary>
    public static Tables Of(DataFile file) => new OfOpenFile(file);

    /// <summary>Those of a file that somebody else may have open.</summary>
    public static Tables Of(string path, bool still) => new OfPath(StorageEngine.Present.OpenOwn(path, still));

    private static T AtOneInstant<T>(DbConnection connection,
        Func<DbConnection, T> read)
    {
        Queries.Run(connection, "BEGIN");
        try
        {
            return read(connection);
        }
        finally
        {
            Queries.Run(connection, "ROLLBACK");
        }
    }

    private sealed class OfOpenFile(DataFile file) : Tables
    {
        public override T Read<T>(Func<DbConnection, T> read)
        {
            using var connection = file.OpenReader();
            return AtOneInstant(connection, read);
        }
    }

    private sealed class OfPath(DbConnection connection) : Tables
    {
        public override T Read<T>(Func<DbConnection, T> read) => AtOneInstant(connection, read);

        public override void Dispose()
        {
            connection.Dispose();
            base.Dispose();
        }
    }
}
