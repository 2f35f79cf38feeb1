using System.Data.Common;

namespace Incubation.Records.Storage;

/// <summary>
/// Statements past Entity Framework, in SQL that every engine understands: names in quotes, values as <c>@name</c>.
/// </summary>
internal static class Queries
{
    /// <summary>Runs statements.</summary>
    public static void Run(DbConnection connection, string sql)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        command.ExecuteNonQuery();
    }

    /// <summary>The first value of the first row, or null.</summary>
    public static object? Scalar(DbConnection connection, string sql, params (string Name, object Value)[] values)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        foreach (var (name, value) in values)
            command.Add(name, value);
        return command.ExecuteScalar() is { } found and not DBNull ? found : null;
    }

    /// <summary>The first column of every row, as text.</summary>
    public static List<string> Texts(DbConnection connection, string sql, params (string Name, object Value)[] values)
    {
        using var command = connection.CreateCommand();
        command.CommandText = sql;
        foreach (var (name, value) in values)
            command.Add(name, value);
        using var reader = command.ExecuteReader();
        var texts = new List<string>();
        while (reader.Read())
            texts.Add(reader.GetString(0));
        return texts;
    }

    /// <summary>Gives a statement the value of one of its names.</summary>
    public static void Add(this DbCommand command, string name, object value)
    {
        var parameter = command.CreateParameter();
        (parameter.ParameterName, parameter.Value) = (name, value);
        command.Parameters.Add(parameter);
    }
}
