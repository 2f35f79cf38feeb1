using System.Collections.Frozen;
using System.Text.Json;

namespace Incubation.Model;

/// <summary>
/// How the cases of an enum or of a closed union are called where programs read them: in the log, in snapshots, in
/// commands, in files. The one codec: the name in code, in kebab-case ("window-closed").
/// </summary>
public static class KebabCase
{
    /// <summary>What a case of an enum is called.</summary>
    public static string Of<T>(T value)
        where T : struct, Enum => Of(value.ToString());

    /// <summary>What a case of a closed union is called.</summary>
    public static string OfCase(object value)
    {
        ArgumentNullException.ThrowIfNull(value);
        return Of(value.GetType().Name);
    }

    /// <summary>What a name in code is called.</summary>
    public static string Of(string name) => JsonNamingPolicy.KebabCaseLower.ConvertName(name);

    /// <summary>The case that is called so, or null.</summary>
    public static T? Find<T>(string? code)
        where T : struct, Enum => code is not null && Cases<T>.ByCode.TryGetValue(code, out var value) ? value : null;

    private static class Cases<T>
        where T : struct, Enum
    {
        public static readonly FrozenDictionary<string, T> ByCode =
            Enum.GetValues<T>().ToFrozenDictionary(value => Of(value), StringComparer.Ordinal);
    }
}
