namespace Incubation.Records.Integrity;

/// <summary>In what a table differs from what the log leads to.</summary>
/// <param name="Table">The table.</param>
/// <param name="Row">Names the row, by the columns of its key.</param>
/// <param name="Column">The column; null where the whole row is missing or too many.</param>
/// <param name="Stored">What stands there, shortened; null where the row is missing.</param>
/// <param name="Replayed">What the log says, shortened; null where it knows no such row.</param>
public sealed record ProjectionDifference(string Table, string Row, string? Column, string? Stored, string? Replayed)
{
    /// <summary>So many characters of a value are told, about the first that differs.</summary>
    private const int MostTold = 40;

    /// <summary>What differs, in a sentence. It may hold what a patient's record says.</summary>
    public string Message =>
        Column is { } column ? Sentence.Of(Words.TableColumnDiffers, Table, Row, column, Stored, Replayed)
        : Stored is null ? Sentence.Of(Words.TableRowMissing, Table, Row)
        : Sentence.Of(Words.TableRowTooMany, Table, Row);

    /// <summary>The columns of a row in which it differs; the row itself where the file has it not.</summary>
    internal static IEnumerable<ProjectionDifference> Between(TableForm form, object?[]? stored, object?[] replayed)
    {
        var row = form.KeyOf(replayed);
        if (stored is null)
        {
            yield return new ProjectionDifference(form.Table, row, null, null, "");
            yield break;
        }

        for (var at = 0; at < replayed.Length; at++)
            if (!TableForm.AreSame(stored[at], replayed[at]))
            {
                var (was, should) = (TableForm.Text(stored[at]), TableForm.Text(replayed[at]));
                var from = Math.Max(0, was.AsSpan().CommonPrefixLength(should) - (MostTold / 2));
                yield return new ProjectionDifference(form.Table, row, form.Columns[at], Cut(was, from),
                    Cut(should, from));
            }
    }

    /// <summary>A row of which the log knows nothing.</summary>
    internal static ProjectionDifference TooMany(string table, string row) => new(table, row, null, "", null);

    private static string Cut(string text, int from) => text.Length <= MostTold ? text
        : from >= text.Length ? "…"
        : string.Concat(from > 0 ? "…" : "", text.AsSpan(from, Math.Min(MostTold, text.Length - from)),
            from + MostTold < text.Length ? "…" : "");
}

/// <summary>What a comparison of the tables with a replay of the log found.</summary>
/// <param name="Differences">In what the tables differ; at most <see cref="MostNamed"/> of them.</param>
/// <param name="Count">How many differences there are in all.</param>
/// <param name="Rows">How many rows were compared.</param>
/// <param name="Behind">
/// Tables that were not compared: another version of the program wrote them, and this one makes them anew before it
/// uses them.
/// </param>
public sealed record ProjectionVerdict(IReadOnlyList<ProjectionDifference> Differences, long Count, long Rows,
    IReadOnlyList<string> Behind)
{
    /// <summary>So many differences are named; the others are counted.</summary>
    public const int MostNamed = 100;

    /// <summary>Nothing compared, nothing found.</summary>
    public static ProjectionVerdict Empty { get; } = new([], 0, 0, []);

    /// <summary>Streams whose rows are whole, but which this program cannot replay.</summary>
    public IReadOnlyList<string> NotReplayed { get; init; } = [];

    /// <summary>The tables that differ.</summary>
    public IReadOnlyList<string> Tables => [.. Differences.Select(one => one.Table).Distinct()];
}
