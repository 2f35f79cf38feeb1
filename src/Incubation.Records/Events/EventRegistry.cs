using System.Collections.Frozen;
using System.Text.Json;
using System.Text.Json.Nodes;
using Incubation.Records.Log;

namespace Incubation.Records.Events;

/// <summary>An event as the log keeps it.</summary>
/// <param name="Type">Stable name of its type.</param>
/// <param name="Version">Version of its form.</param>
/// <param name="Json">The payload.</param>
internal sealed record EncodedEvent(string Type, int Version, string Json);

/// <summary>The name and version under which events of a class are written.</summary>
/// <param name="Name">Stable name; never used again for anything else.</param>
/// <param name="Version">Version of the form that is written today, from 1.</param>
/// <param name="Type">The class.</param>
internal sealed record EventForm(string Name, int Version, Type Type);

/// <summary>Leads a payload from one version of its form to the next.</summary>
/// <param name="Name">Name of the event's type.</param>
/// <param name="From">The version that it reads; it gives the next.</param>
/// <param name="Lift">Changes the payload. It reads nothing but the payload, so that a replay is the same for
/// ever.</param>
internal sealed record Upcaster(string Name, int From, Func<JsonObject, JsonObject> Lift);

/// <summary>
/// Which events a family has, under which names they are written, and how old forms become present ones. Rules for
/// changing an event stand in the room's README.
/// </summary>
internal sealed class EventRegistry<TEvent>
    where TEvent : class
{
    private readonly FrozenDictionary<Type, EventForm> byType;
    private readonly FrozenDictionary<string, EventForm> byName;
    private readonly FrozenDictionary<(string Name, int From), Upcaster> upcasters;

    /// <summary>
    /// Throws <see cref="ArgumentException"/> for a name or class twice, or an upcaster that leads nowhere.
    /// </summary>
    public EventRegistry(IReadOnlyList<EventForm> forms, IReadOnlyList<Upcaster> upcasters)
    {
        byType = forms.ToDictionary(form => form.Type).ToFrozenDictionary();
        byName = forms.ToDictionary(form => form.Name).ToFrozenDictionary();
        this.upcasters = upcasters.ToDictionary(upcaster => (upcaster.Name, upcaster.From)).ToFrozenDictionary();
        foreach (var upcaster in upcasters)
            if (!byName.TryGetValue(upcaster.Name, out var form) || upcaster.From < 1 || upcaster.From >= form.Version)
                throw new ArgumentException(
                    $"The upcaster of '{upcaster.Name}' from version {upcaster.From} leads to no event.",
                    nameof(upcasters));
    }

    /// <summary>The forms written today.</summary>
    public IReadOnlyCollection<EventForm> Forms => byName.Values;

    /// <summary>
    /// The form under which events of a class are written. Throws <see cref="KeyNotFoundException"/> for a class
    /// without one.
    /// </summary>
    public EventForm FormOf<T>()
        where T : TEvent => byType[typeof(T)];

    /// <summary>
    /// The event as the log keeps it. Reads it back before anything is written: an event that could be written and not
    /// read would stop the bench at its next start. Throws <see cref="ArgumentException"/> for a class without a form.
    /// </summary>
    public EncodedEvent Encode(TEvent @event)
    {
        if (!byType.TryGetValue(@event.GetType(), out var form))
            throw new ArgumentException($"{@event.GetType()} has no name in the log.", nameof(@event));
        var json = JsonSerializer.Serialize(@event, form.Type, EventJson.Options);
        _ = JsonSerializer.Deserialize(json, form.Type, EventJson.Options);
        return new EncodedEvent(form.Name, form.Version, json);
    }

    /// <summary>
    /// The event in a row. Throws <see cref="UnreadableEventException"/> where this program cannot understand it.
    /// </summary>
    public TEvent Decode(LogRow row)
    {
        var header = row.Header;
        if (row.Payload is null)
            throw new LogBrokenException(header.Stream.ToString(), header.Sequence, LogDifference.PayloadMissing);
        if (!byName.TryGetValue(header.EventType, out var form))
            throw new UnreadableEventException(header, UnreadableEvent.UnknownType);
        if (header.SchemaVersion > form.Version)
            throw new UnreadableEventException(header, UnreadableEvent.NewerVersion);
        try
        {
            var decoded = header.SchemaVersion == form.Version
                ? JsonSerializer.Deserialize(row.Payload!, form.Type, EventJson.Options)
                : Lift(row, form).Deserialize(form.Type, EventJson.Options);
            return (TEvent?)decoded ?? throw new JsonException("null");
        }
        catch (Exception e) when (e is JsonException or NotSupportedException or InvalidOperationException)
        {
            throw new UnreadableEventException(header, UnreadableEvent.OtherForm, e);
        }
    }

    private JsonObject Lift(LogRow row, EventForm form)
    {
        var payload = JsonNode.Parse(row.Payload!)?.AsObject() ?? throw new JsonException("null");
        for (var version = row.Header.SchemaVersion; version < form.Version; version++)
        {
            if (!upcasters.TryGetValue((form.Name, version), out var upcaster))
                throw new UnreadableEventException(row.Header, UnreadableEvent.NoUpcaster);
            payload = upcaster.Lift(payload);
        }
        return payload;
    }
}
