using System.Data.Common;
using System.Globalization;
using Incubation.Records.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata;

namespace Incubation.Records.Integrity;

/// <summary>
/// A table of a projection as the program's own writers fill it: what a row that they would write now must look like in
/// the file, column by column. Made of the model, so that a new column is compared too.
/// </summary>
internal sealed class TableForm
{
    private static readonly Lazy<IModel> Model = new(() =>
    {
        using var context = new RecordsContext(StorageEngine.Present.WithoutFile);
        return context.Model;
    });

    private readonly IReadOnlyList<IProperty> properties;
    private readonly int[] keys;

    /// <param name="type">The type of its rows.</param>
    /// <param name="apart">Columns that the log does not tell: they are sealed.</param>
    private TableForm(IEntityType type, IReadOnlyCollection<string> apart)
    {
        Table = type.GetTableName()!;
        properties = [.. type.GetProperties().Where(property => !apart.Contains(property.Name))];
        Columns = [.. properties.Select(property => property.GetColumnName())];
        keys = [.. type.FindPrimaryKey()!.Properties.Select(property => properties.ToList().IndexOf(property))];
    }

    public static TableForm Clinics { get; } = Of<ClinicRow>();
    public static TableForm Assays { get; } = Of<AssayRow>();
    public static TableForm Lots { get; } = Of<LotRow>();
    public static TableForm Benches { get; } = Of<BenchRow>();
    public static TableForm Requests { get; } = Of<RequestRow>();
    public static TableForm Uses { get; } = Of<UseRow>();
    public static TableForm Batches { get; } = Of<BatchRow>();
    public static TableForm Cartridges { get; } = Of<CartridgeRow>();
    public static TableForm CartridgeTimes { get; } = Of<CartridgeTimesRow>();
    public static TableForm Erasures { get; } = Of<ErasureRow>();
    public static TableForm Notices { get; } =
        Of<NoticeRow>(nameof(NoticeRow.Number), nameof(NoticeRow.Revision), nameof(NoticeRow.Seal));

    /// <summary>The table's name.</summary>
    public string Table { get; }

    /// <summary>Its columns.</summary>
    public IReadOnlyList<string> Columns { get; }

    /// <summary>
    /// Whether it tells batches and what became of their cartridges: such tables are made anew whole.
    /// </summary>
    public bool IsOfBatches => this == Batches || this == Cartridges || this == CartridgeTimes;

    /// <summary>The form of a row's table.</summary>
    public static TableForm Of(object row) => row switch
    {
        ClinicRow => Clinics,
        AssayRow => Assays,
        LotRow => Lots,
        BenchRow => Benches,
        RequestRow => Requests,
        UseRow => Uses,
        BatchRow => Batches,
        CartridgeRow => Cartridges,
        CartridgeTimesRow => CartridgeTimes,
        ErasureRow => Erasures,
        NoticeRow => Notices,
        _ => throw new ArgumentOutOfRangeException(nameof(row), row.GetType().Name),
    };

    /// <summary>What the columns of a row hold in the file.</summary>
    public object?[] ValuesOf(object row) => [.. properties.Select(property => Stored(property, row))];

    /// <summary>Names a row by the columns of its key.</summary>
    public string KeyOf(object?[] values) => string.Join(", ", keys.Select(at => Text(values[at])));

    /// <summary>The row with the key of another, as the file has it; null where it is not there.</summary>
    public object?[]? Find(DbConnection connection, object?[] like) =>
        Read(connection, ByKey, [.. keys.Select(at => ($"@p{at}", like[at]!))]).FirstOrDefault();

    /// <summary>Rows as the file has them.</summary>
    /// <param name="connection">A connection to the file.</param>
    /// <param name="where">Which: a condition in SQL; its values are parameters.</param>
    /// <param name="values">The parameters.</param>
    public IEnumerable<object?[]> Read(DbConnection connection, string where,
        params IReadOnlyList<(string Name, object Value)> values)
    {
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT " + string.Join(", ", Columns.Select(column => $"\"{column}\""))
            + $" FROM \"{Table}\" WHERE {where}";
        foreach (var (name, value) in values)
            command.Add(name, value);
        using var reader = command.ExecuteReader();
        while (reader.Read())
            yield return [.. Enumerable.Range(0, Columns.Count)
                .Select(at => reader.IsDBNull(at) ? null : reader.GetValue(at))];
    }

    /// <summary>Writes a row in the place of the one with its key.</summary>
    public void Put(DbConnection connection, object?[] values)
    {
        Remove(connection, values);
        Queries.Scalar(connection, $"INSERT INTO \"{Table}\" ("
            + string.Join(", ", Columns.Select(column => $"\"{column}\"")) + ") VALUES ("
            + string.Join(", ", Columns.Select((_, at) => $"@p{at}")) + ")",
            [.. values.Select((value, at) => ($"@p{at}", value ?? DBNull.Value))]);
    }

    /// <summary>Takes the row with the key of another away.</summary>
    public void Remove(DbConnection connection, object?[] like) => Queries.Scalar(connection,
        $"DELETE FROM \"{Table}\" WHERE " + ByKey, [.. keys.Select(at => ($"@p{at}", like[at] ?? DBNull.Value))]);

    /// <summary>How many rows the file has.</summary>
    public long Count(DbConnection connection, string where = "1 = 1",
        params (string Name, object Value)[] values) => (long)Queries.Scalar(connection,
            $"SELECT COUNT(*) FROM \"{Table}\" WHERE {where}", values)!;

    private string ByKey => string.Join(" AND ", keys.Select(at => $"\"{Columns[at]}\" IS @p{at}"));

    /// <summary>Whether a column's value is the one that it must be.</summary>
    public static bool AreSame(object? stored, object? replayed) => stored switch
    {
        null => replayed is null,
        byte[] bytes => replayed is byte[] others && bytes.AsSpan().SequenceEqual(others),
        _ => stored.Equals(replayed),
    };

    /// <summary>A value as people read it.</summary>
    public static string Text(object? value) => value switch
    {
        null => "NULL",
        byte[] bytes => Convert.ToHexStringLower(bytes),
        _ => Convert.ToString(value, CultureInfo.InvariantCulture) ?? "",
    };

    private static TableForm Of<T>(params string[] apart) => new(Model.Value.FindEntityType(typeof(T))!, apart);

    private static object? Stored(IProperty property, object row)
    {
        var value = property.PropertyInfo!.GetValue(row);
        if (value is not null && property.GetTypeMapping().Converter is { } converter)
            value = converter.ConvertToProvider(value);
        return value switch
        {
            bool truth => truth ? 1L : 0L,
            int number => (long)number,
            _ => value,
        };
    }
}
