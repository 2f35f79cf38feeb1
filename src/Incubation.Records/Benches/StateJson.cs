using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Incubation.Bench;
using Incubation.Records.Events;

namespace Incubation.Records.Benches;

/// <summary>
/// How a bench's state is written in a snapshot. No form for keeping: only the build that wrote it reads it, so that
/// nothing here must be remembered. The commands recorded are left out; they stand in the log's headers.
/// </summary>
internal static class StateJson
{
    private static readonly JsonSerializerOptions Options = Make();

    public static string Write(BenchState state) => JsonSerializer.Serialize(state, Options);

    public static BenchState? Read(string json) => JsonSerializer.Deserialize<BenchState>(json, Options);

    private static JsonSerializerOptions Make()
    {
        var options = new JsonSerializerOptions(EventJson.Options)
        {
            TypeInfoResolver =
                new DefaultJsonTypeInfoResolver
                {
                    Modifiers = { Unions.Describe, EventJson.LeaveComputedOut,
                    DescribeStages, LeaveRecordedOut }
                },
        };
        options.MakeReadOnly();
        return options;
    }

    private static void DescribeStages(JsonTypeInfo info)
    {
        if (info.Type != typeof(CartridgeStage) && info.Type != typeof(BenchEvent)
            && info.Type != typeof(BenchEvent.StoryEvent))
            return;
        info.PolymorphismOptions = new JsonPolymorphismOptions
        {
            TypeDiscriminatorPropertyName = "kind",
            UnknownDerivedTypeHandling = JsonUnknownDerivedTypeHandling.FailSerialization
        };
        foreach (var type in info.Type.DeclaringOrSelf().GetNestedTypes()
            .Where(type => !type.IsAbstract && type.IsSubclassOf(info.Type)))
            info.PolymorphismOptions.DerivedTypes.Add(new JsonDerivedType(type, type.Name));
    }

    private static Type DeclaringOrSelf(this Type union) => union.DeclaringType ?? union;

    private static void LeaveRecordedOut(JsonTypeInfo info)
    {
        if (info.Type == typeof(BenchState))
            foreach (
                var recorded in info.Properties.Where(property =>
                    property.PropertyType == typeof(System.Collections.Immutable.ImmutableHashSet<Model.ReportId>))
                    .ToList())
                info.Properties.Remove(recorded);
    }
}
