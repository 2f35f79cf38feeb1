using System.Collections;
using System.Collections.Immutable;
using System.Globalization;
using System.Reflection;
using System.Text;
using NodaTime;

namespace Incubation.Clinic.Tests;

/// <summary>Writes all that a state holds, its private parts too, so that equal texts are equal states.</summary>
internal static class StateText
{
    private static readonly Dictionary<Type, FieldInfo[]> Fields = [];

    public static string Of(object? value)
    {
        var text = new StringBuilder();
        Write(text, value);
        return text.ToString();
    }

    private static void Write(StringBuilder text, object? value)
    {
        switch (value)
        {
            case null:
                text.Append("null");
                break;
            case string words:
                text.Append('"').Append(words).Append('"');
                break;
            case DateTimeZone zone:
                text.Append(zone.Id);
                break;
            case IFormattable plain when plain.GetType() is { IsPrimitive: true } or { IsEnum: true }
                || plain is decimal or Instant or Duration or LocalDate:
                text.Append(plain.ToString(
                    plain is Instant ? "uuuu-MM-dd'T'HH:mm:ss.FFFFFFFFF" : null, CultureInfo.InvariantCulture));
                break;
            case bool yes:
                text.Append(yes);
                break;
            case IEnumerable items:
                var parts = items.Cast<object?>().Select(Of);
                text.Append('[').AppendJoin(", ", IsUnordered(value) ? parts.Order(StringComparer.Ordinal) : parts);
                text.Append(']');
                break;
            default:
                WriteFields(text, value);
                break;
        }
    }

    private static void WriteFields(StringBuilder text, object value)
    {
        text.Append(value.GetType().Name).Append('{');
        foreach (var field in FieldsOf(value.GetType()))
        {
            text.Append(field.Name).Append('=');
            Write(text, field.GetValue(value));
            text.Append(' ');
        }
        text.Append('}');
    }

    private static FieldInfo[] FieldsOf(Type type)
    {
        lock (Fields)
        {
            if (!Fields.TryGetValue(type, out var fields))
                Fields[type] = fields = [.. Bases(type).SelectMany(one => one.GetFields(
                    BindingFlags.Instance | BindingFlags.Public | BindingFlags.NonPublic | BindingFlags.DeclaredOnly))];
            return fields;
        }
    }

    private static IEnumerable<Type> Bases(Type type)
    {
        for (var one = type; one is not null && one != typeof(object); one = one.BaseType)
            yield return one;
    }

    private static bool IsUnordered(object value) => value.GetType() is { IsGenericType: true } type
        && type.GetGenericTypeDefinition() is var form
        && (form == typeof(ImmutableHashSet<>) || form == typeof(ImmutableDictionary<,>));
}
