using System.Data.Common;
using System.Diagnostics;
using Incubation.Records.Log;
using Incubation.Records.Seals;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace Incubation.Records;

/// <summary>How a data file is used.</summary>
/// <param name="BusyTimeout">How long a write waits for another program that holds the file; null is 5 s.</param>
/// <param name="KeyFile">Where the record's key lies; null is beside the data file.</param>
/// <param name="ReplaceLostKey">Whether a key that is missing is replaced by a new one, with which everything is signed
/// as it stands.</param>
/// <param name="SignAsItStands">Whether a file that holds events and no signatures, as a program wrote it that signed
/// nothing, is signed as it stands.</param>
public sealed record DataFileOptions(Duration? BusyTimeout = null, string? KeyFile = null, bool ReplaceLostKey = false,
    bool SignAsItStands = false);

/// <summary>
/// The one file that holds a clinic's records. One process has it open at a time; within the process it may be
/// used from any thread: reads run beside each other and beside the one write.
/// </summary>
public sealed class DataFile : IDisposable
{
    private readonly DataFileLock fileLock;
    private readonly OpenStore store;
    private readonly Lock oneWriter = new();

    private DataFile(string path, DataFileLock fileLock, OpenStore store)
    {
        Path = path;
        this.fileLock = fileLock;
        this.store = store;
        Log = new EventLog(this);
    }

    /// <summary>Full path of the file.</summary>
    public string Path { get; }

    /// <summary>
    /// Where the file as it was before this program changed its tables is kept, or null where nothing was changed.
    /// </summary>
    public string? KeptBeforeChange { get; private set; }

    /// <summary>The signed heads in it.</summary>
    internal TailCutGuard Heads { get; private set; } = null!;

    /// <summary>What seals the rows beside its log.</summary>
    internal RecordSeal Seal { get; private set; } = null!;

    /// <summary>
    /// The row beside the log that was found last, as it was to be used, and is not to be trusted; null where none was.
    /// </summary>
    public LogBrokenException? Distrusted { get; private set; }

    /// <summary>Called with each such row, the first time that it is found.</summary>
    public event Action<LogBrokenException>? DistrustFound;

    /// <summary>
    /// Notices to destinations were written; on the thread that wrote them, after they are on the disk.
    /// </summary>
    internal event Action? NoticesAdded;

    /// <summary>The event log in it.</summary>
    public EventLog Log { get; }

    /// <summary>The connection that writes, for tests of what happens when a write fails.</summary>
    internal DbConnection Writer => store.Writer;

    /// <summary>
    /// Opens a data file, makes it and its folder where there is none, and brings its tables to this program's form.
    /// Throws <see cref="DataFileException"/> with a sentence for people where the file is in use, is none of this
    /// program's, is newer than this program, cannot be opened, holds events without signatures, or its key is missing;
    /// it is unchanged then.
    /// </summary>
    public static DataFile Open(string path, DataFileOptions? options = null)
    {
        var full = Followed(System.IO.Path.GetFullPath(path));
        var fileLock = DataFileLock.Take(full);
        OpenStore? store = null;
        try
        {
            store = StorageEngine.Present.Open(full, options?.BusyTimeout ?? Duration.FromSeconds(5));
            var keyFile = options?.KeyFile ?? SigningKey.PathBeside(full);
            // Before anything of it is changed.
            if (options is not { SignAsItStands: true })
                TailCutGuard.RefuseUnsigned(store.Writer, full, keyFile);
            var file = new DataFile(full, fileLock, store);
            using var context = new RecordsContext(store.Writing);
            file.KeptBeforeChange = store.BringUpToDate(context);
            file.Heads = TailCutGuard.Open(context, full, keyFile, options?.ReplaceLostKey ?? false);
            file.Seal = new RecordSeal(file.Heads.Key);
            return file;
        }
        catch (Exception e)
        {
            store?.Dispose();
            fileLock.Dispose();
            if (e is DbException fault)
                throw StorageEngine.Present.OpenFailure(full, fault);
            if (e is IOException or UnauthorizedAccessException)
                throw new DataFileException(DataFileProblem.CannotOpen, full, Words.FileCannotOpen, e.Message, e);
            throw;
        }
    }

    /// <summary>Closes the file. Everything that was acknowledged is in it, with or without this.</summary>
    public void Dispose()
    {
        store.Dispose();
        fileLock.Dispose();
    }

    /// <summary>Notes a row beside the log that is not to be trusted.</summary>
    internal void Distrust(LogBrokenException fault)
    {
        if (Distrusted?.Message == fault.Message)
            return;
        Distrusted = fault;
        DistrustFound?.Invoke(fault);
    }

    /// <summary>Tells whoever sends them that notices are on the disk.</summary>
    internal void TellNoticesAdded() => NoticesAdded?.Invoke();

    /// <summary>A connection for reading, past Entity Framework.</summary>
    internal DbConnection OpenReader() => store.OpenReader();

    /// <summary>A context for reading, on a connection of its own.</summary>
    internal RecordsContext Read() => new(store.Reading);

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
                using var context = new RecordsContext(store.Writing);
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
            catch (DbUpdateException e) when (e.InnerException is DbException fault)
            {
                throw store.WriteFailure(stream, fault);
            }
            catch (DbException e)
            {
                throw store.WriteFailure(stream, e);
            }
        }
    }

    /// <summary>
    /// Brings everything into the file and empties what lies beside it: what was deleted is nowhere any more.
    /// </summary>
    internal void EmptyLog()
    {
        lock (oneWriter)
            store.EmptyLog();
    }

    /// <summary>The file itself: by two names there would be two locks.</summary>
    private static string Followed(string path) =>
        File.Exists(path) ? File.ResolveLinkTarget(path, returnFinalTarget: true)?.FullName ?? path : path;

    /// <summary>
    /// Writes and flushes a page of the file without changing what it says. Throws <see cref="AppendException"/> where
    /// the file cannot take a write now.
    /// </summary>
    public void ProveWritable()
    {
        lock (oneWriter)
        {
            try
            {
                store.ProveWritable();
            }
            catch (DbException e)
            {
                throw store.WriteFailure(StreamName.Clinic, e);
            }
        }
    }
}
