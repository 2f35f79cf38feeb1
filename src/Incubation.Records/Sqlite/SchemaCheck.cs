using System.Collections.Concurrent;
using System.Data.Common;
using Incubation.Records.Storage;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;

namespace Incubation.Records.Sqlite;

/// <summary>
/// Holds the tables, indexes, triggers and views of a file, in their words, against those that the migrations make
/// which the file says it has: a changed default, a dropped index or a trigger more shows.
/// </summary>
internal static class SchemaCheck
{
    private static readonly ConcurrentDictionary<int, IReadOnlyDictionary<string, string>> Expected = new();

    /// <summary>What is not there, is there too many, or is otherwise: its kind and its name.</summary>
    public static IReadOnlyList<string> Of(DbConnection connection)
    {
        var applied = Migrating.Applied(connection).Order(StringComparer.Ordinal).ToList();
        if (!applied.SequenceEqual(Migrating.Known.Take(applied.Count)))
            return ["table '__EFMigrationsHistory'"];
        var made = Expected.GetOrAdd(applied.Count, _ => MadeBy(applied));
        var there = Made(connection);
        return [.. made.Keys.Union(there.Keys)
            .Where(name => made.GetValueOrDefault(name) != there.GetValueOrDefault(name))
            .Order(StringComparer.Ordinal)];
    }

    /// <summary>What the first so many migrations make.</summary>
    private static IReadOnlyDictionary<string, string> MadeBy(List<string> applied)
    {
        using var scratch = new SqliteConnection("Data Source=:memory:");
        scratch.Open();
        using var context = new RecordsContext(SqliteEngine.Options().UseSqlite(scratch).Options);
        if (applied.Count > 0)
            context.GetService<IMigrator>().Migrate(applied[^1]);
        return Made(scratch);
    }

    /// <summary>The words by which everything was made; the engine's own tables and indexes have none.</summary>
    private static Dictionary<string, string> Made(DbConnection connection)
    {
        using var command = connection.CreateCommand();
        // The lock of a migration is made where one was first needed, and dropped where one was cut short; the engine's
        // statistics hold no words of ours. Tables alone: a trigger of such a name was made by somebody.
        command.CommandText = "SELECT type, name, sql FROM sqlite_schema WHERE sql IS NOT NULL AND NOT (type = 'table' "
            + "AND name IN ('__EFMigrationsLock', 'sqlite_sequence', 'sqlite_stat1', 'sqlite_stat4'))";
        using var reader = command.ExecuteReader();
        var words = new Dictionary<string, string>(StringComparer.Ordinal);
        while (reader.Read())
            words[$"{reader.GetString(0)} '{reader.GetString(1)}'"] =
                string.Join(' ', reader.GetString(2).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
        return words;
    }
}
