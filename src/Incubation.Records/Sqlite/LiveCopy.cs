using Incubation.Records.Backup;
using Incubation.Records.Storage;
using Microsoft.Data.Sqlite;
using SQLitePCL;

namespace Incubation.Records.Sqlite;

/// <summary>
/// Copies a data file while it is in use, as it stands at one instant: SQLite's backup interface inside one read
/// transaction, which in a write-ahead log holds no writer up. See https://sqlite.org/backup.html.
/// </summary>
internal static class LiveCopy
{
    /// <summary>
    /// Pages (of 4 KiB) between two flushes. Little by little, so that the flush of a report on the same disk never
    /// waits for hundreds of megabytes of the copy.
    /// </summary>
    private const int PagesAtATime = 512;

    /// <summary>
    /// Copies to a file that does not exist; it is on the disk when this returns, and gone where this throws.
    /// </summary>
    /// <param name="from">The file.</param>
    /// <param name="to">The copy.</param>
    /// <param name="still">Whether nobody has the file open: it is read then without anything beside it.</param>
    public static void Make(string from, string to, bool still = false)
    {
        try
        {
            OwnFile.MakeEmpty(to);
            Copy(from, to, still);
        }
        catch (Exception e)
        {
            File.Delete(to);
            if (e is SqliteException or IOException or UnauthorizedAccessException)
                throw new BackupException(BackupProblem.CannotWrite,
                    Sentence.Of(Words.BackupCannotWrite, from, to, e.Message), e);
            throw;
        }
    }

    private static void Copy(string from, string to, bool still)
    {
        using var source = still ? RawConnection.OpenStill(from) : RawConnection.OpenForReading(from);
        using var target = RawConnection.OpenScratch(to);
        using var disk = new FileStream(to, FileMode.Open, FileAccess.ReadWrite, FileShare.ReadWrite);
        // A read transaction of the source's own connection: without it every write of another process begins the copy
        // anew.
        Queries.Run(source, "BEGIN");
        Queries.Scalar(source, "SELECT COUNT(*) FROM sqlite_schema");
        var copy = raw.sqlite3_backup_init(target.Handle, "main", source.Handle, "main");
        if (copy is null || copy.IsInvalid)
            throw new SqliteException(raw.sqlite3_errmsg(target.Handle).utf8_to_string(),
                raw.sqlite3_errcode(target.Handle));
        int step;
        using (copy)
        {
            do
            {
                step = raw.sqlite3_backup_step(copy, PagesAtATime);
                disk.Flush(flushToDisk: true);
            }
            while (step == raw.SQLITE_OK);
        }
        if (step != raw.SQLITE_DONE)
            throw new SqliteException(raw.sqlite3_errstr(step).utf8_to_string(), step);
    }
}
