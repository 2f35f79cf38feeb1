using System.Globalization;
using System.Text;

namespace Incubation.Benchmarks;

/// <summary>One line of the table.</summary>
/// <param name="What">What is measured.</param>
/// <param name="Of">On which days.</param>
/// <param name="Measured">What came out.</param>
/// <param name="Target">What it should be; empty where there is no target.</param>
/// <param name="IsMet">Whether it is; null where there is no target or nothing was measured.</param>
internal sealed record Row(string What, string Of, string Measured, string Target = "", bool? IsMet = null);

/// <summary>The table as Markdown.</summary>
internal static class Table
{
    public static string Of(IEnumerable<Row> rows)
    {
        var text = new StringBuilder();
        text.Append("| what | days | measured | target | met |\n| --- | --- | --- | --- | --- |\n");
        foreach (var row in rows)
        {
            var met = row.IsMet switch { true => "yes", false => "**no**", null => "" };
            text.Append(CultureInfo.InvariantCulture,
                $"| {row.What} | {row.Of} | {row.Measured} | {row.Target} | {met} |\n");
        }
        return text.ToString();
    }
}

/// <summary>Figures of a table in one culture, and what they are made of.</summary>
internal static class Figures
{
    public static string Text(FormattableString text) => FormattableString.Invariant(text);

    public static double Median(IEnumerable<double> values)
    {
        var sorted = values.Order().ToList();
        return sorted.Count == 0 ? double.NaN : (sorted[(sorted.Count - 1) / 2] + sorted[sorted.Count / 2]) / 2;
    }

    public static double GeometricMean(IReadOnlyCollection<double> values) =>
        values.Count == 0 ? double.NaN : Math.Exp(values.Average(Math.Log));
}
