using System.Diagnostics;
using Incubation.Records.Log;
using Incubation.Records.Sqlite;
using Incubation.Records.Storage;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records;

/// <summary>How a data file is used.</summary>
/// <param name="BusyTimeout">How long a write waits for another program that holds the file; null is 5 s.</param>
/// <param name="KeyFile">Where the record's key lies; null is beside the data file.</param>
/// <param name="ReplaceLostKey">Whether a key that is missing is replaced by a new one, with which everything is signed as it stands.</param>
public sealed record DataFileOptions(Duration? BusyTimeout = null, string? KeyFile = null, bool ReplaceLostKey = false);

/// <summary>
/// The one SQLite file that holds a clinic's records. One process has it open at a time; within the process it may be
/// used from any thread: reads run beside each other and beside the one write.
/// </summary>
public sealed class DataFile : IDisposable
{
    private readonly DataFileLock fileLock;
    private readonly string readerConnection;
    private readonly ConnectionPragmas pragmas;
    private readonly SqliteConnection writer;
    private readonly DbContextOptions<RecordsContext> writing;
    private readonly DbContextOptions<RecordsContext> reading;
    private readonly Lock oneWriter = new();

    private DataFile(string path, DataFileLock fileLock, SqliteConnection writer, string readerConnection, ConnectionPragmas pragmas)
    {
        Path = path;
        this.pragmas = pragmas;
        this.fileLock = fileLock;
        this.writer = writer;
        this.readerConnection = readerConnection;
        writing = new DbContextOptionsBuilder<RecordsContext>().UseSqlite(writer).Options;
        reading = new DbContextOptionsBuilder<RecordsContext>()
            .UseSqlite(readerConnection)
            .UseQueryTrackingBehavior(QueryTrackingBehavior.NoTracking)
            .AddInterceptors(pragmas)
            .Options;
        Log = new EventLog(this);
    }

    /// <summary>Full path of the file.</summary>
    public string Path { get; }

    /// <summary>Where the file as it was before this program changed its tables is kept, or null where nothing was changed.</summary>
    public string? KeptBeforeChange { get; private set; }

    /// <summary>The signed heads in it.</summary>
    internal KeptHeads Heads { get; private set; } = null!;

    /// <summary>The event log in it.</summary>
    public EventLog Log { get; }

    /// <summary>The connection that writes, for tests of what happens when a write fails.</summary>
    internal SqliteConnection Writer => writer;

    /// <summary>
    /// Opens a data file, makes it and its folder where there is none, and brings its tables to this program's form.
    /// Throws <see cref="DataFileException"/> with a sentence for people where the file is in use, is none of this
    /// program's, is newer than this program, cannot be opened, or its key is missing; it is unchanged then.
    /// </summary>
    public static DataFile Open(string path, DataFileOptions? options = null)
    {
        var full = Followed(System.IO.Path.GetFullPath(path));
        var fileLock = DataFileLock.Take(full);
        SqliteConnection? writer = null;
        try
        {
            var busy = options?.BusyTimeout ?? Duration.FromSeconds(5);
            var pragmas = new ConnectionPragmas(busy);
            FileIdentity.RefuseForeignHeader(full);
            if (!File.Exists(full))
                OwnFile.MakeEmpty(full);
            writer = new SqliteConnection(ConnectionString(full, busy, pooling: false));
            writer.Open();
            FileIdentity.RefuseOrMark(writer, full);
            pragmas.ApplyToWriter(writer, full);
            var file = new DataFile(full, fileLock, writer, ConnectionString(full, busy, pooling: true), pragmas);
            using var context = new RecordsContext(file.writing);
            file.KeptBeforeChange = Migrating.BringUpToDate(context, full);
            file.Heads = KeptHeads.Open(context, full, options?.KeyFile ?? HeadKey.PathBeside(full), options?.ReplaceLostKey ?? false);
            return file;
        }
        catch (Exception e)
        {
            writer?.Dispose();
            fileLock.Dispose();
            if (e is SqliteException sqlite)
                throw DataFileException.From(full, sqlite);
            if (e is IOException or UnauthorizedAccessException)
                throw new DataFileException(DataFileProblem.CannotOpen, full, Words.FileCannotOpen, e.Message, e);
            throw;
        }
    }

