using System.Collections.Immutable;
using System.ComponentModel.DataAnnotations;
using System.Reflection;
using System.Text;
using System.Text.Json;
using Incubation.Server.Api;
using Incubation.Server.Hubs;
using Incubation.Service.Playback;
using Incubation.Service.Screens;
using NodaTime;

namespace Incubation.Server.Tests.Contract;

/// <summary>
/// Writes the browser modules' <c>types.js</c> from the types that the hub and the addresses of the screens give and
/// take, so that the modules are checked against them.
/// </summary>
internal sealed class BrowserTypes
{
    private const string Head = """
        // The shapes that the server sends and takes, generated from its types of the same names, which say what each
        // member means. A test fails while this file differs from them, and says how to write it again.
        // Instants are ISO 8601 texts in UTC; what counts with them turns them into milliseconds since 1970 first.

        export {};

        """;

    /// <summary>What the screens fetch by HTTP alone; all the rest goes through the hub.</summary>
    private static readonly ImmutableArray<Type> Fetched = [typeof(DaySnapshot), typeof(BatchMoments),
        typeof(TabletPerson), typeof(PinAnswer)];

    private readonly NullabilityInfoContext nullability = new();
    private readonly SortedDictionary<string, string> written = new(StringComparer.Ordinal);

    private BrowserTypes() { }

    /// <summary>The whole text of the file.</summary>
    public static string Write()
    {
        var types = new BrowserTypes();
        foreach (var given in Given().Concat(Fetched))
            types.Add(given, isTaken: false);
        foreach (var taken in Taken())
            types.Add(taken, isTaken: true);
        return Head + string.Concat(types.written.Values);
    }

    /// <summary>What the hub gives to screens: what it calls on them, and what its methods answer.</summary>
    private static IEnumerable<Type> Given() =>
        Methods(typeof(IBenchScreen))
            .SelectMany(method => method.GetParameters().Select(parameter => parameter.ParameterType))
            .Concat(Methods(typeof(BenchHub)).Select(method => Answered(method.ReturnType)))
            .Where(IsOurs);

    /// <summary>What screens give to the hub.</summary>
    private static IEnumerable<Type> Taken() =>
        Methods(typeof(BenchHub))
            .SelectMany(method => method.GetParameters().Select(parameter => parameter.ParameterType)).Where(IsOurs);

    private static MethodInfo[] Methods(Type type) =>
        type.GetMethods(BindingFlags.Public | BindingFlags.Instance | BindingFlags.DeclaredOnly);

    private static Type Answered(Type type) => type.IsGenericType && type.GetGenericTypeDefinition() == typeof(Task<>)
        ? type.GetGenericArguments()[0] : type;

    private static bool IsOurs(Type type) => type is { IsClass: true, IsGenericType: false }
        && type.Namespace?.StartsWith("Incubation.", StringComparison.Ordinal) == true;

    private void Add(Type type, bool isTaken)
    {
        if (!written.TryAdd(type.Name, ""))
            return;
        var text = new StringBuilder($"\n/**\n * @typedef {{object}} {type.Name}\n");
        var members = type.GetProperties(BindingFlags.Public | BindingFlags.Instance);
        foreach (var member in members.Where(member => member.GetMethod is not null))
        {
            var name = JsonNamingPolicy.CamelCase.ConvertName(member.Name);
            var shape = Shape(nullability.Create(member), Literals(member), isTaken);
            // What may be left out of what is taken: whatever may be null or has a default.
            var isOptional = isTaken && (shape.EndsWith("|null", StringComparison.Ordinal) || HasDefault(type, member));
            text.Append(" * @property {").Append(shape).Append("} ").Append(isOptional ? $"[{name}]" : name)
                .Append('\n');
        }

        written[type.Name] = text.Append(" */\n").ToString();
    }

    private static bool HasDefault(Type type, PropertyInfo member) => type.GetConstructors()
        .SelectMany(made => made.GetParameters())
        .Any(parameter => parameter.Name == member.Name && parameter.HasDefaultValue);

    /// <summary>The texts that a member of text may hold, as a union; null where it may hold any.</summary>
    private static string? Literals(PropertyInfo member) =>
        member.GetCustomAttribute<AllowedValuesAttribute>() is { } allowed
        ? string.Join('|', allowed.Values.OfType<string>().Select(text => $"\"{text}\""))
        : null;

    private string Shape(NullabilityInfo info, string? literals, bool isTaken)
    {
        var shape = Plain(info, literals, isTaken);
        return info.ReadState == NullabilityState.Nullable ? shape + "|null" : shape;
    }

    private string Plain(NullabilityInfo info, string? literals, bool isTaken)
    {
        var type = Nullable.GetUnderlyingType(info.Type) ?? info.Type;
        if (type == typeof(string))
            return literals ?? "string";
        if (type == typeof(Instant))
            return "string";
        if (type == typeof(bool))
            return "boolean";
        if (type == typeof(int) || type == typeof(long) || type == typeof(double) || type == typeof(decimal))
            return "number";
        if (type.IsGenericType && type.GetGenericTypeDefinition() == typeof(IReadOnlyList<>))
            return Listed(Shape(info.GenericTypeArguments[0], literals, isTaken));
        if (!IsOurs(type))
            throw new NotSupportedException(
                $"The browser has no shape for {type}: teach {nameof(BrowserTypes)} how it travels.");
        Add(type, isTaken);
        return type.Name;
    }

    private static string Listed(string element) => element.Contains('|', StringComparison.Ordinal)
        ? $"({element})[]" : element + "[]";
}
