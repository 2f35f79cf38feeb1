using System.Data.Common;
using Incubation.Records.Log;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records.Storage;

/// <summary>
/// What the rest of this room needs of the engine that holds the tables, and would be another with another engine. What
/// is one engine's own (its types, statements, codes, files) stands in that engine's folder and nowhere else.
/// </summary>
internal abstract class StorageEngine
{
    /// <summary>The engine of this program. The one place that names it.</summary>
    public static StorageEngine Present { get; } = new Sqlite.SqliteEngine();

    /// <summary>Endings of the files that the engine may keep beside a data file.</summary>
    public abstract IReadOnlyList<string> EndingsBeside { get; }

    /// <summary>
    /// Whether a program may have the file open; one that lies still is read without anything beside it.
    /// </summary>
    public abstract bool MayBeOpen(string path);

    /// <summary>Whether something acknowledged lies beside the file and not in it.</summary>
    public abstract bool HasMoreBeside(string path);

    /// <summary>
    /// Throws <see cref="DataFileException"/> for a file that is none of this engine or of another program, before
    /// anything opens it.
    /// </summary>
    public abstract void RefuseForeign(string path);

    /// <summary>
    /// Opens a file for this process, which has its lock; makes it where there is none. Throws
    /// <see cref="DataFileException"/> or <see cref="DbException"/>.
    /// </summary>
    /// <param name="path">The file.</param>
    /// <param name="busy">How long a write waits for another program that holds the file.</param>
    public abstract OpenStore Open(string path, Duration busy);

    /// <summary>A connection that reads a file; one that lies still has nobody who writes it.</summary>
    public abstract DbConnection OpenForReading(string path, bool still);

    /// <summary>
    /// The same for a file of this program that is not newer than it; throws <see cref="DataFileException"/> for any
    /// other.
    /// </summary>
    public abstract DbConnection OpenOwn(string path, bool still);

    /// <summary>A connection that may change a file which is there.</summary>
    public abstract DbConnection OpenForWriting(string path);

    /// <summary>
    /// Copies a file as it stands at one instant, also while it is in use, to one that does not exist; it is on the
    /// disk when this returns. Throws <see cref="Backup.BackupException"/>.
    /// </summary>
    public abstract void Copy(string from, string to, bool still = false);

    /// <summary>Whether a file has a table.</summary>
    public abstract bool HasTable(DbConnection connection, string name);

    /// <summary>Whether a table of a file has a column.</summary>
    public abstract bool HasColumn(DbConnection connection, string table, string column);

    /// <summary>Contexts without a file: they know what the tables look like, and hold nothing.</summary>
    public abstract DbContextOptions<RecordsContext> WithoutFile { get; }

    /// <summary>Whether a file's tables have this program's form: nothing is to be brought forward.</summary>
    public abstract bool HasPresentForm(DbConnection connection);

    /// <summary>
    /// What of a file's form (tables, indexes, triggers, views) is not as the programs that made it left it; named by
    /// its kind and its name.
    /// </summary>
    public abstract IReadOnlyList<string> ChangedForm(DbConnection connection);

    /// <summary>Throws <see cref="DataFileException"/> where a file's inside is damaged.</summary>
    /// <param name="connection">A connection to the file.</param>
    /// <param name="path">The file.</param>
    /// <param name="whole">Whether every index is held against its table too, which takes longer.</param>
    public abstract void RefuseDamage(DbConnection connection, string path, bool whole = false);

    /// <summary>Brings what lies beside a file into it.</summary>
    public abstract void Settle(DbConnection connection);

    /// <summary>Names of the guards of the log that are not in the file, or not as this program made them.</summary>
    public abstract IEnumerable<string> ChangedGuards(DbConnection connection);

    /// <summary>In a statement: a member of the JSON in a column, as text.</summary>
    public abstract string JsonText(string column, string member);

    /// <summary>In a statement: that a member of the JSON in a column is false.</summary>
    public abstract string JsonIsFalse(string column, string member);

    /// <summary>Why a file was not opened.</summary>
    public abstract DataFileException OpenFailure(string path, DbException e);
}

/// <summary>A data file that is open: one connection that writes, and as many that read as are asked for.</summary>
internal abstract class OpenStore : IDisposable
{
    /// <summary>The connection that writes.</summary>
    public abstract DbConnection Writer { get; }

    /// <summary>Contexts on the connection that writes.</summary>
    public abstract DbContextOptions<RecordsContext> Writing { get; }

    /// <summary>Contexts that read, each on a connection of its own.</summary>
    public abstract DbContextOptions<RecordsContext> Reading { get; }

    /// <summary>A connection that reads.</summary>
    public abstract DbConnection OpenReader();

    /// <summary>
    /// Brings the tables to this program's form. Returns where the file as it was is kept, or null where nothing was
    /// changed. Throws <see cref="DataFileException"/> for a newer one.
    /// </summary>
    public abstract string? BringUpToDate(RecordsContext context);

    /// <summary>Brings everything into the file and overwrites what was deleted: it is nowhere any more.</summary>
    public abstract void EmptyLog();

    /// <summary>
    /// Writes and flushes without changing what the file says; throws <see cref="DbException"/> where it cannot.
    /// </summary>
    public abstract void ProveWritable();

    /// <summary>Why a write was not done, in what a person can act upon.</summary>
    public abstract AppendException WriteFailure(StreamName stream, DbException e);

    /// <inheritdoc/>
    public abstract void Dispose();
}
