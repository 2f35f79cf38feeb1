using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Clinic;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Settings;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Demo;

/// <summary>
/// Seeds an empty data file with an invented clinic and its morning, moved so that the day begins now. Every step looks
/// at what is there already, so that a start that was cut short is completed by the next one.
/// </summary>
public sealed class DemoDay(ClinicHost clinic, BenchRegistry benches, Intake intake, BenchClock clock, DataFile file)
{
    /// <summary>Stands in the log for what the demo does by itself.</summary>
    public static readonly PersonId Person = new("demo");

    /// <summary>Approves what the demo writes by itself.</summary>
    private static readonly PersonId Second = new("demo-second");
    private static readonly DeviceId Device = new("server");

    /// <summary>Whether a data file's clinic is an invented one.</summary>
    public static bool IsIn(ClinicHost clinic) => clinic.Log.IsOpen && Begun(clinic).Person == Person;

    private static Provenance Begun(ClinicHost clinic) => clinic.Log.Entries().First().Provenance;

    /// <summary>Opens the invented clinic where there is none; says so, or that the day is continued.</summary>
    /// <param name="folder">The demo's folder.</param>
    /// <param name="withMonth">Whether a clinic that is opened now gets a past.</param>
    /// <exception cref="StartException">The demo's files cannot be understood, or the data is not a demo's.</exception>
    public void OpenClinic(string folder, bool withMonth = false)
    {
        if (clinic.Log.IsOpen && Begun(clinic) is var begun && begun.Person != Person)
            throw new StartException(DemoWords.DemoOnRealData);
        if (clinic.Catalogue.Benches().Count > 0)
        {
            Console.WriteLine(Say.Of(DemoWords.DemoContinues, Say.Clock(Begun(clinic).At, clinic.Facts.Zone)));
            return;
        }

        var demo = DemoClinic.Read(folder);
        var past = withMonth && !clinic.Log.IsOpen ? PastOf(folder, demo, clock.Now.InZone(ZoneOf(demo)).Date) : null;
        foreach (var (events, person) in CommandsOf(demo, past).Skip(Done()))
            Record(folder, events, past is null ? Provenance(person) : Provenance(person, past.Begin));
        clinic.Reread();
        Console.WriteLine(Say.Of(DemoWords.DemoBegins, demo.Clinic.Name));
    }

    /// <summary>
    /// Whether this start has given the clinic its past: its benches' last day is no day on which a server went down.
    /// </summary>
    public bool HasWrittenMonth { get; private set; }

    /// <summary>
    /// Writes the clinic's month into its log where it is to have one, and has not; then its lots of today come in.
    /// </summary>
    /// <exception cref="StartException">The demo's files cannot be understood.</exception>
    public void WriteMonth(string folder)
    {
        if (clinic.Log.Stock.Find(StockKind.Control, DemoMonth.ControlLot) is null)
            return;
        var demo = DemoClinic.Read(folder);
        var lots = LotsOf(demo, clock.Now.InZone(ZoneOf(demo)).Date).ToList();
        if (demo.Clinic.Lots.Count == 0
            || clinic.Log.Stock.Find(StockKind.Kit, new LotCode(demo.Clinic.Lots[0].Lot)) is not null)
            return;
        var past = PastOf(folder, demo, null);
        new MonthWriter(file, clinic.Log).Write(past.Month);
        Record(folder, [.. past.Month.Finished(), .. lots], Provenance(Person));
        HasWrittenMonth = true;
    }

    /// <summary>
    /// Opens the invented clinic's benches and brings their first requests, where that has not been done.
    /// </summary>
    public async Task OpenBenchesAsync(string folder, CancellationToken cancellation)
    {
        if (clinic.Catalogue.Benches()
            .All(bench => benches.Find(bench.Bench.Value)?.Present.State is { Cartridges.IsEmpty: false }))
            return;
        var demo = DemoClinic.Read(folder);
        foreach (var bench in demo.Clinic.Benches)
        {
            var day = demo.Days[bench.Id];
            var runner = benches.Find(bench.Id) ?? await benches.OpenAsync(
                new BenchCommand.OpenBench(new BenchId(bench.Id), bench.Name, day.Bench,
                    Duration.FromSeconds(bench.PromptAhead)), Provenance(Person), cancellation);
            if (day.Requests.Count > 0 && !day.Requests.Any(request => clinic.Log.Requests.Contains(request.Id)))
                await BringAsync(runner, day);
        }
    }

