using System.Buffers;
using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Exchange.Webhooks;

/// <summary>
/// The body of a message in the form that "Standard Webhooks" recommends: its type, when what it tells of happened, and
/// what is told.
/// </summary>
public static class WebhookBody
{
    /// <summary>Writes it as JSON in UTF-8.</summary>
    /// <param name="type">Its type, words between dots: "result.ready".</param>
    /// <param name="at">When what it tells of happened.</param>
    /// <param name="members">What is told, in this order; a number, a truth or a text each. What is null is left
    /// out.</param>
    public static byte[] Write(string type, Instant at, IEnumerable<(string Name, object? Value)> members)
    {
        ArgumentNullException.ThrowIfNull(members);
        var bytes = new ArrayBufferWriter<byte>(256);
        using (var json = new Utf8JsonWriter(bytes))
        {
            json.WriteStartObject();
            json.WriteString("type", type);
            json.WriteString("timestamp", InstantPattern.ExtendedIso.Format(at));
            json.WriteStartObject("data");
            foreach (var (name, value) in members)
                Write(json, name, value);
            json.WriteEndObject();
            json.WriteEndObject();
        }

        return bytes.WrittenSpan.ToArray();
    }

    private static void Write(Utf8JsonWriter json, string name, object? value)
    {
        switch (value)
        {
            case null:
                break;
            case bool truth:
                json.WriteBoolean(name, truth);
                break;
            case int number:
                json.WriteNumber(name, number);
                break;
            case Instant at:
                json.WriteString(name, InstantPattern.ExtendedIso.Format(at));
                break;
            case string text:
                json.WriteString(name, text);
                break;
            default:
                throw new ArgumentException($"{value.GetType()} is neither a number, a truth nor a text.", name);
        }
    }
}
