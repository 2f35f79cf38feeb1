using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Snapshots;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>Writes what can be true on a bench for its screens.</summary>
public static class TellingText
{
    /// <summary>What can be true of every cartridge of a bench at an instant.</summary>
    public static IReadOnlyList<TellingsSnapshot> Write(BenchState state, Instant now) =>
        [.. Tellings.List(state, now).Select(Write)];

    private static TellingsSnapshot Write(CartridgeTellings tellings)
    {
        var (slot, reader) = StepReportText.Place(tellings.Lies);
        return new TellingsSnapshot(tellings.Request.Value, slot, reader, [.. tellings.Can.Select(Write)]);
    }

    private static TellingSnapshot Write(Telling telling) => new(
        KebabCase.Of(telling.What),
        Numbers(telling.Places.OfType<CartridgePlace.InSlot>().Select(place => place.Slot.Value)),
        Numbers(telling.Places.OfType<CartridgePlace.InReader>().Select(place => place.Reader.Value)),
        telling.Earliest, telling.NotSo?.Value, telling.Of?.Value, StepReportText.Place(telling.Lies).Slot,
        telling.Hands?.Value, null,
        telling.Reason is { } reason ? KebabCase.Of(reason) : null, telling.MixedBefore?.TotalSeconds,
        telling.InTimeFrom);

    private static IReadOnlyList<int>? Numbers(IEnumerable<int> numbers) =>
        numbers.ToList() is { Count: > 0 } some ? some : null;
}
