using System.Globalization;
using Incubation.Model.Reports;
using Incubation.Records.Export;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Reports;

/// <summary>A length in a table: m:ss on the page, minutes in a file.</summary>
public readonly record struct Minutes(double Value)
{
    /// <summary>As people read it; with its sign where it is negative.</summary>
    public override string ToString() => (Value * 60 < -0.5 ? "−" : "")
        + Say.Length(Duration.FromMinutes(Math.Abs(Value)));
}

/// <summary>A part of 1 in a table: percent on the page, the part in a file.</summary>
public readonly record struct Part(double Value)
{
    /// <summary>As people read it.</summary>
    public override string ToString() => (100 * Value).ToString("0.#", CultureInfo.InvariantCulture) + " %";
}

/// <summary>How many results a row is of: marked where they are few (<see cref="Spread.Few"/>).</summary>
public readonly record struct ResultCount(int Count)
{
    /// <summary>As people read it.</summary>
    public override string ToString() => Count is > 0 and < Spread.Few
        ? Say.Of(ReportsWords.FewOf, Count) : Count.ToString(CultureInfo.InvariantCulture);
}

/// <summary>A column of a table.</summary>
/// <param name="Head">Its head on the page.</param>
/// <param name="Name">Its name in a file.</param>
/// <param name="IsNumber">Whether it holds figures.</param>
public sealed record ReportColumn(string Head, string Name, bool IsNumber = true);

/// <summary>A table: what a chart is drawn from.</summary>
/// <param name="Columns">Its columns; the first names the row.</param>
/// <param name="Rows">Its rows: texts, whole numbers, numbers, <see cref="Minutes"/>, <see cref="Part"/>,
/// <see cref="ResultCount"/>, days; null is
/// not known.</param>
public sealed record ReportTable(IReadOnlyList<ReportColumn> Columns, IReadOnlyList<object?[]> Rows)
{
    /// <summary>A cell as people read it.</summary>
    public static string Show(object? cell) => cell switch
    {
        null => "–",
        double number => number.ToString("0.#", CultureInfo.InvariantCulture),
        LocalDate day => Say.Day(day),
        bool answer => answer ? ReportsWords.Yes : ReportsWords.No,
        _ => Convert.ToString(cell, CultureInfo.InvariantCulture) ?? "",
    };

    /// <summary>The table as a file: a line of names, and a line for each row.</summary>
    public IEnumerable<string> Lines() => Rows.Select(row => Csv.Line(row.Select(InFile)))
        .Prepend(Csv.Line(Columns.Select(column => column.Name)));

    private static object? InFile(object? cell) => cell switch
    {
        Minutes length => Math.Round(length.Value, 3),
        Part part => Math.Round(part.Value, 5),
        ResultCount results => results.Count,
        double number => Math.Round(number, 3),
        LocalDate day => Say.Day(day),
        bool answer => answer ? "yes" : "no",
        _ => cell,
    };
}

/// <summary>One report: what it found, the chart, the table behind it.</summary>
/// <param name="Name">Names it in addresses and files.</param>
/// <param name="Title">Its heading.</param>
/// <param name="Finding">What it says, in a sentence.</param>
/// <param name="Text">How it was made.</param>
/// <param name="Chart">The chart as SVG; null where there is nothing to draw.</param>
/// <param name="Table">The table behind it.</param>
public sealed record ReportSection(string Name, string Title, string Finding, string Text, string? Chart,
    ReportTable Table);
