using System.Data.Common;
using Incubation.Records.Storage;
using Microsoft.Data.Sqlite;

namespace Incubation.Records.Sqlite;

/// <summary>Connections past Entity Framework: for copying and checking whole files.</summary>
internal static class RawConnection
{
    /// <summary>A connection that reads a file that others may be writing.</summary>
    public static SqliteConnection OpenForReading(string path) => Open(new SqliteConnectionStringBuilder
    {
        DataSource = path,
        Mode = SqliteOpenMode.ReadOnly,
        Pooling = false,
    });

    /// <summary>A connection that reads a file that nobody writes, and leaves nothing beside it.</summary>
    public static SqliteConnection OpenStill(string path) => Open(new SqliteConnectionStringBuilder
    {
        DataSource = "file:" + Uri.EscapeDataString(path).Replace("%2F", "/", StringComparison.Ordinal)
            + "?immutable=1",
        Mode = SqliteOpenMode.ReadOnly,
        Pooling = false,
    });

    /// <summary>A connection that may change a file which is there.</summary>
    public static SqliteConnection OpenForWriting(string path) => Open(new SqliteConnectionStringBuilder
    {
        DataSource = path,
        Mode = SqliteOpenMode.ReadWrite,
        Pooling = false,
    });

    /// <summary>
    /// A connection that fills a file which is thrown away where that fails: no journal, the caller flushes.
    /// </summary>
    public static SqliteConnection OpenScratch(string path)
    {
        var connection = OpenForWriting(path);
        Queries.Run(connection, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;");
        return connection;
    }

    /// <summary>Whether a file has a table.</summary>
    public static bool HasTable(DbConnection connection, string name) =>
        Queries.Scalar(connection, "SELECT 1 FROM sqlite_schema WHERE type = 'table' AND name = @name",
            ("@name", name)) is not null;

    /// <summary>Whether a table has a column.</summary>
    public static bool HasColumn(DbConnection connection, string table, string column) =>
        Queries.Scalar(connection, "SELECT 1 FROM pragma_table_info(@table) WHERE name = @column",
            ("@table", table), ("@column", column)) is not null;

    private static SqliteConnection Open(SqliteConnectionStringBuilder builder)
    {
        var connection = new SqliteConnection(builder.ToString());
        try
        {
            connection.Open();
            Queries.Run(connection, "PRAGMA busy_timeout = 5000; PRAGMA trusted_schema = OFF;");
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }
}
