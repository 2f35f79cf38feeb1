using Microsoft.EntityFrameworkCore;

namespace Incubation.Records.Storage;

/// <summary>Brings the tables of a data file to this program's form.</summary>
internal static class Migrating
{
    /// <summary>Applies the migrations that are missing; refuses a file that has one that this program does not know.</summary>
    public static void BringUpToDate(RecordsContext context, string path)
    {
        var known = context.Database.GetMigrations().ToList();
        var applied = context.Database.GetAppliedMigrations().ToHashSet();
        var foreign = applied.Except(known).Order(StringComparer.Ordinal).FirstOrDefault();
        if (foreign is not null)
            throw new DataFileException(DataFileProblem.Newer, path, Words.FileNewer, foreign);
        // Asking costs little, migrating compares the whole model first: a start is quick where nothing is to be done.
        if (applied.IsSupersetOf(known))
            return;
        // A process that was killed while it migrated leaves this table behind, and every later migration would wait for
        // it for ever. This process has the file to itself, so the table can only be a left-over.
        context.Database.ExecuteSqlRaw("DROP TABLE IF EXISTS \"__EFMigrationsLock\"");
        context.Database.Migrate();
    }
}
