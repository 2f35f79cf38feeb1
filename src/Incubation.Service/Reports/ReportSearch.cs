using Incubation.Model;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Reports;

/// <summary>What stands in the address of the reports' page, as a person typed it.</summary>
/// <param name="From">The first day.</param>
/// <param name="To">The last day.</param>
/// <param name="Bench">The bench.</param>
/// <param name="Assay">The assay.</param>
/// <param name="Day">The day that is held against the others.</param>
public sealed record ReportSearch(string? From = null, string? To = null, string? Bench = null, string? Assay = null,
    string? Day = null)
{
    /// <summary>The same in an address: "from=…&amp;to=…".</summary>
    public string Query =>
        string.Join('&', new[] { ("from", From), ("to", To), ("bench", Bench), ("assay", Assay), ("day", Day) }
        .Where(part => !string.IsNullOrEmpty(part.Item2))
        .Select(part => $"{part.Item1}={Uri.EscapeDataString(part.Item2!)}"));

    /// <summary>The address of the page.</summary>
    public string Address => "reports?" + Query;

    /// <summary>The same from a day to another.</summary>
    public ReportSearch Between(LocalDate from, LocalDate to) =>
        this with { From = Say.Day(from), To = Say.Day(to), Day = null };
}

/// <summary>What is wrong with an address, field by field; null where nothing is.</summary>
public sealed record ReportFaults(string? From = null, string? To = null, string? Bench = null, string? Assay = null,
    string? Day = null)
{
    /// <summary>Whether anything is wrong.</summary>
    public bool Any => (From ?? To ?? Bench ?? Assay ?? Day) is not null;
}

/// <summary>The period of a report: whole days in the clinic's zone.</summary>
/// <param name="From">The first day.</param>
/// <param name="To">The last day.</param>
public sealed record ReportPeriod(LocalDate From, LocalDate To)
{
    /// <summary>Days in it.</summary>
    public int Days => Period.DaysBetween(From, To) + 1;

    /// <summary>When it begins.</summary>
    public Instant Start(DateTimeZone zone) => From.AtStartOfDayInZone(zone).ToInstant();

    /// <summary>When it is over.</summary>
    public Instant End(DateTimeZone zone) => To.PlusDays(1).AtStartOfDayInZone(zone).ToInstant();

    /// <summary>Whether it is one whole month.</summary>
    public bool IsMonth => From.Day == 1 && To == From.PlusMonths(1).PlusDays(-1);

    /// <summary>The one of the same length before or after it: a month is followed by a month.</summary>
    public ReportPeriod Shifted(int by) => IsMonth
        ? new ReportPeriod(From.PlusMonths(by), From.PlusMonths(by + 1).PlusDays(-1))
        : new ReportPeriod(From.PlusDays(by * Days), To.PlusDays(by * Days));

    /// <summary>As people read it.</summary>
    public string InWords => From == To ? Say.Day(From) : Say.Of(ReportsWords.PeriodOf, Say.Day(From), Say.Day(To));

    /// <summary>Reads a day; a sentence where it cannot be understood.</summary>
    public static (LocalDate? Day, string? Fault) Read(string? text)
    {
        if (string.IsNullOrWhiteSpace(text))
            return (null, null);
        var read = LocalDatePattern.Iso.Parse(text.Trim());
        // The data file holds the years 1678 to 2261.
        return read.Success && read.Value.Year is > 1678 and < 2261
            ? (read.Value, null) : (null, Say.Of(RecordWords.FindDateFault, text));
    }

    /// <summary>A bench as an address names it; null for none.</summary>
    public static BenchId? BenchOf(string? text) => TextId.IsValid(text) ? new BenchId(text!) : null;

    /// <summary>An assay as an address names it; null for none.</summary>
    public static AssayCode? AssayOf(string? text) => TextId.IsValid(text) ? new AssayCode(text!) : null;
}
