using CsCheck;
using Incubation.Model;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>What a random day may hold.</summary>
/// <param name="FewestRequests">At least so many requests.</param>
/// <param name="MaxRequests">At most so many requests.</param>
/// <param name="MaxHands">At most so many pairs of hands.</param>
/// <param name="MaxReaders">At most so many readers.</param>
/// <param name="MaxSlots">At most so many slots; a few days have none.</param>
/// <param name="MidRun">How often the day is in mid-run, 0 to 1.</param>
/// <param name="Calendar">How often the day has calendar entries, 0 to 1.</param>
/// <param name="ZeroLengths">How often an assay has steps of no length, 0 to 1.</param>
/// <param name="Impossible">How often a request is one that cannot be placed, 0 to 1.</param>
public sealed record DayShape(
    int FewestRequests = 1,
    int MaxRequests = 8,
    int MaxHands = 2,
    int MaxReaders = 2,
    int MaxSlots = 6,
    double MidRun = 0.4,
    double Calendar = 0.3,
    double ZeroLengths = 0.1,
    double Impossible = 0.03)
{
    /// <summary>Days of every feature, up to 8 requests.</summary>
    public static DayShape Any { get; } = new();

    /// <summary>Days small enough for enumeration.</summary>
    public static DayShape Tiny { get; } = new(MaxRequests: 3, MaxSlots: 3);

    /// <summary>Days on which nothing has begun.</summary>
    public static DayShape Morning { get; } = new(MidRun: 0);

    /// <summary>Days in mid-run.</summary>
    public static DayShape Running { get; } = new(FewestRequests: 2, MidRun: 1);

    /// <summary>Days of the size that a clinic has.</summary>
    public static DayShape Clinic { get; } = new(FewestRequests: 10, MaxRequests: 16, MaxSlots: 10);
}

/// <summary>
/// Random bench days: every feature of a day, calendar and mid-run states that can really occur, made from a seed so
/// that a failing day can be had again. A day made here never contradicts itself.
/// </summary>
public static class RandomDays
{
    /// <summary>The instant at which every random day starts.</summary>
    public static Instant Start { get; } = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>Random days of a shape, for property tests; the seed alone is what is drawn.</summary>
    public static Gen<BenchDay> Gen(DayShape shape) => CsCheck.Gen.ULong.Select(seed => Make(seed, shape));

