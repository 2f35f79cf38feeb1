using System.Text.Json;
using Incubation.Service.Commands;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Hostile;

/// <summary>
/// The flat form of commands, by its own members: a member that is added stands here without anybody's doing.
/// </summary>
internal static class FlatForm
{
    /// <summary>What a command may be called; a test holds them against the closed union of commands.</summary>
    public static IReadOnlyList<string> Kinds { get; } =
    [
        "mixed", "loaded", "read-started", "cleared", "card-changed", "card-seen", "discarded", "temperature",
        "not-begun", "result", "release-result", "amend-result", "critical-told", "need-not-tell",
        "confirm-amendment", "decline-amendment",
        "reject-specimen", "confirm-ready",
        "start-batch", "close-batch", "withdraw", "repeat", "ready", "acknowledge", "settle", "undo", "correct",
        "answer", "out-of-use", "in-use", "hands", "pause-intake", "resume-intake", "incubator", "carry-over",
        "give-up", "revoke-fate", "several", "make-urgent", "make-routine", "due", "comment",
    ];

    /// <summary>Every member, as JSON names it, with what it holds.</summary>
    public static IReadOnlyList<(string Name, MemberKind Kind)> Members { get; } =
    [
        .. typeof(ScreenCommand).GetConstructors()[0].GetParameters().Select(parameter =>
            (JsonNamingPolicy.CamelCase.ConvertName(parameter.Name!),
                KindOf(parameter.Name!, parameter.ParameterType))),
    ];

    /// <summary>How the server reads JSON over HTTP.</summary>
    public static JsonSerializerOptions Json { get; } = new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        UnmappedMemberHandling = System.Text.Json.Serialization.JsonUnmappedMemberHandling.Disallow,
    }.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb);

    private static MemberKind KindOf(string name, Type type)
    {
        var bare = Nullable.GetUnderlyingType(type) ?? type;
        return name is "At" or "Then" ? MemberKind.Time
            : bare == typeof(string) ? MemberKind.Text
            : bare == typeof(bool) ? MemberKind.Truth
            : bare == typeof(int) || bare == typeof(double) ? MemberKind.Number
            : MemberKind.List;
    }
}
