using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;

namespace Incubation.Server.Tests.Demo;

/// <summary>A line of a CSV file, read by a foreign reader, its fields by the names of the columns.</summary>
internal sealed class CsvLine(Dictionary<string, string> fields)
{
    public string this[string name] => fields[name];

    public IReadOnlyCollection<string> Names => fields.Keys;

    public bool Has(string name) => fields[name].Length > 0;

    /// <summary>A time with its offset, as it stands.</summary>
    public DateTimeOffset? Time(string name) => Has(name)
        ? DateTimeOffset.Parse(fields[name], CultureInfo.InvariantCulture) : null;

    public double? Number(string name) => Has(name)
        ? double.Parse(fields[name], CultureInfo.InvariantCulture) : null;
}

/// <summary>Reads a CSV file as another program would: by CsvHelper, by the names in its first line.</summary>
internal static class CsvTable
{
    public static List<CsvLine> Read(string text)
    {
        var lines = new List<CsvLine>();
        using var reader = new CsvReader(new StringReader(text),
            new CsvConfiguration(CultureInfo.InvariantCulture));
        reader.Read();
        reader.ReadHeader();
        while (reader.Read())
            lines.Add(new CsvLine(reader.HeaderRecord!.ToDictionary(name => name, name => reader.GetField(name)!)));
        return lines;
    }
}
