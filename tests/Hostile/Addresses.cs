using System.Collections.Immutable;
using System.Reflection;
using System.Text.Json;
using Microsoft.AspNetCore.Components;
using Microsoft.AspNetCore.Components.Endpoints;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Metadata;
using Microsoft.AspNetCore.Routing;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>An address of the server and all that can be said to it.</summary>
/// <param name="Method">How.</param>
/// <param name="Pattern">Where, with its parameters in braces.</param>
/// <param name="Route">Parameters in the path.</param>
/// <param name="Query">Parameters in the query.</param>
/// <param name="Body">What its body is read as; null where it has none.</param>
internal sealed record Address(string Method, string Pattern, IReadOnlyList<string> Route, IReadOnlyList<string> Query,
    Type? Body)
{
    /// <summary>Whether it is no page, file or call of a program: what frameworks serve for themselves.</summary>
    public static bool IsFrameworks(string pattern) => pattern.Contains("_framework", StringComparison.Ordinal)
        || pattern.Contains("_blazor", StringComparison.Ordinal) || pattern.Contains("/hub/", StringComparison.Ordinal)
        || pattern.Contains("**", StringComparison.Ordinal);

    /// <summary>Whether looking at it changes nothing.</summary>
    public bool IsLook => Method == "GET";

    /// <summary>Every address of a server, from its own list: one that is added stands here by itself.</summary>
    public static IReadOnlyList<Address> Of(IEnumerable<Endpoint> endpoints) =>
    [
        .. endpoints.OfType<RouteEndpoint>()
            .Where(endpoint => !IsFrameworks("/" + endpoint.RoutePattern.RawText?.TrimStart('/')) && !IsAsset(endpoint))
            .SelectMany(endpoint => Methods(endpoint).Select(method => new Address(
                method, "/" + endpoint.RoutePattern.RawText?.TrimStart('/'),
                [.. endpoint.RoutePattern.Parameters.Select(parameter => parameter.Name)],
                [.. QueryOf(endpoint)],
                method == "GET" ? null : endpoint.Metadata.GetMetadata<IAcceptsMetadata>()?.RequestType))),
    ];

    /// <summary>
    /// Paths of all members of a body, also of what is inside it: <c>requests[0].ready</c>. A shape that holds more of
    /// itself is entered once more, and no further.
    /// </summary>
    public static IReadOnlyList<string> MembersOf(Type? body) => [.. MembersOf(body, "", [])];

    private static IEnumerable<string> MembersOf(Type? shape, string before, ImmutableList<Type> around)
    {
        foreach (var (name, type) in Own(shape))
        {
            var path = before + name;
            yield return path;
            var item = ItemOf(type);
            if ((item ?? type) is var inner && IsShape(inner) && !around.Contains(inner))
                foreach (var member in MembersOf(inner, path + (item is null ? "." : "[0]."), around.Add(shape!)))
                    yield return member;
        }
    }

    /// <summary>Members that stand directly in a type, as JSON names them.</summary>
    public static IEnumerable<(string Name, Type Type)> Own(Type? type) => type is null || !IsShape(type) ? []
        : type.GetProperties(BindingFlags.Public | BindingFlags.Instance)
            .Where(property => property.Name != "EqualityContract")
            .Select(property => (JsonNamingPolicy.CamelCase.ConvertName(property.Name), property.PropertyType));

    /// <summary>What a list holds; null for what is no list.</summary>
    public static Type? ItemOf(Type type) => type.IsGenericType && type != typeof(string)
        && type.GetInterfaces().Append(type).Any(one => one.IsGenericType
            && one.GetGenericTypeDefinition() == typeof(IEnumerable<>)) ? type.GetGenericArguments()[0] : null;

    /// <summary>Whether a type has members of its own.</summary>
    public static bool IsShape(Type type) => type.Namespace?.StartsWith("Incubation", StringComparison.Ordinal) == true
        && type.IsClass;

    /// <summary>What a member holds, by its type.</summary>
    public static MemberKind KindOf(Type type)
    {
        var bare = Nullable.GetUnderlyingType(type) ?? type;
        return bare == typeof(Instant) ? MemberKind.Time
            : bare == typeof(bool) ? MemberKind.Truth
            : bare.IsPrimitive ? MemberKind.Number
            : bare == typeof(string) ? MemberKind.Text : MemberKind.List;
    }

    private static IEnumerable<string> Methods(RouteEndpoint endpoint) =>
        endpoint.Metadata.GetMetadata<ComponentTypeMetadata>() is not null ? ["GET"]
        : endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["GET"];

    private static bool IsAsset(RouteEndpoint endpoint) => endpoint.Metadata.Any(one =>
        one.GetType().Name.Contains("StaticAsset", StringComparison.Ordinal));

    private static IEnumerable<string> QueryOf(RouteEndpoint endpoint)
    {
        if (endpoint.Metadata.GetMetadata<ComponentTypeMetadata>() is { Type: var page })
            return page.GetProperties().Where(property => property.IsDefined(typeof(SupplyParameterFromQueryAttribute)))
                .Select(property => property.GetCustomAttribute<SupplyParameterFromQueryAttribute>()!.Name
                    ?? property.Name);
        var route = endpoint.RoutePattern.Parameters.Select(parameter => parameter.Name).ToHashSet();
        return (endpoint.Metadata.GetMetadata<MethodInfo>()?.GetParameters() ?? [])
            .Where(parameter => !route.Contains(parameter.Name!)
                && (parameter.ParameterType == typeof(string) || KindOf(parameter.ParameterType) is MemberKind.Number
                    or MemberKind.Truth or MemberKind.Time))
            .Select(parameter => parameter.Name!);
    }
}
