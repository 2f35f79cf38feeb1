using System.Text.Json.Serialization;
using NodaTime;

namespace Incubation.Service.Snapshots;

/// <summary>What can be true of a cartridge, and is told with a press or two. Its words are the page's.</summary>
/// <param name="Request">Whose cartridge.</param>
/// <param name="Slot">The slot in which it is believed to lie, or null.</param>
/// <param name="Reader">The reader in which it is believed to lie, or null.</param>
/// <param name="Can">What can be true of it, the likeliest first.</param>
public sealed record TellingsSnapshot(
    string Request, int? Slot, int? Reader, IReadOnlyList<TellingSnapshot> Can);

/// <summary>One thing that can be true of a cartridge; what does not apply is left out.</summary>
/// <param name="What">"mixed", "loaded", "read-started", "cleared", "elsewhere", "other-time", "fell", "thrown-away",
/// "gone", "not-mixed", "still-mixed", "still-here" or "not-thrown-away".</param>
/// <param name="Slots">The slots of which one is named, the likeliest first.</param>
/// <param name="Readers">The readers of which one is named, the likeliest first.</param>
/// <param name="Earliest">The earliest that it can have been, where it takes a time.</param>
/// <param name="NotSo">A report of a step that was never done: it is sent first, as "correct" with the answer
/// "mistake".</param>
/// <param name="Of">The report that is corrected.</param>
/// <param name="LiesIn">The slot in which it lies once that is said: no place is corrected there.</param>
/// <param name="Hands">The hands that have not begun.</param>
/// <param name="Question">The question that is answered with "not-begun".</param>
/// <param name="Reason">The reason to discard it with.</param>
/// <param name="MixedBefore">For a load: a mix is reported first, so many seconds before it.</param>
/// <param name="InTimeFrom">For a read: from here on somebody must say that it was started in time.</param>
public sealed record TellingSnapshot(
    string What,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] IReadOnlyList<int>? Slots = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] IReadOnlyList<int>? Readers = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] Instant? Earliest = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? NotSo = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Of = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] int? LiesIn = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] int? Hands = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Question = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] string? Reason = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] double? MixedBefore = null,
    [property: JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)] Instant? InTimeFrom = null);
