using System.Data.Common;
using System.Reflection;
using Incubation.Records.Backup;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Migrations;

namespace Incubation.Records.Sqlite;

/// <summary>Brings the tables of a data file to this program's form.</summary>
internal static class Migrating
{
    /// <summary>The migrations of this program.</summary>
    public static IReadOnlyList<string> Known { get; } =
        [.. typeof(Migrating).Assembly.GetTypes().Select(type => type.GetCustomAttribute<MigrationAttribute>()?.Id)
            .OfType<string>().Order(StringComparer.Ordinal)];

    private const string History = "__EFMigrationsHistory";

    /// <summary>Whether a file has every migration of this program.</summary>
    public static bool IsUpToDate(DbConnection connection) => Known.All(Applied(connection).Contains);

    /// <summary>
    /// Applies the migrations that are missing, after a copy of a file that is in use already; refuses a file that has
    /// one that this program does not know. Returns the copy's path, or null where none was needed.
    /// </summary>
    public static string? BringUpToDate(RecordsContext context, string path)
    {
        var applied = RefuseNewer(context.Database.GetDbConnection(), path);
        var missing = Known.Except(applied).Order(StringComparer.Ordinal).ToList();
        // Entity Framework builds its whole model before it answers: a start is quick where nothing is to be done.
        if (missing.Count == 0)
            return null;
        var copy = applied.Count > 0 ? CopyFirst(path, missing[0]) : null;
        // A process that was killed while it migrated leaves this table behind, and every later migration would wait
        // for it for ever. This process has the file to itself, so the table can only be a left-over.
        context.Database.ExecuteSqlRaw("DROP TABLE IF EXISTS \"__EFMigrationsLock\"");
        context.Database.Migrate();
        return copy;
    }

    /// <summary>
    /// The migrations that a file has; throws <see cref="DataFileException"/> where this program does not know one of
    /// them.
    /// </summary>
    public static IReadOnlySet<string> RefuseNewer(DbConnection connection, string path)
    {
        var applied = Applied(connection);
        var foreign = applied.Except(Known).Order(StringComparer.Ordinal).FirstOrDefault();
        return foreign is null
            ? applied : throw new DataFileException(DataFileProblem.Newer, path, Words.FileNewer, foreign);
    }

    /// <summary>The migrations that a file says it has.</summary>
    public static HashSet<string> Applied(DbConnection connection) => RawConnection.HasTable(connection, History)
        ? [.. Queries.Texts(connection, $"SELECT \"MigrationId\" FROM \"{History}\"")] : [];

    private static string CopyFirst(string path, string migration)
    {
        var name = OwnFile.FreeNameBeside(path, OwnFile.BeforeUpgrade + migration);
        try
        {
            File.Delete(name + ".part");
            LiveCopy.Make(path, name + ".part");
            File.Move(name + ".part", name);
            return name;
        }
        catch (Exception e) when (e is BackupException or IOException or UnauthorizedAccessException)
        {
            throw new DataFileException(DataFileProblem.CannotOpen, path, Words.FileNotCopiedBeforeChange, e.Message,
                e);
        }
    }
}
