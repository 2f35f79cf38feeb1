using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Reports;

/// <summary>The reports of a period.</summary>
/// <param name="Search">What was asked for, as it was understood.</param>
/// <param name="Period">The period.</param>
/// <param name="Faults">What is wrong with what was asked for.</param>
/// <param name="Nothing">Why there is nothing to show, in sentences; null where there is.</param>
/// <param name="Record">The days that the record holds; null where it is empty.</param>
/// <param name="Day">The day that is held against the others, or null.</param>
/// <param name="Sections">The reports in their order.</param>
public sealed record ReportBundle(
    ReportSearch Search, ReportPeriod Period, ReportFaults Faults, string? Nothing, ReportPeriod? Record,
        LocalDate? Day, IReadOnlyList<ReportSection> Sections);

/// <summary>Makes reports.</summary>
public sealed class ReportService(ReportProjection book, CartridgeProjection record, ClinicHost clinic,
    BenchClock clock)
{
    /// <summary>A period where none is named: so many days up to the last on record.</summary>
    private const int UsualDays = 28;

    /// <summary>So many batches of a day are told again for what else happened in them.</summary>
    private const int MaxTold = 12;

    /// <summary>Makes the reports that an address asks for.</summary>
    public ReportBundle Make(Actor? actor, ReportSearch search)
    {
        ArgumentNullException.ThrowIfNull(search);
        var zone = clinic.Facts.Zone;
        // Whoever belongs to one bench sees that one.
        search = search with { Bench = actor?.Bench?.Value ?? search.Bench };
        var bench = ReportPeriod.BenchOf(search.Bench);
        var onRecord = book.Span(bench) is var (first, last)
            ? new ReportPeriod(first.InZone(zone).Date, last.InZone(zone).Date) : null;
        var (period, day, faults) = Read(search, onRecord, zone);
        search = search with { From = Say.Day(period.From), To = Say.Day(period.To) };
        ReportBundle Bundle(string? nothing, LocalDate? shown, IReadOnlyList<ReportSection> sections) =>
            new(search, period, faults, nothing, onRecord, shown, sections);
        if (faults.Any)
            return Bundle(null, day, []);
        var scope = new ReportScope(period.Start(zone), period.End(zone), bench, ReportPeriod.AssayOf(search.Assay));
        var count = book.Count(scope);
        if (count == 0)
            return Bundle(onRecord is null
                ? ReportsWords.EmptyAll : Say.Of(ReportsWords.Empty, Say.Day(period.From), Say.Day(period.To)) + " "
                + ReportsWords.EmptyFit, day, []);
        if (count > ReportProjection.MaxCartridges)
            return Bundle(Say.Of(ReportsWords.TooMany, Say.Day(period.From), Say.Day(period.To), count,
                ReportProjection.MaxCartridges), day, []);
        var cartridges = book.Cartridges(scope);
        var batches = book.Batches(scope);
        List<CartridgeTimes> patients = [.. cartridges.Where(one => one.Kind == RequestKind.Patient)];
        day ??= period.Days == 1 ? period.From : DaySections.Longest(patients, zone);
        return Bundle(null, day,
            [.. day is { } one ? OfDay(patients, one, period, scope, zone, search.Day is null && period.Days > 1) : [],
                .. Sections(cartridges, patients, batches, period, zone)]);
    }

    /// <summary>The days, and what is wrong with what was typed.</summary>
    private (ReportPeriod Period, LocalDate? Day, ReportFaults Faults) Read(ReportSearch search,
        ReportPeriod? onRecord, DateTimeZone zone)
    {
        var (from, fromFault) = ReportPeriod.Read(search.From);
        var (to, toFault) = ReportPeriod.Read(search.To);
        var (day, dayFault) = ReportPeriod.Read(search.Day);
        var until = to ?? onRecord?.To ?? clock.Now.InZone(zone).Date;
        if (from is { } begin && to is null && begin > until)
            until = begin;
        var period = new ReportPeriod(from ?? until.PlusDays(1 - UsualDays), until);
        if (period.From > period.To)
        {
            toFault ??= RecordWords.FindOrderFault;
            period = new ReportPeriod(period.To, period.To);
        }

        if (day < period.From || day > period.To)
            dayFault ??= Say.Of(ReportsWords.FaultDayOutside, Say.Day(day.Value), Say.Day(period.From),
                Say.Day(period.To));
        var benchFault = string.IsNullOrEmpty(search.Bench) || clinic.Catalogue.Benches()
            .Any(known => known.Bench.Value == search.Bench) ? null : Say.Of(ReportsWords.FaultBench, search.Bench);
        var assayFault = string.IsNullOrEmpty(search.Assay)
            || clinic.Catalogue.Assays().Any(known => known.Assay.Code.Value == search.Assay)
            ? null : Say.Of(ReportsWords.FaultAssay, search.Assay);
        return (period, day, new ReportFaults(fromFault, toFault, benchFault, assayFault, dayFault));
    }

    private IEnumerable<ReportSection> Sections(
        IReadOnlyList<CartridgeTimes> cartridges, List<CartridgeTimes> patients, IReadOnlyList<BatchUse> batches,
            ReportPeriod period, DateTimeZone zone)
    {
        var stretch = Wasted.StretchFor(Math.Min(period.Days, DaysOf(cartridges, zone)));
        var names = clinic.Catalogue.Assays().ToDictionary(known => known.Assay.Code.Value, known => known.Assay.Name);
        var benches = BenchNames();
        return
        [
            TimeSections.Steps(patients),
            TimeSections.Hours(patients, zone),
            TimeSections.Priorities(patients),
            TimeSections.By("time-by-assay", ReportsWords.AssaysTitle,
                new ReportColumn(ReportsWords.Assay, "assay", false), patients, one =>
                names.GetValueOrDefault(one.Assay.Value, one.Assay.Value)),
            TimeSections.By("time-by-lot", ReportsWords.LotsTitle, new ReportColumn(ReportsWords.ColLot, "lot", false),
                patients, one => one.Lot.Value),
            TimeSections.By("time-by-bench", ReportsWords.BenchesTitle,
                new ReportColumn(ReportsWords.Bench, "bench", false), patients, one => NameOf(benches, one.Bench)),
            CountSections.Reasons(cartridges),
            CountSections.Over(cartridges, stretch, zone),
            CountSections.Requests(cartridges, stretch, zone),
            BenchSections.Use(batches, bench => NameOf(benches, bench)),
            BenchSections.Windows(cartridges),
            BenchSections.Spare(cartridges),
            BenchSections.Planned(cartridges, batches),
        ];
    }

    /// <summary>
    /// How many days lie between the first and the last cartridge: a range of thirty years may hold a month.
    /// </summary>
    private static int DaysOf(IReadOnlyList<CartridgeTimes> cartridges, DateTimeZone zone) =>
        Period.DaysBetween(cartridges[0].Asked.InZone(zone).Date, cartridges[^1].Asked.InZone(zone).Date) + 1;

    private IEnumerable<ReportSection> OfDay(List<CartridgeTimes> patients, LocalDate day, ReportPeriod period,
        ReportScope scope, DateTimeZone zone, bool isPicked)
    {
        // One day alone is held against the days before it.
        var all = period.Days > 1
            ? patients
            : [.. book.Cartridges(scope with { From = day.PlusDays(-UsualDays).AtStartOfDayInZone(zone).ToInstant() })
                .Where(one => one.Kind == RequestKind.Patient)];
        var compared = DayAgainstUsual.Of(all, day, zone);
        var text = Say.Of(period.Days > 1 ? ReportsWords.DayText : ReportsWords.DayTextBefore, compared.OtherDays);
        return DaySections.Of(compared, day, isPicked ? text + " " + ReportsWords.DayPicked : text)
            .Append(Happened(day, scope, zone));
    }

    private ReportSection Happened(LocalDate day, ReportScope scope, DateTimeZone zone)
    {
        var (from, to) = (day.AtStartOfDayInZone(zone).ToInstant(), day.PlusDays(1).AtStartOfDayInZone(zone)
            .ToInstant());
        var benches = BenchNames();
        var rows = new List<(Instant At, object?[] Row)>();
        foreach (var use in book.Batches(scope with { From = from, To = to }).Take(MaxTold))
        {
            if (record.Batch(use.Bench, use.Batch) is not { } batch)
                continue;
            var words = HappeningText.Of(batch, zone, clinic.Log.People);
            rows.AddRange(batch.Happenings.Where(entry => entry.Provenance.At >= from && entry.Provenance.At < to
                && Explains(entry.Event))
                .Select(entry =>
                    (entry.Provenance.At,
                        new object?[] { Say.Clock(entry.Provenance.At, zone), NameOf(benches, use.Bench),
                            words(entry) })));
        }

        rows.Sort((one, other) => one.At.CompareTo(other.At));
        return new ReportSection(
            "day-happened", ReportsWords.HappenedTitle, rows.Count == 0
                ? ReportsWords.HappenedNone
                : Say.Counted(rows.Count, ReportsWords.HappenedOne, ReportsWords.HappenedMany),
                ReportsWords.HappenedText, null,
            new ReportTable(
                [new ReportColumn(ReportsWords.ColAt, "at", false),
                    new ReportColumn(ReportsWords.Bench, "bench", false),
                    new ReportColumn(ReportsWords.ColWhat, "what", false)],
                [.. rows.Select(row => row.Row)]));
    }

    /// <summary>Whether something that happened may explain why people waited.</summary>
    private static bool Explains(BenchEvent happened) => happened is BenchEvent.PutOutOfUse or BenchEvent.PutBackInUse
        or BenchEvent.HandsChanged or BenchEvent.IntakePaused or BenchEvent.IntakeResumed
        or BenchEvent.TemperatureMeasured { Outside: true } or BenchEvent.CardDoubted or BenchEvent.Restarted
        or BenchEvent.LotGateSet or BenchEvent.ReadyChanged or BenchEvent.PriorityChanged
        or BenchEvent.DueChanged
        or BenchEvent.SpecimenRejected or BenchEvent.ClockDoubted
        or BenchEvent.PlanningNoted { Works: false };

    private Dictionary<BenchId, string> BenchNames() => clinic.Catalogue.Benches()
        .ToDictionary(known => known.Bench, known => known.Name);

    private static string NameOf(Dictionary<BenchId, string> names, BenchId bench) =>
        names.GetValueOrDefault(bench, bench.Value);
}
