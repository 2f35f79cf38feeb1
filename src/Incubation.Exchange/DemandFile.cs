using Incubation.Exchange.Json;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Exchange;

/// <summary>
/// Reads demand files: what is wanted of a bench on a usual day. The README of this room describes every member.
/// </summary>
public static class DemandFile
{
    /// <summary>The most requests of one assay that a file may want in an hour.</summary>
    public const double MaxPerHour = 1000;

    private const int MaxRates = 2000;

    private static readonly LocalTimePattern TimeOfDay = LocalTimePattern.CreateWithInvariantCulture("HH:mm");

    /// <summary>
    /// Reads a demand; what cannot be understood, and what contradicts the rest, comes back as faults with their
    /// places.
    /// </summary>
    /// <param name="json">The text of the file.</param>
    /// <param name="assays">The assays that the bench runs; another is a fault.</param>
    public static ParseResult<Demand> Parse(string json, IReadOnlyCollection<AssayCode> assays)
    {
        ArgumentNullException.ThrowIfNull(json);
        ArgumentNullException.ThrowIfNull(assays);
        var faults = new FaultList();
        var demand = JsonText.Read(json, faults) is { } root ? Read(root, assays, faults) : null;
        return faults.Result(demand);
    }

    private static Demand? Read(JsonItem item, IReadOnlyCollection<AssayCode> assays, FaultList faults)
    {
        if (Members.Of(item, faults)?.Only("note", "open", "close", "urgentShare", "requests") is not { } root)
            return null;
        root.OptionalText("note", BenchLimits.NameLength);
        var open = root.Required<Duration>("open", Time);
        var close = root.Required<Duration>("close", Time);
        if (close <= open)
            faults.Add(root.At("close"), Words.CloseBeforeOpen, Words.AllowedAfterOpen);
        var urgent = root.Optional("urgentShare", Values.Real(0, 1)) ?? 0;
        var rates = root.RequiredItems("requests", MaxRates).Select(row => Rate(row, open, close, assays, faults))
            .OfType<DemandRate>().ToList();
        return faults.IsEmpty
            ? new Demand(open!.Value, close!.Value, urgent, [.. rates.Where(rate => rate.PerHour > 0)]) : null;
    }

    private static DemandRate? Rate(JsonItem item, Duration? open, Duration? close,
        IReadOnlyCollection<AssayCode> assays, FaultList faults)
    {
        if (Members.Of(item, faults)?.Only("assay", "from", "to", "perHour") is not { } row)
            return null;
        var assay = row.Required<AssayCode>("assay", Values.Id<AssayCode>);
        if (assay is { } code && !assays.Contains(code))
            faults.Add(row.At("assay"), FaultList.Text(Words.CannotBe, $"\"{code}\""),
                FaultList.Text(Words.AllowedAssay, string.Join(", ", assays)));
        var from = row.Optional<Duration>("from", Time) ?? open;
        var to = row.Optional<Duration>("to", Time) ?? close;
        var perHour = row.Required("perHour", Values.Real(0, MaxPerHour));
        if (to <= from)
            faults.Add(row.At("to"), Words.EntryReversed, Words.AllowedTimeAfterFrom);
        else if (from < open || to > close)
            faults.Add(row.At(from < open ? "from" : "to"), Words.OutsideOpenHours, Words.AllowedOpenHours);
        return assay is null || from is null || to is null || perHour is null
            ? null : new DemandRate(assay.Value, from.Value, to.Value, perHour.Value);
    }

    /// <summary>A time of day, "08:00" to "24:00".</summary>
    private static Duration? Time(JsonItem item, FaultList faults)
    {
        if (item is JsonItem.Text text && ParseTime(text.Value) is { } time)
            return time;
        faults.Add(item, FaultList.Text(Words.IsKind, item is JsonItem.Text { Value: var shown }
            ? $"\"{shown}\"" : item.KindInWords), Words.AllowedTimeOfDay);
        return null;
    }

    /// <summary>Reads a time of day, "08:00" to "24:00", as a length from midnight; null where it is none.</summary>
    public static Duration? ParseTime(string? text) =>
        text == "24:00" ? Duration.FromHours(24)
        : text is not null && TimeOfDay.Parse(text) is { Success: true, Value: var time }
        ? Duration.FromNanoseconds(time.NanosecondOfDay)
        : null;
}
