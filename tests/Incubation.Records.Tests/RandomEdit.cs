using System.Globalization;
using Microsoft.Data.Sqlite;

namespace Incubation.Records.Tests;

/// <summary>One change of a data file, made at random by somebody who has the file and not the key.</summary>
/// <param name="What">What kind of thing was changed, and where.</param>
/// <param name="How">The change in full, to do it again by hand.</param>
internal sealed record RandomEdit(string What, string How)
{
    private static readonly string[] Forms =
    [
        "DROP TRIGGER EventPayloads_NoUpdate", "DROP TRIGGER EventHeaders_InOrder",
        "DROP INDEX IX_Cartridges_Specimen", "DROP INDEX IX_Requests_Lot",
        "CREATE TRIGGER Quiet AFTER INSERT ON Cartridges BEGIN UPDATE Cartridges SET Specimen = 'X'; END",
        "CREATE INDEX Quiet ON Cartridges (Request)", "CREATE TABLE Quiet (A TEXT)",
        "CREATE VIEW Quiet AS SELECT * FROM Cartridges",
        "DROP TRIGGER EventHeaders_NoDelete; CREATE TRIGGER EventHeaders_NoDelete BEFORE DELETE ON EventHeaders "
            + "BEGIN SELECT 1; END",
        "PRAGMA writable_schema = ON; UPDATE sqlite_schema SET sql = replace(sql, '\"Name\" TEXT NOT NULL', "
            + "'\"Name\" TEXT NOT NULL DEFAULT ''X''') WHERE name = 'Benches'",
        "ALTER TABLE Lots ADD COLUMN Quiet TEXT", "ALTER TABLE Uses RENAME TO Used",
    ];

    /// <summary>Changes a file.</summary>
    public static RandomEdit Make(string path, Random random) => random.Next(20) switch
    {
        < 12 => Cell(path, random),
        < 14 => Row(path, random),
        < 16 => Form(path, random),
        16 => Pragma(path, random),
        _ => Bytes(path, random),
    };

    /// <summary>A column of a row of any table: another value of the same kind, or of another.</summary>
    private static RandomEdit Cell(string path, Random random)
    {
        for (var attempt = 0; ; attempt++)
        {
            using var connection = RawFile.Open(path);
            var (table, rowid) = AnyRow(connection, random);
            var columns = Texts(connection, $"SELECT name FROM pragma_table_info('{table}')");
            var column = columns[random.Next(columns.Count)];
            var value = random.Next(10) switch
            {
                0 => "NULL",
                1 => string.Create(CultureInfo.InvariantCulture, $"{random.NextInt64()}"),
                2 => "x'00ff'",
                3 => "'something else'",
                4 => $"(SELECT \"{column}\" FROM \"{table}\" ORDER BY random() LIMIT 1)",
                _ => $"CASE typeof(\"{column}\") WHEN 'integer' THEN \"{column}\" + {random.Next(1, 5)} "
                    + $"WHEN 'text' THEN substr(\"{column}\", 1, {random.Next(0, 40)}) || 'q' "
                    + $"|| substr(\"{column}\", {random.Next(2, 42)}) ELSE randomblob(32) END",
            };
            var before = Scalar(connection, $"SELECT quote(\"{column}\") FROM \"{table}\" WHERE {rowid}");
            if (attempt < 50 && Try(connection, $"UPDATE \"{table}\" SET \"{column}\" = {value} WHERE {rowid}"))
            {
                var after = Scalar(connection, $"SELECT quote(\"{column}\") FROM \"{table}\" WHERE {rowid}");
                // Where the key itself was changed, the row is another.
                if (!Equals(before, after))
                    return new RandomEdit($"{table}.{column}", $"{table} {rowid} {column}: {before} → {after}");
            }
        }
    }

    private static RandomEdit Row(string path, Random random)
    {
        while (true)
        {
            using var connection = RawFile.Open(path);
            var (table, rowid) = AnyRow(connection, random);
            if (Try(connection, $"DELETE FROM \"{table}\" WHERE {rowid}"))
                return new RandomEdit(table + " row", $"DELETE FROM {table} WHERE {rowid}");
        }
    }

    private static RandomEdit Form(string path, Random random)
    {
        var change = Forms[random.Next(Forms.Length)];
        RawFile.Run(path, change);
        return new RandomEdit("form", change);
    }

    private static RandomEdit Pragma(string path, Random random)
    {
        var change = random.Next(2) == 0 ? $"PRAGMA user_version = {random.Next(1, 1_000_000)}"
            : $"PRAGMA application_id = {random.Next(1, 1_000_000)}";
        RawFile.Run(path, change);
        return new RandomEdit(change.Split(' ')[1], change);
    }

    /// <summary>One to four bytes anywhere, as a bad disk or an editor of bytes leaves them.</summary>
    private static RandomEdit Bytes(string path, Random random)
    {
        using var file = new FileStream(path, FileMode.Open, FileAccess.ReadWrite);
        var at = random.NextInt64(file.Length);
        file.Position = at;
        var was = (byte)file.ReadByte();
        var now = (byte)(was ^ (1 << random.Next(8)));
        file.Position = at;
        file.WriteByte(now);
        return new RandomEdit("bytes", string.Create(CultureInfo.InvariantCulture, $"byte {at}: {was} → {now}"));
    }

    /// <summary>A table, each as likely as another, and one of its rows.</summary>
    private static (string Table, string Where) AnyRow(SqliteConnection connection, Random random)
    {
        var tables = Texts(connection, "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name");
        while (true)
        {
            var table = tables[random.Next(tables.Count)];
            var count = (long)Scalar(connection, $"SELECT COUNT(*) FROM \"{table}\"")!;
            if (count > 0)
            {
                var any = $"SELECT rowid FROM \"{table}\" LIMIT 1 OFFSET {random.NextInt64(count)}";
                return (table, $"rowid = {Scalar(connection, any)}");
            }
        }
    }

    /// <summary>Past the guards, which stand again afterwards as they stood.</summary>
    private static bool Try(SqliteConnection connection, string statement)
    {
        var guards = Texts(connection, "SELECT sql FROM sqlite_schema WHERE type = 'trigger'");
        var names = Texts(connection, "SELECT name FROM sqlite_schema WHERE type = 'trigger'");
        Run(connection, "PRAGMA foreign_keys = OFF");
        Run(connection, "BEGIN");
        foreach (var name in names)
            Run(connection, $"DROP TRIGGER \"{name}\"");
        try
        {
            if (Run(connection, statement) == 0)
            {
                Run(connection, "ROLLBACK");
                return false;
            }
        }
        catch (SqliteException)
        {
            Run(connection, "ROLLBACK");
            return false;
        }

        foreach (var guard in guards)
            Run(connection, guard);
        Run(connection, "COMMIT");
        return true;
    }

    private static int Run(SqliteConnection connection, string statement)
    {
        using var command = connection.CreateCommand();
        command.CommandText = statement;
        return command.ExecuteNonQuery();
    }

    private static object? Scalar(SqliteConnection connection, string statement)
    {
        using var command = connection.CreateCommand();
        command.CommandText = statement;
        return command.ExecuteScalar();
    }

    private static List<string> Texts(SqliteConnection connection, string statement)
    {
        using var command = connection.CreateCommand();
        command.CommandText = statement;
        using var reader = command.ExecuteReader();
        var texts = new List<string>();
        while (reader.Read())
            texts.Add(reader.GetString(0));
        return texts;
    }
}
