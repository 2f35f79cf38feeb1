using System.Data.Common;
using System.Globalization;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore.Diagnostics;
using NodaTime;

namespace Incubation.Records.Sqlite;

/// <summary>
/// What every connection is told when it opens. Foreign keys and recursive triggers (without which an "INSERT OR
/// REPLACE" would pass by the triggers that refuse deletes) stand in the connection string.
/// </summary>
internal sealed class ConnectionPragmas(Duration busyTimeout) : DbConnectionInterceptor
{
    private readonly string common = string.Create(
        CultureInfo.InvariantCulture,
        $"PRAGMA busy_timeout = {(long)busyTimeout.TotalMilliseconds}; PRAGMA synchronous = FULL; "
        + $"PRAGMA trusted_schema = OFF;");

    /// <summary>
    /// Sets the writing connection up: a write-ahead log that is brought to the disk at every commit. Throws
    /// <see cref="DataFileException"/> where the file system cannot do that.
    /// </summary>
    public void ApplyToWriter(SqliteConnection connection, string path)
    {
        Run(connection, common);
        using var command = connection.CreateCommand();
        // What is erased by rule must not stay behind in pages that its tables have given up, now or earlier.
        command.CommandText = "PRAGMA secure_delete = ON";
        command.ExecuteScalar();
        command.CommandText = "PRAGMA journal_mode = WAL";
        var mode = (string?)command.ExecuteScalar();
        command.CommandText = "PRAGMA synchronous";
        var synchronous = Convert.ToInt32(command.ExecuteScalar(), CultureInfo.InvariantCulture);
        const int Full = 2;
        if (mode != "wal" || synchronous != Full)
            throw new DataFileException(DataFileProblem.NotSafe, path, Words.FileNotSafe,
                $"journal {mode}, synchronous {synchronous}");
    }

    public override void ConnectionOpened(DbConnection connection, ConnectionEndEventData eventData) =>
        ApplyToReader(connection);

    public override Task ConnectionOpenedAsync(
        DbConnection connection, ConnectionEndEventData eventData, CancellationToken cancellationToken = default)
    {
        ApplyToReader(connection);
        return Task.CompletedTask;
    }

    /// <summary>All writes go through the one writing connection.</summary>
    public void ApplyToReader(DbConnection connection) => Run(connection, common + " PRAGMA query_only = ON;");

    private static void Run(DbConnection connection, string pragmas)
    {
        using var command = connection.CreateCommand();
        command.CommandText = pragmas;
        command.ExecuteNonQuery();
    }
}
