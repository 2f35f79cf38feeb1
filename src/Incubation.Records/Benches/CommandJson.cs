using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Events;

namespace Incubation.Records.Benches;

/// <summary>
/// Commands as JSON, written as events are: strict in both directions, each case named by the one codec in the member
/// <c>kind</c>. What is read has the shape of a command; whether it may be said is not asked here.
/// </summary>
public static class CommandJson
{
    private static readonly JsonSerializerOptions Options = Make();

    /// <summary>Every command by its name.</summary>
    public static IReadOnlyDictionary<string, Type> Kinds => CasesOf(typeof(BenchCommand));

    /// <summary>A command with who says it, as one object.</summary>
    public static string Write(CommandEnvelope envelope) => JsonSerializer.Serialize(envelope, Options);

    /// <summary>A command alone.</summary>
    public static string Write(BenchCommand command) => JsonSerializer.Serialize(command, Options);

    /// <summary>The command in a text.</summary>
    /// <exception cref="JsonException">It is none.</exception>
    public static CommandEnvelope Read(string json)
    {
        try
        {
            return JsonSerializer.Deserialize<CommandEnvelope>(json, Options) ?? throw new JsonException("null");
        }
        catch (NotSupportedException unknown)
        {
            throw new JsonException(unknown.Message, unknown);
        }
    }

    private static JsonSerializerOptions Make()
    {
        var options = new JsonSerializerOptions(EventJson.Options)
        {
            TypeInfoResolver =
                new DefaultJsonTypeInfoResolver
                {
                    Modifiers = { Unions.Describe, EventJson.LeaveVersionsOut, EventJson.NameAsOnDisk,
                    DescribeCommands }
                },
        };
        options.MakeReadOnly();
        return options;
    }

    private static void DescribeCommands(JsonTypeInfo info)
    {
        if (info.Type != typeof(BenchCommand) && info.Type != typeof(ShownResult))
            return;
        info.PolymorphismOptions = new JsonPolymorphismOptions
        {
            TypeDiscriminatorPropertyName = "kind",
            UnknownDerivedTypeHandling = JsonUnknownDerivedTypeHandling.FailSerialization,
            IgnoreUnrecognizedTypeDiscriminators = false,
        };
        foreach (var (name, type) in CasesOf(info.Type))
            info.PolymorphismOptions.DerivedTypes.Add(new JsonDerivedType(type, name));
    }

    private static SortedDictionary<string, Type> CasesOf(Type union) => new(
        union.GetNestedTypes().Where(type => !type.IsAbstract && type.IsSubclassOf(union))
            .ToDictionary(NameOf),
        StringComparer.Ordinal);

    /// <summary>A command's name in JSON: its type's, where the name agreed first is not another.</summary>
    private static string NameOf(Type type) =>
        type == typeof(BenchCommand.KeepCheckpoint) ? "keep-standing" : KebabCase.Of(type.Name);
}
