using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using Incubation.Model;

namespace Incubation.Exchange;

/// <summary>Writes the files: one member or one row a line, plain characters unescaped, line feeds.</summary>
internal static class JsonWriting
{
    private static readonly JavaScriptEncoder Plain = JavaScriptEncoder.UnsafeRelaxedJsonEscaping;

    /// <summary>An object written over several lines, with a line feed at its end.</summary>
    public static string Document(Action<Utf8JsonWriter> members) => Text(members, indented: true) + "\n";

    /// <summary>An array with each object on one line.</summary>
    public static void WriteRows<T>(this Utf8JsonWriter writer, string name, IEnumerable<T> rows,
        Action<Utf8JsonWriter, T> members)
    {
        writer.WriteStartArray(name);
        var newLine = "\n" + new string(' ', 2 * writer.CurrentDepth); // a raw value brings its own white space
        foreach (var row in rows)
            writer.WriteRawValue(newLine + Text(inner => members(inner, row), indented: false));
        writer.WriteEndArray();
    }

    /// <summary>An object on one line.</summary>
    public static void WriteLine(this Utf8JsonWriter writer, string name, Action<Utf8JsonWriter> members)
    {
        writer.WritePropertyName(name);
        writer.WriteRawValue(Text(members, indented: false));
    }

    /// <summary>The members that say what is done in a step, and with whose hands.</summary>
    public static void WriteAction(this Utf8JsonWriter writer, StepAction action, HandsNumber? hands)
    {
        writer.WriteString("step", Wordlists.Steps.WordOf(WordOf(action)));
        if (action.Subject is { } request)
            writer.WriteString("request", request.Value);
        if (hands is { } number)
            writer.WriteNumber("hands", number.Value);
        if (action is StepAction.Load load)
            writer.WritePlace(load.Place);
        else if (action.NeedsReader is { } reader)
            writer.WriteNumber("reader", reader.Value);
        if (action is StepAction.CardChange change)
            writer.WriteString("lot", change.Lot.Value);
    }

    /// <summary>A slot or a reader.</summary>
    public static void WritePlace(this Utf8JsonWriter writer, CartridgePlace place)
    {
        if (place is CartridgePlace.InSlot inSlot)
            writer.WriteNumber("slot", inSlot.Slot.Value);
        else if (place is CartridgePlace.InReader inReader)
            writer.WriteNumber("reader", inReader.Reader.Value);
    }

    private static StepWord WordOf(StepAction action) => action switch
    {
        StepAction.Mix => StepWord.Mix,
        StepAction.Load => StepWord.Load,
        StepAction.Move => StepWord.Move,
        StepAction.Read => StepWord.Read,
        StepAction.Clear => StepWord.Clear,
        StepAction.Discard => StepWord.Discard,
        _ => StepWord.CardChange,
    };

    private static string Text(Action<Utf8JsonWriter> members, bool indented)
    {
        using var stream = new MemoryStream();
        using (var writer = new Utf8JsonWriter(stream,
            new JsonWriterOptions { Indented = indented, NewLine = "\n", Encoder = Plain }))
        {
            writer.WriteStartObject();
            members(writer);
            writer.WriteEndObject();
        }
        return Encoding.UTF8.GetString(stream.ToArray());
    }
}
