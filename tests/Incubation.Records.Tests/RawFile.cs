using Microsoft.Data.Sqlite;

namespace Incubation.Records.Tests;

/// <summary>Somebody with another program and a data file.</summary>
internal static class RawFile
{
    /// <summary>Runs statements on a file, past everything that the program does.</summary>
    public static void Run(string path, params string[] statements)
    {
        using var connection = Open(path);
        foreach (var statement in statements)
        {
            using var command = connection.CreateCommand();
            command.CommandText = statement;
            command.ExecuteNonQuery();
        }
    }

    /// <summary>Alters the log as somebody would who knows SQLite: takes the triggers away first.</summary>
    public static void Tamper(string path, params string[] statements) => Run(
        path,
        [
            "PRAGMA foreign_keys = OFF",
            "DROP TRIGGER EventHeaders_NoUpdate",
            "DROP TRIGGER EventHeaders_NoDelete",
            "DROP TRIGGER EventHeaders_InOrder",
            "DROP TRIGGER EventPayloads_NoUpdate",
            "DROP TRIGGER EventPayloads_NoDelete",
            .. statements,
        ]);

    public static object? Scalar(string path, string sql)
    {
        using var connection = Open(path);
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        return command.ExecuteScalar();
    }

    public static SqliteConnection Open(string path)
    {
        var connection =
            new SqliteConnection(new SqliteConnectionStringBuilder
            {
                DataSource = path,
                Pooling = false,
                DefaultTimeout = 1
            }.ToString());
        connection.Open();
        return connection;
    }
}
