using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using System.Text.Json.Serialization.Metadata;
using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Clinic.Instruments;
using Incubation.Model;
using Incubation.Planning;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Records.Events;

/// <summary>
/// How payloads are written: strict in both directions, so that a payload read back is the event that was written, and
/// one that does not fit is found at once. Names on disk are listed here and in the registries, not taken from classes.
/// </summary>
internal static class EventJson
{
    /// <summary>The options for every payload.</summary>
    public static JsonSerializerOptions Options { get; } = Make();

    private static JsonSerializerOptions Make()
    {
        var options = new JsonSerializerOptions
        {
            PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
            // Payloads are read by people and programs, never pasted into a page: letters stay letters.
            Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
            UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
            RespectNullableAnnotations = true,
            RespectRequiredConstructorParameters = true,
            // What follows from other members is computed, not stored.
            IgnoreReadOnlyProperties = true,
            // A plan without a proven bound may say "-Infinity"; a fact is not lost for a number that JSON lacks.
            NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals,
            TypeInfoResolver =
                new DefaultJsonTypeInfoResolver
                {
                    Modifiers = { Unions.Describe, LeaveComputedOutOfEvents,
                    LeaveVersionsOut, NameAsOnDisk }
                },
        };
        options.Converters.Add(new InstantConverter());
        options.Converters.Add(NodaConverters.LocalDateConverter);
        options.Converters.Add(new IsoDurationConverter());
        options.Converters.Add(new InstantRangeConverter());
        options.Converters.Add(new IdConverterFactory());
        options.Converters.Add(new WrittenAs<CalendarEntry, CalendarEntryForm>(CalendarEntryForm.Of,
            form => form.Read()));
        options.Converters.Add(new WrittenAs<BenchEvent.PutBackInUse, ResourceForm>(ResourceForm.Of,
            form => form.Read()));
        options.Converters.Add(new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower, allowIntegerValues: false));
        options.MakeReadOnly();
        return options;
    }

    /// <summary>
    /// The serialiser's option for what is computed leaves no lists out; an event has none but those that it was made
    /// with.
    /// </summary>
    private static void LeaveComputedOutOfEvents(JsonTypeInfo info)
    {
        if (info.Type.IsSubclassOf(typeof(BenchEvent)))
            LeaveComputedOut(info);
    }

    /// <summary>An assay's version stands beside the assay and the request, once.</summary>
    internal static void LeaveVersionsOut(JsonTypeInfo info)
    {
        var version = info.Type == typeof(Assay) ? nameof(Assay.Version) : info.Type == typeof(Request)
            ? nameof(Request.AssayVersion) : null;
        foreach (var left in info.Properties.Where(property => version is not null
            && Options.PropertyNamingPolicy!.ConvertName(version) == property.Name).ToList())
            info.Properties.Remove(left);
    }

    /// <summary>Members whose name on disk is another than in the code: a kept checkpoint is a standing.</summary>
    internal static void NameAsOnDisk(JsonTypeInfo info)
    {
        if (info.Type != typeof(BenchEvent.CheckpointKept) && info.Type != typeof(BenchCommand.KeepCheckpoint))
            return;
        var name = Options.PropertyNamingPolicy!.ConvertName(nameof(BenchEvent.CheckpointKept.Checkpoint));
        info.Properties.Single(property => property.Name == name).Name = "standing";
    }

    /// <summary>Leaves out what follows from other members.</summary>
    internal static void LeaveComputedOut(JsonTypeInfo info)
    {
        if (info.Kind != JsonTypeInfoKind.Object)
            return;
        foreach (var computed in info.Properties.Where(property => property.Set is null
            && property.AssociatedParameter is null).ToList())
            info.Properties.Remove(computed);
    }
}