    /// <summary>The day of a seed.</summary>
    public static BenchDay Make(ulong seed, DayShape shape)
    {
        var random = new SeededRandom(seed);
        var bench = MakeBench(random, shape);
        var assays = Enumerable.Range(1, random.Between(1, 4)).Select(i => MakeAssay(random, shape, bench, i)).ToList();
        var requests = MakeRequests(random, shape, assays);
        var midRun = random.Chance(shape.MidRun) ? RandomMidRun.Make(random, bench, assays, requests) : null;
        if (midRun is not null)
            requests = RandomMidRun.WithoutBegunOrders(random, requests, midRun);
        var now = midRun?.Now ?? Start;
        var calendar = random.Chance(shape.Calendar) ? MakeCalendar(random, bench, now) : [];
        return new BenchDay(Start, bench, assays, requests, calendar, midRun);
    }

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);

    private static BenchSetup MakeBench(SeededRandom random, DayShape shape) => new(
        random.Between(1, shape.MaxHands),
        random.Chance(0.05) ? 0 : random.Between(1, shape.MaxSlots),
        random.Between(1, shape.MaxReaders),
        Seconds(random.Chance(0.15) ? 0 : random.Between(5, 40)),
        Seconds(random.Chance(0.2) ? 0 : random.Between(1, 20)),
        random.Chance(0.25) ? random.Between(1, 40) / 20.0 : 0);

    private static Assay MakeAssay(SeededRandom random, DayShape shape, BenchSetup bench, int number)
    {
        var zero = random.Chance(shape.ZeroLengths);
        Duration Length(int low, int high) => zero && random.Chance(0.4)
            ? Duration.Zero : Seconds(random.Between(low, high));
        var mix = Length(20, 70);
        var load = Length(10, 40);
        var varies = random.Chance(0.6);
        Duration Shortest(Duration allowed) => varies
            ? Seconds((int)(allowed.TotalSeconds * random.Between(50, 100) / 100)) : allowed;
        var place = random.Between(0, 9) switch
        {
            < 6 => IncubationPlace.Incubator,
            < 8 => IncubationPlace.Either,
            _ => IncubationPlace.Reader
        };
        var mixShortest = Shortest(mix);
        var loadShortest = Shortest(load);
        var impossible = random.Chance(shape.Impossible);
        // Wide enough for the guard and the spread of the steps, unless the assay is to be one that cannot be placed.
        var window = impossible ? Seconds(random.Between(0, 10)) : bench.ReadGuard + load - loadShortest
            + Seconds(random.Chance(0.3) ? random.Between(5, 25) : random.Between(20, 120));
        return new Assay(
            new AssayCode($"A{number}"), $"Assay {number}", place,
            mix, mix - mixShortest + Seconds(random.Chance(0.1) ? 0 : random.Between(10, 180)), load,
            Length(60, random.Chance(0.5) ? 300 : 900), window,
            Length(5, 25), Length(15, 60), Length(5, 20),
            mixShortest, loadShortest);
    }

    private static List<Request> MakeRequests(SeededRandom random, DayShape shape, IReadOnlyList<Assay> assays)
    {
        var count = random.Between(shape.FewestRequests, shape.MaxRequests);
        var late = random.Chance(0.6);
        var ordered = random.Chance(0.3);
        var requests = new List<Request>();
        for (var i = 1; i <= count; i++)
        {
            var assay = random.Pick(assays);
            var ready = late && random.Chance(0.4) ? Start + Seconds(random.Between(-600, 1200)) : Start;
            var control = random.Chance(0.15);
            var urgent = random.Chance(0.15);
            Instant? due = random.Chance(0.25) ? ready + Seconds(random.Between(300, 3600)) : null;
            Instant? loadBy = random.Chance(shape.Impossible) ? ready + Seconds(random.Between(0, 60))
                : random.Chance(0.1) ? Instant.Max(ready, Start) + Seconds(random.Between(300, 2400)) : null;
            var after = ordered && requests.Count > 0 && random.Chance(0.3)
                ? random.Shuffled(requests).Take(random.Between(1, 2)).Select(r => r.Id).ToList()
                : [];
            requests.Add(new Request(
                new RequestId($"{(control ? "C" : "R")}{i:00}"), new SpecimenId($"SP-{i:000}"), assay.Code,
                new LotCode($"{assay.Code}-L{(random.Chance(0.15) ? 2 : 1)}"), ready,
                control ? RequestKind.Control : RequestKind.Patient, random.Chance(0.7),
                urgent ? Priority.Urgent : Priority.Routine, due, loadBy, after));
        }

        // The order in the file is no order of work.
        return random.Shuffled(requests);
    }

    private static List<CalendarEntry> MakeCalendar(SeededRandom random, BenchSetup bench, Instant now)
    {
        var entries = new List<CalendarEntry>();
        for (var left = random.Between(1, 4); left > 0; left--)
        {
            var from = now + Seconds(random.Between(-120, 1800));
            var to = Instant.Max(from, now) + Seconds(random.Between(10, random.Chance(0.3) ? 1200 : 240));
            entries.Add(random.Between(0, 9) switch
            {
                < 5 => new CalendarEntry(new BenchResource.Hands(new HandsNumber(random.Between(1, bench.Hands))),
                    from, to, "away"),
                < 7 => new CalendarEntry(new BenchResource.Reader(new ReaderNumber(random.Between(1, bench.Readers))),
                    from, to, "daily check"),
                < 9 when bench.Slots > 0 => new CalendarEntry(
                    new BenchResource.Slot(new SlotNumber(random.Between(1, bench.Slots))), from, to, "spilled"),
                _ => new CalendarEntry(new BenchResource.Incubator(), from, to, "too warm"),
            });
        }

        return entries;
    }
}
