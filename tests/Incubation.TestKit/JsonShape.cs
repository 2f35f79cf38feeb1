using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Incubation.Model;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>
/// The form of a type's JSON, a line for each leaf: <c>plan.steps[].hands int?</c>. No name of a class or of a choice
/// in the code stands in it, so that it changes with what is written and with nothing else.
/// </summary>
public static class JsonShape
{
    private static readonly Dictionary<Type, string> Leaves = new()
    {
        [typeof(string)] = "text",
        [typeof(bool)] = "bool",
        [typeof(int)] = "int",
        [typeof(long)] = "long",
        [typeof(ulong)] = "ulong",
        [typeof(double)] = "double",
        [typeof(decimal)] = "decimal",
        [typeof(DateTimeOffset)] = "date and time",
        [typeof(Instant)] = "instant",
        [typeof(Duration)] = "duration",
        [typeof(LocalDate)] = "date",
        [typeof(InstantRange)] = "range of instants",
    };

    /// <summary>The lines of a type under the options that write it, in the order of its members.</summary>
    public static IEnumerable<string> Of(Type type, JsonSerializerOptions options) => Lines(type, "", "", options, []);

    private static IEnumerable<string> Lines(
        Type type, string path, string mark, JsonSerializerOptions options, Type[] outer)
    {
        if (Nullable.GetUnderlyingType(type) is { } inner)
            return Lines(inner, path, "?", options, outer);
        if (type.IsEnum)
            return [$"{path} {string.Join(" | ", Texts(type, options))}{mark}"];
        if (LeafName(type) is { } leaf)
            return [$"{path} {leaf}{mark}"];
        if (outer.Contains(type))
            return [$"{path} as above{mark}"];
        if (FormOf(options.GetConverter(type)) is { } form)
            return Lines(form, path, mark, options, outer);
        var info = options.GetTypeInfo(type);
        outer = [.. outer, type];
        return info.Kind switch
        {
            JsonTypeInfoKind.Enumerable => Lines(info.ElementType!, path + "[]" + mark, "", options, outer),
            JsonTypeInfoKind.Dictionary => Lines(info.ElementType!, path + "{}" + mark, "", options, outer),
            JsonTypeInfoKind.Object when info.PolymorphismOptions is { } union => union.DerivedTypes.SelectMany(
                one => Members(one.DerivedType, $"{path}({one.TypeDiscriminator}){mark}", options, outer)),
            JsonTypeInfoKind.Object => Members(type, path + mark, options, outer),
            _ => throw new InvalidOperationException($"How {type} is written is not known here."),
        };
    }

    /// <summary>What a value is written as, where its converter names another form; else null.</summary>
    private static Type? FormOf(JsonConverter converter) => converter.GetType()
        .GetProperty("Form")?.GetValue(converter) as Type;

    private static IEnumerable<string> Members(Type type, string path, JsonSerializerOptions options, Type[] outer)
    {
        var members = options.GetTypeInfo(type).Properties
            .Where(member => member.Get is not null && (member.Set is not null || member.AssociatedParameter is not null
                || !options.IgnoreReadOnlyProperties))
            .ToList();
        return members.Count == 0
            ? [path + " {}"]
            : members.SelectMany(member => Lines(
                member.PropertyType, path.Length == 0 ? member.Name : $"{path}.{member.Name}",
                !member.PropertyType.IsValueType && member.IsGetNullable && options.RespectNullableAnnotations
                    ? "?" : "",
                options, outer));
    }

    private static IEnumerable<string> Texts(Type choice, JsonSerializerOptions options) => Enum.GetValues(choice)
        .Cast<object>().Select(value => JsonSerializer.Serialize(value, choice, options).Trim('"'));

    private static string? LeafName(Type type)
    {
        if (Leaves.TryGetValue(type, out var name))
            return name;
        var ids = type.GetInterfaces().Where(one => one.IsGenericType).Select(one => one.GetGenericTypeDefinition())
            .ToList();
        return ids.Contains(typeof(ITextId<>)) ? "text" : ids.Contains(typeof(INumberId<>)) ? "int" : null;
    }
}
