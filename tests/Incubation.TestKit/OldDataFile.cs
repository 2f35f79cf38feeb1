using System.Globalization;
using System.IO.Compression;
using System.Text;
using System.Text.RegularExpressions;
using NodaTime;
using NodaTime.Text;

namespace Incubation.TestKit;

/// <summary>
/// A copy of a data file that an earlier version made, in a folder of its own; see <c>OldData/README.md</c>.
/// </summary>
public sealed partial class OldDataFile : IDisposable
{
    private static readonly string Kept = System.IO.Path.Combine(AppContext.BaseDirectory, "OldData");
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("incubation-old-");

    /// <summary>Copies one out.</summary>
    /// <param name="name">Its name, without an ending.</param>
    public OldDataFile(string name)
    {
        using (var from = Open(name + ".db.gz"))
        using (var to = File.Create(Path))
            from.CopyTo(to);
        File.Copy(System.IO.Path.Combine(Kept, name + ".key"), System.IO.Path.Combine(folder.FullName, "record.key"));
        if (!File.Exists(System.IO.Path.Combine(Kept, name + ".csv.gz")))
            return;
        using var csv = new StreamReader(Open(name + ".csv.gz"));
        Csv = string.Concat(OfReportsAlone(Rows(csv.ReadToEnd())).Select(Line));
    }

    /// <summary>The data file, with its key beside it.</summary>
    public string Path => In("incubation.db");

    /// <summary>
    /// What the version that made it exported of it, a line for each cartridge; quoted where it must be, whatever that
    /// version quoted, without what it marked of controls by patients' intervals, and with those values alone as
    /// reported that are; empty where none was kept.
    /// </summary>
    public string Csv { get; } = "";

    /// <summary>
    /// An export of today with the columns of <see cref="Csv"/> alone, quoted as that is: programs read columns by
    /// their names and values without their quotes.
    /// </summary>
    /// <remarks>
    /// Then times were cut to whole seconds, and what was corrected did not count amendments: they have a column of
    /// their own now.
    /// </remarks>
    public string AsThen(string exported)
    {
        var rows = Rows(exported);
        var names = Csv.Split("\r\n")[0].Split(',');
        var kept = names.Select(name => rows[0].IndexOf(name)).ToList();
        var amendments = rows[0].IndexOf("amendments");
        string Then(List<string> row, string name, int at) => name == "corrections"
            ? (Number(row[at]) - Number(row[amendments])).ToString(CultureInfo.InvariantCulture)
            : Seconds().Replace(row[at], "");
        return string.Concat(rows.Select((row, line) =>
            Line(kept.Zip(names, (at, name) => line == 0 ? row[at] : Then(row, name, at)))));
    }

    /// <summary>A control has no mark and is not reported, nor is what is held.</summary>
    private static IEnumerable<List<string>> OfReportsAlone(List<List<string>> rows)
    {
        var (kind, standing) = (rows[0].IndexOf("kind"), rows[0].IndexOf("standing"));
        var (mark, reported) = (rows[0].IndexOf("mark"), rows[0].IndexOf("reported"));
        foreach (var row in rows)
        {
            if (mark >= 0 && row[kind] == "control")
                row[mark] = "";
            if (row[kind] == "control" || row[standing] == "result-held")
                row[reported] = "";
            yield return row;
        }
    }

    private static int Number(string field) => int.Parse(field, CultureInfo.InvariantCulture);

    /// <summary>The part of a time below a second.</summary>
    [GeneratedRegex(@"(?<=^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)\.\d+(?=[+-]\d\d:\d\d$)")]
    private static partial Regex Seconds();

    private static List<List<string>> Rows(string csv) =>
        [.. csv.Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Select(Fields)];

    private static string Line(IEnumerable<string> fields) => string.Join(',', fields.Select(Quoted)) + "\r\n";

    /// <summary>The fields of a line of comma-separated values (RFC 4180) that has no line break in a field.</summary>
    private static List<string> Fields(string line)
    {
        List<string> fields = [];
        for (var at = 0; at <= line.Length; at++)
        {
            var field = new StringBuilder();
            var isQuoted = at < line.Length && line[at] == '"';
            for (at += isQuoted ? 1 : 0; at < line.Length && (isQuoted || line[at] != ','); at++)
                if (!isQuoted || line[at] != '"')
                    field.Append(line[at]);
                else if (at + 1 < line.Length && line[at + 1] == '"')
                    field.Append(line[at++]);
                else
                    isQuoted = false;
            fields.Add(field.ToString());
        }

        return fields;
    }

    private static string Quoted(string field) => field.AsSpan().IndexOfAny("\",\r\n") < 0
        ? field : "\"" + field.Replace("\"", "\"\"", StringComparison.Ordinal) + "\"";

    /// <summary>A path in its folder.</summary>
    public string In(string name) => System.IO.Path.Combine(folder.FullName, name);

    /// <summary>Lets a server that opens the file go on from an instant instead of from this machine's time.</summary>
    public void SetServerTime(Instant at)
    {
        var now = DateTimeOffset.UtcNow.ToString("O", CultureInfo.InvariantCulture);
        File.WriteAllText(
            In("incubation.clock.json"),
            $$"""{"Real":"{{now}}","Server":"{{InstantPattern.ExtendedIso.Format(at)}}","Rate":1}""");
    }

    /// <summary>Deletes the copy.</summary>
    public void Dispose() => folder.Delete(recursive: true);

    private static GZipStream Open(string name) =>
        new(File.OpenRead(System.IO.Path.Combine(Kept, name)), CompressionMode.Decompress);
}
