using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Planning;
using Incubation.Simulation;
using Incubation.Simulation.Capacity;
using NodaTime;

namespace Incubation.Service.Demo;

/// <summary>What the clinic recorded at once.</summary>
internal sealed record ClinicCommand(IReadOnlyList<ClinicEvent> Events, Provenance Provenance);

/// <summary>One day of an invented month, as it goes into the log.</summary>
/// <param name="Date">The day.</param>
/// <param name="Commands">What the clinic recorded, in order.</param>
/// <param name="Entries">What the bench recorded, in order.</param>
internal sealed record MonthDay(LocalDate Date, IReadOnlyList<ClinicCommand> Commands,
    IReadOnlyList<BenchEntry> Entries);

/// <summary>
/// Plays an invented month at a demo's first bench: the real bench core and planner, hands that vary, requests by a
/// demand file, controls each morning, batches as they come. The same file and the same first day always give the same
/// month.
/// </summary>
internal sealed class DemoMonth
{
    /// <summary>
    /// The control material of the month; a clinic that has it has, or is to have, a month behind it.
    /// </summary>
    public static readonly LotCode ControlLot = new("DQ-K1");
    private static readonly DeviceId Tablet = new("demo-tablet");
    /// <summary>What belongs to a kit lot.</summary>
    internal static readonly StockKind[] PartsOfALot = [StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard];

    /// <summary>For each search; more gives little.</summary>
    private const long SearchIterations = 300;

    private readonly DemoClinic demo;
    private readonly DemoMonthFile month;
    private readonly Demand demand;
    private readonly DateTimeZone zone;
    private readonly IReadOnlyList<LocalDate> dates;
    private readonly Dictionary<(AssayCode, int), ControlTarget> targets = [];
    private readonly MonthHands hands;
    private readonly VirtualBench bench;
    private readonly List<ClinicCommand> commands = [];
    private int requests;
    private int told;

    /// <summary>A month that begins on a day.</summary>
    public DemoMonth(DemoClinic demo, DemoMonthFile month, Demand demand, DateTimeZone zone, LocalDate first)
    {
        (this.demo, this.month, this.demand, this.zone) = (demo, month, demand, zone);
        dates = [.. WorkingDaysFrom(first).Take(month.WorkingDays)];
        foreach (var assay in demo.Clinic.Assays)
            for (var level = 1; level <= demo.SheetOf(assay).Controls.Levels; level++)
                targets[(new AssayCode(assay.Code), level)] = TargetOf(demo.SheetOf(assay).Results, level);
        hands = new MonthHands(month, targets, Seeds.Mix(month.Seed, 0));
        bench = new VirtualBench(BeginOf(first, zone), month.Seed, hands, () => new IterationBudget(SearchIterations),
            SearchPolicy.Frugal, "month-")
        { Tablet = Tablet };
    }

    /// <summary>The day on which a month begins that ends before a day.</summary>
    public static LocalDate FirstDay(DemoMonthFile month, LocalDate today)
    {
        var day = today;
        for (var left = month.WorkingDays; left > 0;)
        {
            day = day.PlusDays(-1);
            left -= IsWorkingDay(day) ? 1 : 0;
        }

        return day;
    }

    /// <summary>When a month begins that begins on a day: early in the morning.</summary>
    public static Instant BeginOf(LocalDate first, DateTimeZone zone) => zone.AtStrictly(first + new LocalTime(6, 0))
        .ToInstant();

    /// <summary>
    /// What the clinic has before the month's first day: two lots of each kit, a control material, what controls should
    /// give.
    /// </summary>
    public IEnumerable<ClinicEvent> Stock()
    {
        foreach (var assay in demo.Clinic.Assays)
            foreach (var kind in PartsOfALot)
            {
                var count = kind == StockKind.ReaderCard ? 1 : 500;
                yield return new ClinicEvent.StockReceived(kind, LotOf(assay.Code, first: true),
                    new AssayCode(assay.Code), dates[dates.Count / 2].PlusDays(20), count, null, null);
                yield return new ClinicEvent.StockReceived(kind, LotOf(assay.Code, first: false),
                    new AssayCode(assay.Code), dates[^1].PlusDays(40), count, null, null);
            }

        yield return new ClinicEvent.StockReceived(StockKind.Control, ControlLot, null, dates[^1].PlusDays(90), 60,
            null, null);
        foreach (var ((assay, level), target) in targets)
            yield return new ClinicEvent.ControlTargetSet(assay, new ControlMaterial(ControlLot, level), target,
                TargetSource.Sheet);
    }