    private async Task BringAsync(BenchRunner runner, BenchDay day)
    {
        var now = clock.Now;
        var shift = Instant.FromUnixTimeSeconds(now.ToUnixTimeSeconds()) - day.Start;
        var outcome = await intake.AddAsync(
            runner.Id.Value, [.. day.Requests.Select(request => Shifted(request, shift))], null, Person, Device);
        if (!outcome.Taken)
            throw new StartException(Say.Of(DemoWords.DemoRequestsFault, outcome.Faults[0].Member,
                outcome.Faults[0].Sentence));
    }

    private static WantedRequest Shifted(Request request, Duration shift) => new(
        request.Specimen.Value, request.Assay.Value, request.Lot.Value, request.Id.Value,
        request.Kind == RequestKind.Control ? "control" : "patient",
        request.Priority == Priority.Urgent ? "urgent" : "routine",
        request.Ready + shift, request.Due + shift, request.LoadBy + shift, request.RepeatLeft,
        [.. request.After.Select(id => id.Value)]);

    /// <summary>How many of the commands below an earlier start has recorded.</summary>
    private int Done() => !clinic.Log.IsOpen ? 0 : clinic.Log.Assays.Drafts.IsEmpty ? 2 : 1;

    /// <summary>
    /// What opens the clinic: its assays are written by one and approved by another. A clinic with a past gets today's
    /// lots after it.
    /// </summary>
    private IEnumerable<(IReadOnlyList<ClinicEvent> Events, PersonId Person)> CommandsOf(DemoClinic demo, Past? past)
    {
        var sheets = demo.Clinic.Assays.Select(demo.SheetOf).ToList();
        yield return ([new ClinicEvent.ClinicOpened(demo.Clinic.Name, demo.Clinic.Zone),
            .. sheets.Select(sheet => new ClinicEvent.AssayDrafted(sheet, 1))], Person);
        yield return ([.. sheets.Select(sheet => new ClinicEvent.AssayApproved(sheet, 1))], Second);
        yield return (
            [
                .. past?.Month.Stock() ?? LotsOf(demo, clock.Now.InZone(ZoneOf(demo)).Date),
                .. demo.Clinic.Benches.Select(bench =>
                    new ClinicEvent.BenchRegistered(new BenchId(bench.Id), bench.Name)),
            ],
            Person);
    }

    private static IEnumerable<ClinicEvent> LotsOf(DemoClinic demo, LocalDate today) =>
        demo.Clinic.Lots.SelectMany(lot => DemoMonth.PartsOfALot.Select(kind => new ClinicEvent.StockReceived(
            kind, new LotCode(lot.Lot), new AssayCode(lot.Assay), today.PlusDays(lot.DaysLeft),
                kind == StockKind.ReaderCard ? 1 : lot.Count, null, null)));

    /// <summary>The clinic's past, and the instant with which it begins.</summary>
    private sealed record Past(DemoMonth Month, Instant Begin);

    /// <summary>The past of a clinic that is opened on a day; of one that is open, as it was begun.</summary>
    private Past PastOf(string folder, DemoClinic demo, LocalDate? today)
    {
        var (month, demand) = DemoMonthFile.Read(folder, demo);
        var zone = ZoneOf(demo);
        var first = today is { } day ? DemoMonth.FirstDay(month, day) : Begun(clinic).At.InZone(zone).Date;
        return new Past(new DemoMonth(demo, month, demand, zone, first), DemoMonth.BeginOf(first, zone));
    }

    private static DateTimeZone ZoneOf(DemoClinic demo) => DateTimeZoneProviders.Tzdb.GetZoneOrNull(demo.Clinic.Zone)
        ?? DateTimeZone.Utc;

    private void Record(string folder, IReadOnlyList<ClinicEvent> events, Provenance provenance)
    {
        if (clinic.Log.Record(events, provenance) is ClinicOutcome.Refused refused)
            throw new StartException(Say.Of(DemoWords.DemoFileFault, Path.Combine(folder, DemoClinic.FileName), "$",
                ClinicText.Say(refused)));
    }

    private Provenance Provenance(PersonId person) => Provenances.Of(person, Device, clock);

    private Provenance Provenance(PersonId person, Instant at) => Provenance(person) with { At = at, Arrived = at };
}