    /// <summary>Closes the file. Everything that was acknowledged is in it, with or without this.</summary>
    public void Dispose()
    {
        using (var reader = new SqliteConnection(readerConnection))
            SqliteConnection.ClearPool(reader);
        writer.Dispose();
        fileLock.Dispose();
    }

    /// <summary>A connection for reading, past Entity Framework.</summary>
    internal SqliteConnection OpenReader()
    {
        var connection = new SqliteConnection(readerConnection);
        try
        {
            connection.Open();
            pragmas.ApplyToReader(connection);
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>A context for reading, on a connection of its own.</summary>
    internal RecordsContext Read() => new(reading);

    /// <summary>
    /// Runs a write in one transaction: all of it is on the disk when this returns, or none of it ever is. Throws
    /// <see cref="AppendException"/> where the file cannot take it.
    /// </summary>
    internal T Write<T>(StreamName stream, Func<RecordsContext, T> write)
    {
        lock (oneWriter)
        {
            try
            {
                using var context = new RecordsContext(writing);
                context.Database.AutoSavepointsEnabled = false;
                // Takes the write lock at once, so that what is read inside is what is written upon.
                using var transaction = context.Database.BeginTransaction();
                var result = write(context);
                context.SaveChanges();
                var begun = Stopwatch.GetTimestamp();
                transaction.Commit();
                RecordsMeter.Commit.Record(Stopwatch.GetElapsedTime(begun).TotalSeconds);
                return result;
            }
            catch (DbUpdateException e) when (e.InnerException is SqliteException sqlite)
            {
                throw AppendFailures.From(stream, Path, sqlite);
            }
            catch (SqliteException e)
            {
                throw AppendFailures.From(stream, Path, e);
            }
        }
    }

    /// <summary>
    /// Brings the write-ahead log into the file and empties it: what was deleted is nowhere any more, for freed pages are overwritten.
    /// </summary>
    internal void EmptyLog()
    {
        lock (oneWriter)
            RawConnection.Scalar(writer, "PRAGMA wal_checkpoint(TRUNCATE)");
    }

    /// <summary>The file itself: by two names there would be two locks.</summary>
    private static string Followed(string path) =>
        File.Exists(path) ? File.ResolveLinkTarget(path, returnFinalTarget: true)?.FullName ?? path : path;

    /// <summary>
    /// Writes and flushes a page of the file without changing what it says. Throws <see cref="AppendException"/> where the file
    /// cannot take a write now.
    /// </summary>
    public void ProveWritable()
    {
        lock (oneWriter)
        {
            try
            {
                // The version number that SQLite keeps for a program's own use; this program uses it for nothing else.
                var proofs = (long)(RawConnection.Scalar(writer, "PRAGMA user_version") ?? 0L);
                RawConnection.Run(writer, string.Create(System.Globalization.CultureInfo.InvariantCulture, $"PRAGMA user_version = {(proofs + 1) % int.MaxValue}"));
            }
            catch (SqliteException e)
            {
                throw AppendFailures.From(StreamName.Clinic, Path, e);
            }
        }
    }

    private static string ConnectionString(string path, Duration busy, bool pooling) => new SqliteConnectionStringBuilder
    {
        DataSource = path,
        Pooling = pooling,
        Mode = SqliteOpenMode.ReadWriteCreate,
        ForeignKeys = true,
        RecursiveTriggers = true,
        DefaultTimeout = Math.Max(1, (int)Math.Ceiling(busy.TotalSeconds)),
    }.ToString();
}
