using System.Globalization;
using System.Text.RegularExpressions;
using Incubation.Model;

namespace Incubation.Exchange.Lists;

/// <summary>One specimen of a list, as it stands there.</summary>
/// <param name="Line">The line on which it begins, from 1.</param>
/// <param name="Specimen">Its number.</param>
/// <param name="Assays">What is wanted, each with where it stands; empty where the list does not say.</param>
/// <param name="IsUrgent">Whether it goes first.</param>
/// <param name="Identifier">A second identifier, or null.</param>
/// <param name="SpecimenType">Its type, or null.</param>
/// <param name="Collected">When it was collected, as written; or null.</param>
/// <param name="Due">When its results should be there, as written; or null.</param>
/// <param name="Number">What an order is called where it comes from, or null.</param>
/// <param name="Comment">What is to be known besides, or null.</param>
public sealed record ListedSpecimen(int Line, CsvField Specimen, IReadOnlyList<CsvField> Assays, bool IsUrgent,
    string? Identifier, string? SpecimenType, CsvField? Collected, CsvField? Due,
    CsvField? Number = null, CsvField? Comment = null)
{
    /// <summary>The kit lots that are named, each with where it stands; empty where the list does not say.</summary>
    public IReadOnlyList<CsvField> Lots { get; init; } = [];

    /// <summary>The bench that it is for, as written; null where the list does not say.</summary>
    public CsvField? Bench { get; init; }
}

/// <summary>
/// A list of specimens: pasted numbers, one a line, or a table whose first line names its columns in any order. Text is
/// taken as it stands there.
/// </summary>
/// <param name="Specimens">The specimens; to be used only where there is no fault.</param>
/// <param name="Faults">What is wrong, in the list's order, at most <see cref="MaxFaults"/>.</param>
public sealed partial record SpecimenList(IReadOnlyList<ListedSpecimen> Specimens, IReadOnlyList<ListFault> Faults)
{
    /// <summary>So many faults are told at once.</summary>
    public const int MaxFaults = 100;

    /// <summary>No list has more lines.</summary>
    public const int MaxLines = BenchDay.MaximumRequests;

    /// <summary>The names of the columns; the first must be there.</summary>
    public static IReadOnlyList<string> Columns { get; } =
        ["specimen", "assay", "priority", "identifier", "specimen type", "collected", "due", "lot", "bench"];

    /// <summary>The names of the columns of a list of orders.</summary>
    public static IReadOnlyList<string> OrderColumns { get; } = [.. Columns, "order", "comment"];

    /// <summary>Reads a list of tubes for a bench.</summary>
    public static SpecimenList Read(string text) => Read(text, Columns);

    /// <summary>Reads a list.</summary>
    /// <param name="text">The list.</param>
    /// <param name="columns">The columns that it may have; the first must be there.</param>
    public static SpecimenList Read(string text, IReadOnlyList<string> columns)
    {
        var table = CsvTable.Read(text);
        var isTable = table.Rows is [var heading, ..] && heading.Any(field => columns.Contains(NameOf(field)));
        if (table.Faults.Count > 0)
            return new SpecimenList([], !isTable ? table.Faults : [.. table.Faults.Select(fault =>
                fault with { Heading = HeadingOf(table.Rows[0], fault.Column) })]);
        var headings = isTable ? 1 : 0;
        if (table.Rows.Count == headings)
            return new SpecimenList([], [new ListFault(headings + 1, 1, ListWords.Empty)]);
        if (table.Rows.Count - headings > MaxLines)
            return new SpecimenList([], [Fault(table.Rows[MaxLines + headings][0], ListWords.TooManyLines, MaxLines)]);
        var reading = new Reading(columns);
        if (isTable)
            reading.Table(table.Rows);
        else
            reading.Numbers(table.Rows);
        return new SpecimenList(reading.Specimens, [.. ListFault.InOrder(reading.Faults).Take(MaxFaults)]);
    }

    private static ListFault Fault(CsvField field, string sentence, params object[] things) =>
        ListFault.At(field, string.Format(CultureInfo.CurrentCulture, sentence, things));

    /// <summary>What the first line calls a column, as it stands there; null where it ends before.</summary>
    private static string? HeadingOf(IReadOnlyList<CsvField> heading, int column) =>
        column <= heading.Count && heading[column - 1].Text.Trim() is { Length: > 0 } name ? name : null;

    private static string NameOf(CsvField field) => field.Text.Trim().ToLowerInvariant();

