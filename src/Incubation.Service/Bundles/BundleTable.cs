using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Export;
using Incubation.Service.Record;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Bundles;

/// <summary>A column of a bundle's table.</summary>
/// <param name="Head">Its head on paper.</param>
/// <param name="Name">Its name in the file.</param>
public sealed record BundleColumn(string Head, string Name);

/// <summary>A table of a bundle: on its printed page, and as a file of comma-separated values.</summary>
/// <param name="Name">Name of the file, without its ending.</param>
/// <param name="Title">Its title on the page.</param>
/// <param name="Columns">Its columns.</param>
/// <param name="Rows">Its rows: texts, numbers, instants, persons and devices; null where nothing is known.</param>
public sealed record BundleTable(string Name, string Title, IReadOnlyList<BundleColumn> Columns,
    IReadOnlyList<IReadOnlyList<object?>> Rows)
{
    private static readonly OffsetDateTimePattern Iso =
        OffsetDateTimePattern.CreateWithInvariantCulture("uuuu'-'MM'-'dd'T'HH':'mm':'ss;FFFFFFFFFo<+HH:mm>");

    /// <summary>The table as RFC 4180 has it, with its byte-order mark; times ISO 8601 in a zone.</summary>
    public string InCsv(DateTimeZone zone) => Csv.Mark + Csv.Line(Columns.Select(column => (object?)column.Name))
        + string.Concat(Rows.Select(row => Csv.Line(row.Select(cell => cell switch
        {
            Instant at => Iso.Format(at.InZone(zone).ToOffsetDateTime()),
            PersonId person => person.Value,
            DeviceId device => device.Value,
            _ => cell,
        }))));

    /// <summary>A cell as people read it; empty where nothing is known.</summary>
    public static string Shown(object? cell, DateTimeZone zone, PeopleState people) => cell switch
    {
        null => "",
        Instant at => RecordClock.Full(at, zone),
        PersonId person => Names.Of(person, people),
        DeviceId device => Names.Of(device, people),
        _ => Convert.ToString(cell, System.Globalization.CultureInfo.InvariantCulture) ?? "",
    };
}
