using System.Text;

namespace Incubation.Exchange.Lists;

/// <summary>A field of a table, with where it begins.</summary>
/// <param name="Text">What stands in it, without its quotes.</param>
/// <param name="Line">The line on which it begins, from 1.</param>
/// <param name="Column">Which field of its row it is, from 1.</param>
/// <param name="Heading">What the first line calls its column; null where it does not.</param>
public sealed record CsvField(string Text, int Line, int Column, string? Heading = null);

/// <summary>Something in a table that cannot be understood.</summary>
/// <param name="Line">The line, from 1.</param>
/// <param name="Column">Which field of the line, from 1, as spreadsheets count columns.</param>
/// <param name="Sentence">What is wrong and what to do.</param>
/// <param name="Heading">What the first line calls that column; null where it does not.</param>
public sealed record ListFault(int Line, int Column, string Sentence, string? Heading = null)
{
    /// <summary>At a field.</summary>
    public static ListFault At(CsvField field, string sentence)
    {
        ArgumentNullException.ThrowIfNull(field);
        return new ListFault(field.Line, field.Column, sentence, field.Heading);
    }

    /// <summary>In the order in which they stand in the list.</summary>
    public static IReadOnlyList<ListFault> InOrder(IEnumerable<ListFault> faults) =>
        [.. faults.OrderBy(fault => fault.Line).ThenBy(fault => fault.Column)];
}

/// <summary>
/// A table as text: comma-separated values by RFC 4180, and what spreadsheets make of it: a byte-order mark, semicolons
/// or tabs instead of commas, any end of line. Fields in quotes may hold all of these, and quotes that are doubled.
/// </summary>
/// <param name="Rows">The rows that are not empty.</param>
/// <param name="Faults">What could not be understood; the rows end at the first.</param>
public sealed record CsvTable(IReadOnlyList<IReadOnlyList<CsvField>> Rows, IReadOnlyList<ListFault> Faults)
{
    private const char ByteOrderMark = '\uFEFF';

    /// <summary>Reads a table.</summary>
    public static CsvTable Read(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        var reader = new Reader(text.TrimStart(ByteOrderMark));
        return reader.Read();
    }

    /// <summary>
    /// What separates the fields: that of tab, semicolon and comma which stands most often outside quotes in the first
    /// line; a comma where none does.
    /// </summary>
    private static char SeparatorOf(string text)
    {
        var (isQuoted, counts) = (false, new Dictionary<char, int> { ['\t'] = 0, [';'] = 0, [','] = 0 });
        foreach (var one in text)
        {
            if (one == '"')
                isQuoted = !isQuoted;
            else if (!isQuoted && one is '\r' or '\n')
                break;
            else if (!isQuoted && counts.TryGetValue(one, out var count))
                counts[one] = count + 1;
        }

        var most = counts.MaxBy(one => one.Value);
        return most.Value > 0 ? most.Key : ',';
    }

    /// <summary>Goes through the text once.</summary>
    private sealed class Reader(string text)
    {
        private readonly char separator = SeparatorOf(text);
        private readonly List<IReadOnlyList<CsvField>> rows = [];
        private int at;
        private int line = 1;

        private bool IsOver => at >= text.Length;

        private bool IsAtEnd => IsOver || text[at] is '\r' or '\n';

        public CsvTable Read()
        {
            while (!IsOver)
            {
                var row = new List<CsvField>();
                do
                {
                    if (Field(row.Count + 1) is not { } field)
                        return new CsvTable(rows, [fault!]);
                    row.Add(field);
                }
                while (Skip(separator));
                if (row.Any(field => field.Text.Trim().Length > 0))
                    rows.Add(row);
                EndLine();
            }

            return new CsvTable(rows, []);
        }

        private ListFault? fault;

        private CsvField? Field(int column)
        {
            var beginsLine = line;
            if (IsOver || text[at] != '"')
            {
                var from = at;
                while (!IsAtEnd && text[at] != separator)
                {
                    if (text[at] == '"')
                        return Wrong(line, column, ListWords.QuoteInside);
                    at++;
                }

                return new CsvField(text[from..at], beginsLine, column);
            }

            var quoted = Quoted(beginsLine, column);
            return quoted is null ? null
                : !IsAtEnd && text[at] != separator ? Wrong(line, column, ListWords.AfterQuote)
                : new CsvField(quoted, beginsLine, column);
        }

        private string? Quoted(int beginsLine, int column)
        {
            var said = new StringBuilder();
            for (at++; !IsOver; at++)
            {
                if (text[at] != '"')
                {
                    said.Append(text[at]);
                    if (text[at] == '\n' || (text[at] == '\r' && !(at + 1 < text.Length && text[at + 1] == '\n')))
                        line++;
                }
                else if (at + 1 < text.Length && text[at + 1] == '"')
                {
                    said.Append('"');
                    at++;
                }
                else
                {
                    at++;
                    return said.ToString();
                }
            }

            Wrong(beginsLine, column, ListWords.QuoteOpen);
            return null;
        }

        private CsvField? Wrong(int wrongLine, int column, string sentence)
        {
            fault = new ListFault(wrongLine, column, sentence);
            return null;
        }

        private bool Skip(char one)
        {
            if (IsOver || text[at] != one)
                return false;
            at++;
            return true;
        }

        private void EndLine()
        {
            if (IsOver)
                return;
            at += text[at] == '\r' && at + 1 < text.Length && text[at + 1] == '\n' ? 2 : 1;
            line++;
        }
    }
}
