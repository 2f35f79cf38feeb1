using System.Collections;
using System.Collections.Immutable;
using System.Reflection;
using System.Text;
using NodaTime;

namespace Incubation.Bench.Tests;

/// <summary>Writes every public property of a state, so that two states can be compared to the last bit.</summary>
internal static class Dump
{
    public static string Of(object? value)
    {
        var text = new StringBuilder();
        Write(text, value, 0);
        return text.ToString();
    }

    private static void Write(StringBuilder text, object? value, int depth)
    {
        Assert(depth);
        switch (value)
        {
            case null or string or Enum or Instant or Duration:
            case var _ when value.GetType().IsPrimitive:
                text.Append(value ?? "null");
                break;
            case IEnumerable many:
                var parts = many.Cast<object?>().Select(Of);
                text.Append('[').AppendJoin(", ", IsUnordered(value) ? parts.Order(StringComparer.Ordinal) : parts)
                    .Append(']');
                break;
            default:
                text.Append(value.GetType().Name).Append('{');
                foreach (var property in value.GetType().GetProperties(BindingFlags.Public | BindingFlags.Instance)
                    .Where(p => p.GetIndexParameters().Length == 0))
                {
                    text.Append(property.Name).Append('=');
                    Write(text, property.GetValue(value), depth + 1);
                    text.Append(' ');
                }
                text.Append('}');
                break;
        }
    }

    private static bool IsUnordered(object value) =>
        value.GetType().IsGenericType && value.GetType().GetGenericTypeDefinition() == typeof(ImmutableHashSet<>);

    private static void Assert(int depth)
    {
        if (depth > 60)
            throw new InvalidOperationException("A state refers to itself.");
    }
}