    /// <summary>Lots that are used up when the month is over.</summary>
    public IEnumerable<ClinicEvent> Finished() =>
        demo.Clinic.Assays.SelectMany(assay => PartsOfALot.SelectMany(kind => new ClinicEvent[]
        {
            new ClinicEvent.StockFinished(kind, LotOf(assay.Code, first: true)),
            new ClinicEvent.StockFinished(kind, LotOf(assay.Code, first: false)),
        }));

    /// <summary>The bench at which it was spent.</summary>
    public BenchId Bench => new(demo.Clinic.Benches[0].Id);

    /// <summary>How many days it has.</summary>
    public int Days => dates.Count;

    /// <summary>Plays the days, the first first.</summary>
    public IEnumerable<MonthDay> Play()
    {
        var first = demo.Clinic.Benches[0];
        bench.Say(new BenchCommand.OpenBench(new BenchId(first.Id), first.Name, demo.Days[first.Id].Bench,
            Duration.FromSeconds(first.PromptAhead)), DemoDay.Person);
        for (var number = 0; number < dates.Count; number++)
        {
            PlayDay(number);
            commands.AddRange(bench.Entries.Skip(told).Select(Received).OfType<ClinicCommand>());
            yield return new MonthDay(
                dates[number],
                    [.. commands.GroupBy(command => command.Provenance)
                        .Select(one => new ClinicCommand([.. one.SelectMany(command => command.Events)], one.Key))
                        .OrderBy(command => command.Provenance.Arrived)],
                [.. bench.Entries.Skip(told)]);
            told = bench.Entries.Count;
            commands.Clear();
        }
    }

