using System.Collections;
using System.Collections.Immutable;
using System.Globalization;
using System.Reflection;
using System.Text;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>Makes a random value of any type that an event is built from, and writes any value out in full.</summary>
public static class Any
{
    private static readonly string[] Texts = ["x", "Größe 1", "< 0.5", "a\"b\\c", "\u00b5g/L", "液体", "tab\tin",
        "'; --", "&<>+"];

    /// <summary>What has a check digit or a grammar cannot be any text.</summary>
    private static readonly Dictionary<Type, string[]> Ruled = new()
    {
        [typeof(LoincCode)] = ["1988-5", "4548-4"],
        [typeof(UcumUnit)] = ["mg/L", "m[IU]/L", "%"],
        [typeof(Gtin)] = ["12345678901231", "00844588003288"],
    };

    /// <summary>A random value; every nested type is made through its one public constructor.</summary>
    /// <param name="type">Of which type.</param>
    /// <param name="random">Where chance comes from.</param>
    /// <param name="chosen">What is taken for a type instead, wherever it is met; null where any value will do.</param>
    public static object Value(Type type, Random random, Func<Type, object?>? chosen = null) =>
        chosen?.Invoke(type) is { } known ? known
        : Nullable.GetUnderlyingType(type) is { } inner ? Value(inner, random, chosen)
        : type == typeof(string) ? Texts[random.Next(Texts.Length)]
        : type == typeof(bool) ? random.Next(2) == 0
        : type == typeof(int) ? random.Next()
        : type == typeof(long) ? random.NextInt64()
        : type == typeof(ulong) ? (ulong)random.NextInt64() * 2
        : type == typeof(double) ? Number(random)
        : type == typeof(decimal) ? new decimal(random.Next(), 0, 0, random.Next(2) == 0, (byte)random.Next(6))
        : type == typeof(Instant) ? NodaConstants.UnixEpoch + Duration.FromNanoseconds(Sharp(random, 4_000_000_000L))
        : type == typeof(Duration) ? Duration.FromNanoseconds(Sharp(random, 200_000L) - Sharp(random, 1000L))
        : type == typeof(LocalDate) ? new LocalDate(2026, 1, 1).PlusDays(random.Next(4000))
        : type == typeof(ControlTarget)
        ? new ControlTarget((decimal)Value(typeof(decimal), random), Math.Abs((decimal)Value(typeof(decimal), random))
            + 0.001m)
        : type.IsEnum ? Enum.GetValues(type).GetValue(random.Next(Enum.GetValues(type).Length))!
        : type.IsGenericType ? List(type, random, chosen)
        : type.IsAbstract ? Value(Cases(type)[random.Next(Cases(type).Count)], random, chosen)
        : Made(type, random, chosen);

    /// <summary>The cases of a closed union: its concrete nested types, deeper ones too.</summary>
    public static IReadOnlyList<Type> Cases(Type union) =>
        [.. union.GetNestedTypes().Where(type => union.IsAssignableFrom(type) && !type.IsAbstract)];

    /// <summary>A value with everything in it, so that equal texts mean equal values, lists and all.</summary>
    public static string WriteOut(object? value)
    {
        var text = new StringBuilder();
        WriteOut(text, value);
        return text.ToString();
    }

    private static double Number(Random random) => random.Next(6) switch
    {
        0 => double.NegativeInfinity,
        1 => 0.1 + 0.2,
        2 => double.Epsilon,
        3 => 1877,
        _ => random.NextDouble() * 1e6,
    };

    /// <summary>A count of nanoseconds that falls on a whole second, a millisecond, a tick or none of them.</summary>
    private static long Sharp(Random random, long seconds)
    {
        var whole = random.NextInt64(seconds) * NodaConstants.NanosecondsPerSecond;
        return random.Next(4) switch
        {
            0 => whole,
            1 => whole + (random.Next(1000) * NodaConstants.NanosecondsPerMillisecond),
            2 => whole + (random.Next(10_000_000) * NodaConstants.NanosecondsPerTick),
            _ => whole + random.Next(1_000_000_000),
        };
    }

    private static object List(Type type, Random random, Func<Type, object?>? chosen)
    {
        var item = type.GetGenericArguments()[0];
        var array = Array.CreateInstance(item, random.Next(4));
        for (var i = 0; i < array.Length; i++)
            array.SetValue(Value(item, random, chosen), i);
        if (type.GetGenericTypeDefinition() != typeof(ImmutableArray<>))
            return array;
        return typeof(ImmutableArray).GetMethods()
            .Single(method => method.Name == nameof(ImmutableArray.Create)
                && method.GetParameters() is [{ ParameterType.IsArray: true }])
            .MakeGenericMethod(item).Invoke(null, [array])!;
    }

    private static object Made(Type type, Random random, Func<Type, object?>? chosen)
    {
        var constructor = type.GetConstructors().OrderByDescending(c => c.GetParameters().Length).First();
        var nullability = new NullabilityInfoContext();
        return constructor.Invoke([.. constructor.GetParameters().Select(parameter =>
            nullability.Create(parameter).WriteState == NullabilityState.Nullable && random.Next(3) == 0
                ? null
                : Argument(type, parameter, random, chosen))]);
    }

    private static object Argument(
        Type owner, ParameterInfo parameter, Random random, Func<Type, object?>? chosen)
    {
        if (Ruled.TryGetValue(owner, out var texts))
            return texts[random.Next(texts.Length)];
        var interfaces = owner.GetInterfaces().Where(i => i.IsGenericType).Select(i => i.GetGenericTypeDefinition())
            .ToList();
        if (interfaces.Contains(typeof(INumberId<>)))
            return random.Next(1, 99);
        if (interfaces.Contains(typeof(ITextId<>)))
            return "ID-" + random.Next(1000).ToString(CultureInfo.InvariantCulture) + "é";
        return Value(parameter.ParameterType, random, chosen);
    }

    private static void WriteOut(StringBuilder text, object? value)
    {
        if (value is null)
            text.Append("null");
        else if (value is string words)
            text.Append('"').Append(words).Append('"');
        else if (value is double number)
            text.Append(number.ToString("R", CultureInfo.InvariantCulture));
        else if (value is decimal exact)
            text.Append(exact.ToString(CultureInfo.InvariantCulture));
        else if (value is Instant or Duration or LocalDate)
            text.Append(((IFormattable)value).ToString(value is LocalDate ? "R" : value is Instant
                ? "uuuu-MM-dd'T'HH:mm:ss.FFFFFFFFF" : "o", CultureInfo.InvariantCulture));
        else if (value.GetType() is { IsPrimitive: true } or { IsEnum: true })
            text.Append(Convert.ToString(value, CultureInfo.InvariantCulture));
        else if (value is IEnumerable items)
            WriteOutItems(text, items);
        else
            WriteOutMembers(text, value);
    }

    private static void WriteOutItems(StringBuilder text, IEnumerable items)
    {
        text.Append('[');
        foreach (var item in items)
        {
            WriteOut(text, item);
            text.Append(';');
        }
        text.Append(']');
    }

    private static void WriteOutMembers(StringBuilder text, object value)
    {
        text.Append(value.GetType().Name).Append('{');
        foreach (var property in value.GetType().GetProperties(BindingFlags.Public | BindingFlags.Instance)
            .OrderBy(property => property.Name, StringComparer.Ordinal))
        {
            text.Append(property.Name).Append('=');
            WriteOut(text, property.GetValue(value));
            text.Append(';');
        }
        text.Append('}');
    }
}
