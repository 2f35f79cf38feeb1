using System.Text;
using System.Text.Json;

namespace Incubation.Exchange.Json;

/// <summary>
/// Reads JSON text into items with paths and lines. Comments, trailing commas and members named twice are faults.
/// </summary>
internal sealed class JsonText
{
    private readonly byte[] _bytes;
    private readonly FaultList _faults;
    private string _path = "$";
    private int _line = 1;
    private long _counted;

    private JsonText(byte[] bytes, FaultList faults) => (_bytes, _faults) = (bytes, faults);

    /// <summary>The root item, or null with a fault where the text is not JSON.</summary>
    public static JsonItem? Read(string text, FaultList faults)
    {
        var reading = new JsonText(Encoding.UTF8.GetBytes(text.TrimStart('\uFEFF')), faults);
        try
        {
            var reader = new Utf8JsonReader(reading._bytes,
                new JsonReaderOptions { CommentHandling = JsonCommentHandling.Disallow, AllowTrailingCommas = false });
            reader.Read();
            var root = reading.Item(ref reader, "$");
            reader.Read();
            return root;
        }
        catch (JsonException broken)
        {
            var message = broken.Message.Split(" LineNumber:")[0].TrimEnd('.');
            faults.Add(reading._path, (int)(broken.LineNumber ?? 0) + 1, FaultList.Text(Words.NotJson, message),
                Words.AllowedJson);
        }
        catch (InvalidOperationException)
        {
            // half of a surrogate pair, escaped
            faults.Add(reading._path, reading._line, Words.BrokenCharacter, Words.AllowedJson);
        }
        return null;
    }

    private JsonItem Item(ref Utf8JsonReader reader, string path)
    {
        _path = path;
        var line = LineOf(reader.TokenStartIndex);
        return reader.TokenType switch
        {
            JsonTokenType.StartObject => new JsonItem.Object(path, line, Members(ref reader, path)),
            JsonTokenType.StartArray => new JsonItem.Array(path, line, Items(ref reader, path)),
            JsonTokenType.String => new JsonItem.Text(path, line, reader.GetString()!),
            JsonTokenType.Number => new JsonItem.Number(path, line, Encoding.UTF8.GetString(reader.ValueSpan)),
            JsonTokenType.True or JsonTokenType.False => new JsonItem.Truth(path, line, reader.GetBoolean()),
            _ => new JsonItem.Null(path, line),
        };
    }

    private List<(string Name, JsonItem Item)> Members(ref Utf8JsonReader reader, string path)
    {
        var members = new List<(string Name, JsonItem Item)>();
        var names = new HashSet<string>();
        for (reader.Read(); reader.TokenType != JsonTokenType.EndObject; reader.Read())
        {
            var name = reader.GetString()!;
            reader.Read();
            var item = Item(ref reader, PathOf(path, name));
            if (names.Add(name))
                members.Add((name, item));
            else
                _faults.Add(item, Words.MemberTwice, Words.AllowedMemberOnce);
            _path = path;
        }
        return members;
    }

    private List<JsonItem> Items(ref Utf8JsonReader reader, string path)
    {
        var items = new List<JsonItem>();
        for (reader.Read(); reader.TokenType != JsonTokenType.EndArray; reader.Read())
        {
            items.Add(Item(ref reader, $"{path}[{items.Count}]"));
            _path = path;
        }
        return items;
    }

    /// <summary>A member's path; a name that is no plain word is quoted, and cut where it is absurdly long.</summary>
    private static string PathOf(string path, string name)
    {
        const int longest = 64;
        if (name.Length is > 0 and <= longest && char.IsAsciiLetter(name[0]) && name.All(char.IsAsciiLetterOrDigit))
            return $"{path}.{name}";
        var shown = string.Concat((name.Length > longest ? name[..longest] + "…" : name)
            .Select(letter => char.IsControl(letter) ? ' ' : letter));
        return $"{path}['{shown}']";
    }

    /// <summary>The line of a byte; bytes are asked for in ascending order.</summary>
    private int LineOf(long index)
    {
        _line += _bytes.AsSpan((int)_counted, (int)(index - _counted)).Count((byte)'\n');
        _counted = index;
        return _line;
    }
}