    private void PlayDay(int number)
    {
        bench.WaitUntil(At(number, demand.Open));
        bench.Aide = new PersonId(month.MorningAide);
        Add([.. targets.Keys.Select(key =>
            Wanted(number, key.Item1, Priority.Routine, new ControlMaterial(ControlLot, key.Item2)))]);
        foreach (var arrival in ArrivalsOf(number))
        {
            PlayTo(number, At(number, arrival.At));
            Add([Wanted(number, arrival.Assay, arrival.Priority, null)]);
        }

        PlayTo(number, At(number, demand.Close) + Duration.FromHours(4));
        foreach (var left in bench.State.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting)
            .ToList())
            bench.Tell(new BenchCommand.WithdrawRequest(left.Id), bench.Aide);
        if (bench.State.Phase == BatchPhase.Running)
            Close();
    }

    private void PlayTo(int number, Instant until)
    {
        while (true)
        {
            if (bench.Now >= At(number, Duration.FromHours(12.5)))
                bench.Aide = new PersonId(month.AfternoonAide);
            if (bench.State.Phase == BatchPhase.Running)
            {
                if (bench.PlayUntil(until))
                    return;
                var closes = bench.Now + Duration.FromSeconds(40);
                if (closes > until || bench.State.Cartridges.Any(cartridge => !cartridge.IsOver))
                {
                    bench.WaitUntil(until);
                    return;
                }

                bench.WaitUntil(closes);
                Close();
            }
            else if (StartsAt() is { } starts && starts <= until)
            {
                bench.WaitUntil(starts);
                Start();
            }
            else
            {
                bench.WaitUntil(until);
                return;
            }
        }
    }

    /// <summary>When the next batch begins: when enough wait, or somebody has waited long enough.</summary>
    private Instant? StartsAt()
    {
        var waiting = bench.State.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting)
            .Select(cartridge => cartridge.Wanted.Request).ToList();
        if (waiting.Count == 0)
            return null;
        return waiting.Count >= month.BatchOf || waiting.Exists(request => request.Priority == Priority.Urgent)
            ? bench.Now
            : Instant.Max(bench.Now, waiting.Min(request => request.Ready) + Duration.FromMinutes(month.WaitAtMost));
    }

    private void Start()
    {
        foreach (var item in Readiness.List(bench.State, bench.Now).Where(item => item.From is null))
            bench.Say(item.Key == ReadinessKey.Incubator
                ? new BenchCommand.TemperatureMeasured(Readiness.BatchWarmth(bench.State)!.Set)
                : new BenchCommand.ConfirmReady(item.Key), bench.Aide);
        bench.Tell(new BenchCommand.StartBatch(), bench.Aide);
    }

    /// <summary>Some of what is held is looked at and released; the rest stays held.</summary>
    private void Close()
    {
        foreach (var held in bench.State.Cartridges.Where(cartridge => cartridge is { IsHeld: true, Result: not null })
            .ToList())
            if (hands.Chance(0.6))
                bench.Say(new BenchCommand.ReleaseResult(held.Id,
                    "Time on the reader's display was inside the window"), new PersonId(month.Supervisor));
        foreach (var open in Fates.Open(bench.State).ToList())
            bench.Say(new BenchCommand.GiveUpRequest(open.Id, open.Wanted.Request.RepeatLeft
                ? "asked for again in the morning" : "no specimen left; a new one is asked for", Confirmed: true),
                bench.Aide);
        bench.Tell(new BenchCommand.CloseBatch(), bench.Aide);
        foreach (var run in hands.Judged)
            commands.Add(new ClinicCommand([new ClinicEvent.ControlJudged(run with { JudgedAt = bench.Now })],
                TouchOf("judged", run.Request)));
        hands.Judged.Clear();
    }

    private Provenance TouchOf(string what, RequestId request) =>
        new(new ReportId(string.Create(CultureInfo.InvariantCulture, $"month-{what}-{request}")), bench.Now, bench.Now,
            new PersonId("server"), Tablet);

    private void Add(IReadOnlyList<BenchRequest> wanted)
    {
        if (wanted.Count == 0)
            return;
        if (bench.State.Phase == BatchPhase.Running)
            bench.Tell(new BenchCommand.AddRequests(wanted), bench.Aide);
        else
            bench.Say(new BenchCommand.AddRequests(wanted), bench.Aide);
    }

    private IEnumerable<Arrival> ArrivalsOf(int number)
    {
        var seed = Seeds.Mix(month.Seed, (ulong)number + 1);
        var arrivals = Arrivals.Draw(demand, seed);
        if (dates[number] != PeakDay())
            return arrivals;
        var random = new Random(unchecked((int)Seeds.Mix(seed, 99)));
        var from = DemandFile.ParseTime(month.PeakAt)!.Value;
        var more = Enumerable.Range(0, month.PeakRequests).Select(_ => new Arrival(
            from + Duration.FromSeconds(random.Next(month.PeakMinutes * 60)),
                arrivals[random.Next(arrivals.Length)].Assay, Priority.Routine));
        return arrivals.Concat(more).OrderBy(arrival => arrival.At);
    }

    private LocalDate? PeakDay() => dates.Reverse().Where(date => date.DayOfWeek == IsoDayOfWeek.Tuesday)
        .Skip(month.PeakWeeksAgo).Cast<LocalDate?>().FirstOrDefault();

    private BenchRequest Wanted(int number, AssayCode code, Priority priority, ControlMaterial? control)
    {
        var known = demo.Clinic.Assays.Single(assay => assay.Code == code.Value);
        var sheet = demo.SheetOf(known);
        var name = string.Create(CultureInfo.InvariantCulture, $"{++requests:0000}");
        var request = new Request(
            new RequestId("M" + name), new SpecimenId(control is null
                ? "SM-" + name : $"{control.Lot}/{control.Level}"), code, LotOf(code.Value, number < dates.Count / 2),
            bench.Now, control is null ? RequestKind.Patient : RequestKind.Control, control is not null
                || hands.Chance(month.RepeatLeft), priority, null, null, []);
        return new BenchRequest(request, sheet.Assay, known.Version, sheet.Unit,
            RunFacts.Of(sheet, control is null ? null : new Particulars(null, null, null, null, control)));
    }

    /// <summary>
    /// Each request that came to the bench, a repeat too, is the clinic's as well, by the same touch.
    /// </summary>
    private ClinicCommand? Received(BenchEntry entry) => entry.Event is BenchEvent.RequestsAdded added
        ? new ClinicCommand(
            [.. added.Requests.Select(wanted => new ClinicEvent.RequestReceived(
                bench.State.Id, wanted.Request, wanted.AssayVersion, wanted.Facts?.Control is { } control
                    ? new Particulars(null, null, null, null, control) : null))],
            entry.Provenance)
        : null;

    private Instant At(int number, Duration time) => zone.AtLeniently(dates[number].AtMidnight()).ToInstant() + time;

    private static LotCode LotOf(string assay, bool first) => new($"{assay}-K{(first ? 1 : 2)}");

    /// <summary>An invented target: in the middle of the reference interval, or three times its end.</summary>
    private static ControlTarget TargetOf(ResultRule rule, int level)
    {
        var to = rule.Reference.To ?? 10;
        var mean = level == 1 ? ((rule.Reference.From ?? 0) + to) / 2 : 3 * to;
        return new ControlTarget(mean, mean * 0.06m);
    }

    private static bool IsWorkingDay(LocalDate date) =>
        date.DayOfWeek is not (IsoDayOfWeek.Saturday or IsoDayOfWeek.Sunday);

    private static IEnumerable<LocalDate> WorkingDaysFrom(LocalDate first)
    {
        for (var day = first; ; day = day.PlusDays(1))
            if (IsWorkingDay(day))
                yield return day;
    }
}
