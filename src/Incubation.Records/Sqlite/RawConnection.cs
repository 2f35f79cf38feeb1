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
        DataSource = "file:" + Uri.EscapeDataString(path).Replace("%2F", "/", StringComparison.Ordinal) + "?immutable=1",
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

    /// <summary>A connection that fills a file which is thrown away where that fails: no journal, the caller flushes.</summary>
    public static SqliteConnection OpenScratch(string path)
    {
        var connection = OpenForWriting(path);
        Run(connection, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF;");
        return connection;
    }

    /// <summary>Runs statements.</summary>
    public static void Run(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    /// <summary>The first value of the first row, or null.</summary>
    public static object? Scalar(SqliteConnection connection, string sql, params (string Name, object Value)[] values)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        foreach (var (name, value) in values)
            command.Parameters.AddWithValue(name, value);
        return command.ExecuteScalar() is { } found and not DBNull ? found : null;
    }

    /// <summary>The first column of every row, as text.</summary>
    public static List<string> Texts(SqliteConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        using var reader = command.ExecuteReader();
        var texts = new List<string>();
        while (reader.Read())
            texts.Add(reader.GetString(0));
        return texts;
    }

    private static SqliteConnection Open(SqliteConnectionStringBuilder builder)
    {
        var connection = new SqliteConnection(builder.ToString());
        try
        {
            connection.Open();
            Run(connection, "PRAGMA busy_timeout = 5000; PRAGMA trusted_schema = OFF;");
            return connection;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }
}