/// <summary>The closed unions inside events, with the name of each case on disk: the member <c>kind</c>.</summary>
internal static class Unions
{
    /// <summary>Union, then its cases by name.</summary>
    public static IReadOnlyDictionary<Type, IReadOnlyDictionary<string, Type>> All { get; } =
        new Dictionary<Type, IReadOnlyDictionary<string, Type>>
        {
            [typeof(StepAction)] = new Dictionary<string, Type>
            {
                ["mix"] = typeof(StepAction.Mix),
                ["load"] = typeof(StepAction.Load),
                ["move"] = typeof(StepAction.Move),
                ["read"] = typeof(StepAction.Read),
                ["clear"] = typeof(StepAction.Clear),
                ["discard"] = typeof(StepAction.Discard),
                ["card-change"] = typeof(StepAction.CardChange),
            },
            [typeof(RequestFate)] = new Dictionary<string, Type>
            {
                ["repeated"] = typeof(RequestFate.Repeated),
                ["carried-over"] = typeof(RequestFate.CarriedOver),
                ["given-up"] = typeof(RequestFate.GivenUp),
            },
            [typeof(CartridgePlace)] = new Dictionary<string, Type>
            {
                ["in-slot"] = typeof(CartridgePlace.InSlot),
                ["in-reader"] = typeof(CartridgePlace.InReader),
            },
            [typeof(BenchResource)] = new Dictionary<string, Type>
            {
                ["hands"] = typeof(BenchResource.Hands),
                ["slot"] = typeof(BenchResource.Slot),
                ["reader"] = typeof(BenchResource.Reader),
                ["incubator"] = typeof(BenchResource.Incubator),
            },
            [typeof(CartridgePhase)] = new Dictionary<string, Type>
            {
                ["mixed"] = typeof(CartridgePhase.Mixed),
                ["reacting"] = typeof(CartridgePhase.Reacting),
                ["reading"] = typeof(CartridgePhase.Reading),
                ["read"] = typeof(CartridgePhase.Read),
            },
            [typeof(LeftOutReason)] = new Dictionary<string, Type>
            {
                ["window-empty"] = typeof(LeftOutReason.WindowEmpty),
                ["mixture-empty"] = typeof(LeftOutReason.MixtureEmpty),
                ["move-too-long"] = typeof(LeftOutReason.MoveTooLong),
                ["no-slots"] = typeof(LeftOutReason.NoSlots),
                ["load-by-too-early"] = typeof(LeftOutReason.LoadByTooEarly),
                ["load-by-crowded"] = typeof(LeftOutReason.LoadByCrowded),
                ["predecessor-unplaced"] = typeof(LeftOutReason.PredecessorUnplaced),
                ["window-closed"] = typeof(LeftOutReason.WindowClosed),
                ["crowded"] = typeof(LeftOutReason.Crowded),
                ["mixture-old"] = typeof(LeftOutReason.MixtureOld),
                ["load-crowded"] = typeof(LeftOutReason.LoadCrowded),
                ["must-discard"] = typeof(LeftOutReason.MustDiscard),
                ["being-discarded"] = typeof(LeftOutReason.BeingDiscarded),
                ["in-words"] = typeof(LeftOutReason.InWords),
            },
            [typeof(ReadResult)] = new Dictionary<string, Type>
            {
                ["measured"] = typeof(ReadResult.Measured),
                ["no-value"] = typeof(ReadResult.NoValue),
            },
            [typeof(WireTransport)] = new Dictionary<string, Type>
            {
                ["tcp"] = typeof(WireTransport.Tcp),
                ["serial"] = typeof(WireTransport.Serial),
            },
            [typeof(DestinationWay)] = new Dictionary<string, Type>
            {
                ["webhook"] = typeof(DestinationWay.Webhook),
            },
        };

    /// <summary>Tells the serialiser about the cases of a union.</summary>
    public static void Describe(JsonTypeInfo info)
    {
        if (!All.TryGetValue(info.Type, out var cases))
            return;
        info.PolymorphismOptions = new JsonPolymorphismOptions
        {
            TypeDiscriminatorPropertyName = "kind",
            UnknownDerivedTypeHandling = JsonUnknownDerivedTypeHandling.FailSerialization,
            IgnoreUnrecognizedTypeDiscriminators = false,
        };
        foreach (var (name, type) in cases)
            info.PolymorphismOptions.DerivedTypes.Add(new JsonDerivedType(type, name));
    }
}
