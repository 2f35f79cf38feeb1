using Incubation.Model.Terms;
using NodaTime;

namespace Incubation.Exchange.Gs1;

/// <summary>One field of a GS1 code.</summary>
/// <param name="Identifier">Its application identifier, two to four digits: "10".</param>
/// <param name="Value">Its value: "ABC123".</param>
public sealed record Gs1Element(string Identifier, string Value);

/// <summary>A day as a GS1 code states it.</summary>
/// <param name="Day">The day; where none was stated, the last of the month.</param>
/// <param name="IsDayUnstated">Whether the code has day 00, which healthcare items must not have since 2025: to be
/// compared with the box.</param>
public sealed record Gs1Day(LocalDate Day, bool IsDayUnstated);

/// <summary>What a GS1 code says: fields that are known, have their form, and do not contradict each other.</summary>
/// <param name="Elements">The fields, in the code's order; at least one.</param>
/// <param name="CurrentYear">The year that the century of its dates is worked out from.</param>
public sealed record Gs1Scan(IReadOnlyList<Gs1Element> Elements, int CurrentYear)
{
    /// <summary>Item number (01), or of the items contained (02); null where none is stated.</summary>
    public Gtin? Item => (Find("01") ?? Find("02")) is { } value ? new Gtin(value) : null;

    /// <summary>Lot or batch (10), or null.</summary>
    public string? Lot => Find("10");

    /// <summary>Serial number (21), or null.</summary>
    public string? Serial => Find("21");

    /// <summary>Expiry (17): the last day of use; or null.</summary>
    public Gs1Day? Expiry => DayOf("17");

    /// <summary>Production date (11), or null.</summary>
    public Gs1Day? Produced => DayOf("11");

    /// <summary>How many (30, or 37 of the items contained), or null.</summary>
    public int? Count => (Find("30") ?? Find("37")) is { } value
        ? int.Parse(value, System.Globalization.CultureInfo.InvariantCulture) : null;

    /// <summary>A field's value, or null.</summary>
    public string? Find(string identifier) =>
        Elements.FirstOrDefault(element => element.Identifier == identifier)?.Value;

    private Gs1Day? DayOf(string identifier) => Find(identifier) is { } value
        ? Gs1Dates.Read(value, CurrentYear) : null;
}

/// <summary>
/// What reading a code gave: what it says, or what is wrong with it, in a sentence; never both, never neither.
/// </summary>
/// <param name="Scan">What it says, or null.</param>
/// <param name="Fault">What is wrong, where, and what to do; or null.</param>
public sealed record Gs1Reading(Gs1Scan? Scan, string? Fault);