    /// <summary>What a spreadsheet makes of a long number: "1.2E+15", and its last digits are gone.</summary>
    [GeneratedRegex(@"^[+-]?\d+([.,]\d+)?[eE][+-]?\d+$", RegexOptions.CultureInvariant)]
    private static partial Regex Rounded();

    private sealed class Reading(IReadOnlyList<string> columns)
    {
        public List<ListedSpecimen> Specimens { get; } = [];

        public List<ListFault> Faults { get; } = [];

        public void Numbers(IReadOnlyList<IReadOnlyList<CsvField>> rows)
        {
            // That its columns have no names is said once, wherever it shows.
            if (rows.SelectMany(row => row.Skip(1)).FirstOrDefault(field => field.Text.Trim().Length > 0) is { } more)
            {
                Wrong(more, ListWords.NoHeader, string.Join(", ", columns));
                return;
            }

            foreach (var row in rows)
                if (Identifier(row[0]))
                    Specimens.Add(new ListedSpecimen(row[0].Line, Trimmed(row[0]), [], false, null, null, null, null));
        }

        public void Table(IReadOnlyList<IReadOnlyList<CsvField>> rows)
        {
            var places = new Dictionary<string, int>();
            for (var at = 0; at < rows[0].Count; at++)
                if (!columns.Contains(NameOf(rows[0][at])))
                    Wrong(rows[0][at], ListWords.UnknownColumn, rows[0][at].Text, string.Join(", ", columns));
                else if (!places.TryAdd(NameOf(rows[0][at]), at))
                    Wrong(rows[0][at], ListWords.RepeatedColumn, rows[0][at].Text);
            if (!places.ContainsKey(columns[0]))
                Wrong(rows[0][0], ListWords.NoSpecimenColumn, columns[0]);
            if (Faults.Count > 0)
                return;
            foreach (var row in rows.Skip(1).Select(row =>
                row.Select(field => field with { Heading = HeadingOf(rows[0], field.Column) }).ToList()))
                Row(row, rows[0], places[columns[0]] + 1, name => places.TryGetValue(name, out var at) && at < row.Count
                    && row[at].Text.Trim().Length > 0 ? Trimmed(row[at]) : null);
        }

        private void Row(IReadOnlyList<CsvField> row, IReadOnlyList<CsvField> heading, int first,
            Func<string, CsvField?> at)
        {
            if (row.Count > heading.Count)
                Wrong(row[heading.Count], ListWords.TooManyFields, heading.Count);
            if (at(columns[0]) is not { } specimen)
            {
                Faults.Add(new ListFault(row[0].Line, first, ListWords.SpecimenMissing, HeadingOf(heading, first)));
                return;
            }

            Identifier(specimen);
            var (identifier, type, priority) = (at("identifier"), at("specimen type"), at("priority"));
            var (number, comment) = (at("order"), at("comment"));
            foreach (var one in new[] { identifier, type, number }.OfType<CsvField>())
                Identifier(one);
            if (comment is not null && !Bounds.IsWords(comment.Text))
                Wrong(comment, ListWords.CommentFault, Bounds.MaxWords);
            if (priority is not null && NameOf(priority) is not ("urgent" or "routine"))
                Wrong(priority, ListWords.PriorityUnknown, priority.Text);
            Specimens.Add(new ListedSpecimen(row[0].Line, specimen, Parts(at("assay")), priority is not null
                && NameOf(priority) == "urgent", identifier?.Text, type?.Text, at("collected"), at("due"), number,
                comment)
            {
                Lots = Parts(at("lot")),
                Bench = at("bench"),
            });
        }

        /// <summary>Several in one field: "DA + DC".</summary>
        private static IReadOnlyList<CsvField> Parts(CsvField? field) => field is null ? [] : [.. field.Text
            .Split('+', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
            .Select(part => field with { Text = part })];

        /// <summary>Whether a field can name something; else it is said.</summary>
        private bool Identifier(CsvField field)
        {
            var text = field.Text.Trim();
            if (Rounded().IsMatch(text))
                Wrong(field, ListWords.Rounded, text);
            else if (text.Length > TextId.MaximumLength)
                Wrong(field, ListWords.TooLong, TextId.MaximumLength, text.Length);
            else if (!Bounds.IsIdentifier(text))
                Wrong(field, ListWords.NotPrintable);
            else
                return true;
            return false;
        }

        private static CsvField Trimmed(CsvField field) => field with { Text = field.Text.Trim() };

        private void Wrong(CsvField field, string sentence, params object[] things) =>
            Faults.Add(Fault(field, sentence, things));
    }
}
