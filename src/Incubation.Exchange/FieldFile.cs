using Incubation.Exchange.Json;

namespace Incubation.Exchange;

/// <summary>One row of a file of fields.</summary>
/// <param name="Path">Its JSON path.</param>
/// <param name="Line">The line on which it begins, from 1.</param>
/// <param name="Fields">What it says by member; members that it does not have are absent.</param>
/// <param name="Faults">What cannot be understood in it.</param>
public sealed record FieldRow(string Path, int Line, IReadOnlyDictionary<string, FieldText> Fields,
    IReadOnlyList<InputFault> Faults);

/// <summary>What a row says in one member.</summary>
/// <param name="Text">The text, or the number as it was written.</param>
/// <param name="Path">Its JSON path.</param>
/// <param name="Line">Its line, from 1.</param>
public sealed record FieldText(string Text, string Path, int Line);

/// <summary>
/// Files that hold rows of plain fields: <c>{ "note": "…", "assays": [ { "code": "…", … } ] }</c>. What the fields
/// mean, whoever asks for them judges; here each is a text, a number, yes or no, or absent.
/// </summary>
public static class FieldFile
{
    /// <summary>More rows than this are no list but a mistake.</summary>
    public const int MaximumRows = 20_000;

    /// <summary>
    /// Reads the rows. A row that cannot be understood bears its own faults; a file that cannot, the result's.
    /// </summary>
    /// <param name="json">The text of the file.</param>
    /// <param name="list">Name of the member that holds the rows.</param>
    /// <param name="members">The members that a row may have.</param>
    public static ParseResult<IReadOnlyList<FieldRow>> Parse(string json, string list,
        IReadOnlyCollection<string> members)
    {
        ArgumentNullException.ThrowIfNull(json);
        ArgumentNullException.ThrowIfNull(members);
        var faults = new FaultList();
        if (JsonText.Read(json, faults) is not { } root || Members.Of(root, faults) is not { } file)
            return faults.Result<IReadOnlyList<FieldRow>>(null);
        file.Only("note", list);
        var rows = file.RequiredItems(list, MaximumRows).Select(item => Row(item, members)).ToList();
        return faults.Result<IReadOnlyList<FieldRow>>(rows);
    }

    /// <summary>Writes rows that <see cref="Parse"/> reads back; members without a text are left out.</summary>
    public static string Write(string note, string list,
        IEnumerable<IReadOnlyList<(string Member, string? Text)>> rows) => JsonWriting.Document(writer =>
    {
        writer.WriteString("note", note);
        writer.WriteStartArray(list);
        foreach (var row in rows)
        {
            writer.WriteStartObject();
            foreach (var (member, text) in row)
                if (!string.IsNullOrEmpty(text))
                    writer.WriteString(member, text);
            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    });

    private static FieldRow Row(JsonItem item, IReadOnlyCollection<string> members)
    {
        var faults = new FaultList();
        var fields = new Dictionary<string, FieldText>(StringComparer.Ordinal);
        if (Members.Of(item, faults) is { } row)
        {
            row.Only([.. members]);
            foreach (var (name, value) in row.Source.Members)
                if (TextOf(value, faults) is { } text)
                    fields[name] = new FieldText(text, value.Path, value.Line);
        }

        return new FieldRow(item.Path, item.Line, fields, faults.Result<object>(null).Faults);
    }

    private static string? TextOf(JsonItem item, FaultList faults)
    {
        switch (item)
        {
            case JsonItem.Text text:
                return text.Value;
            case JsonItem.Number number:
                return number.Written;
            case JsonItem.Truth truth:
                return truth.Value ? "yes" : "no";
            case JsonItem.Null:
                return null;
            default:
                faults.Add(item, FaultList.Text(Words.IsKind, item.KindInWords), Words.AllowedPlain);
                return null;
        }
    }
}
