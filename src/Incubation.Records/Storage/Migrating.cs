using Incubation.Records.Backup;
using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Storage;

/// <summary>Brings the tables of a data file to this program's form.</summary>
internal static class Migrating
{
    /// <summary>
    /// Applies the migrations that are missing, after a copy of a file that is in use already; refuses a file that has one
    /// that this program does not know. Returns the copy's path, or null where none was needed.
    /// </summary>
    public static string? BringUpToDate(RecordsContext context, string path)
    {
        var applied = RefuseNewer(context, path);
        var missing = context.Database.GetMigrations().Except(applied).Order(StringComparer.Ordinal).ToList();
        // Asking costs little, migrating compares the whole model first: a start is quick where nothing is to be done.
        if (missing.Count == 0)
            return null;
        var copy = applied.Count > 0 ? CopyFirst(path, missing[0]) : null;
        // A process that was killed while it migrated leaves this table behind, and every later migration would wait for
        // it for ever. This process has the file to itself, so the table can only be a left-over.
        context.Database.ExecuteSqlRaw("DROP TABLE IF EXISTS \"__EFMigrationsLock\"");
        context.Database.Migrate();
        return copy;
    }

    /// <summary>The migrations that a file has; throws <see cref="DataFileException"/> where this program does not know one of them.</summary>
    public static IReadOnlySet<string> RefuseNewer(RecordsContext context, string path)
    {
        var applied = context.Database.GetAppliedMigrations().ToHashSet();
        var foreign = applied.Except(context.Database.GetMigrations()).Order(StringComparer.Ordinal).FirstOrDefault();
        return foreign is null ? applied : throw new DataFileException(DataFileProblem.Newer, path, Words.FileNewer, foreign);
    }

    private static string CopyFirst(string path, string migration)
    {
        var stem = Path.Combine(Path.GetDirectoryName(path)!, $"{Path.GetFileNameWithoutExtension(path)}.before-{migration}");
        var name = stem + ".db";
        for (var number = 2; Path.Exists(name); number++)
            name = $"{stem}-{number}.db";
        try
        {
            File.Delete(name + ".part");
            LiveCopy.Make(path, name + ".part");
            File.Move(name + ".part", name);
            return name;
        }
        catch (Exception e) when (e is BackupException or IOException or UnauthorizedAccessException)
        {
            throw new DataFileException(DataFileProblem.CannotOpen, path, Words.FileNotCopiedBeforeChange, e.Message, e);
        }
    }
}
