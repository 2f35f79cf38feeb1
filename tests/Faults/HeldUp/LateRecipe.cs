using Incubation.Bench;
using Incubation.Model;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>What kind of day it is.</summary>
internal enum LateKind
{
    /// <summary>A few cartridges, spread over the day.</summary>
    Quiet,

    /// <summary>Many at once.</summary>
    Busy,

    /// <summary>Many at once, and the server is gone for minutes.</summary>
    Outages,
}

/// <summary>
/// A day on which people are called away, drawn from a seed.
/// </summary>
/// <param name="Kind">What kind of day.</param>
/// <param name="Bench">The bench.</param>
/// <param name="Requests">What is wanted, each with the time at which it is told to the bench.</param>
/// <param name="CalledAway">Chance at each step to be called away.</param>
/// <param name="Forgets">Chance at each step to forget its tap for a while.</param>
/// <param name="Outages">When the server cannot be reached.</param>
/// <param name="Iterations">Of each search for a plan.</param>
/// <param name="Policy">How the adopted plan is kept.</param>
/// <param name="OneTablet">Whether all hands use one tablet; else each has its own.</param>
internal sealed record LateRecipe(LateKind Kind, BenchSetup Bench, IReadOnlyList<(BenchRequest Wanted, Instant Comes)>
    Requests, double CalledAway, double Forgets, IReadOnlyList<(Instant From, Instant To)> Outages, int Iterations,
    SearchPolicy Policy, bool OneTablet)
{
    /// <summary>Draws the day of a seed.</summary>
    public static LateRecipe Draw(ulong seed)
    {
        var random = new SeededRandom(seed);
        var kind = random.Between(0, 9) switch { < 3 => LateKind.Quiet, < 8 => LateKind.Busy, _ => LateKind.Outages };
        var guard = random.Between(5, 20);
        var bench = new BenchSetup(random.Chance(0.7) ? 1 : 2, random.Between(4, 12), random.Chance(0.7) ? 1 : 2,
            Seconds(random.Between(12, 40)), Seconds(guard), 0);
        var assays = Enumerable.Range(1, random.Between(1, 4)).Select(n => DrawAssay(random, n, guard)).ToList();
        var lots = random.Chance(0.4) ? 2 : 1;
        var count = kind == LateKind.Quiet ? random.Between(3, 6) : random.Between(6, 12);
        var spread = kind == LateKind.Quiet ? random.Between(10, 60) * 60 : random.Chance(0.5) ? 0 : 600;
        var requests = Enumerable.Range(1, count).Select(n => DrawRequest(random, n, assays, lots, spread)).ToList();
        return new LateRecipe(kind, bench, requests, random.Between(4, 20) / 100.0, random.Between(0, 8) / 100.0,
            kind == LateKind.Outages ? DrawOutages(random) : [], random.Between(0, 12),
            random.Chance(0.5) ? SearchPolicy.Live : SearchPolicy.Frugal, random.Chance(0.5));
    }

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);

    private static Assay DrawAssay(SeededRandom random, int number, int guard)
    {
        int mix = random.Between(25, 75), load = random.Between(14, 40);
        int mixShortest = mix * random.Between(45, 75) / 100, loadShortest = load * random.Between(45, 75) / 100;
        var place = random.Between(0, 9) switch
        {
            < 7 => IncubationPlace.Incubator,
            < 9 => IncubationPlace.Either,
            _ => IncubationPlace.Reader,
        };
        // Most windows are short: room for the guard, the load's spread and a few seconds.
        var window = guard + load - loadShortest
            + (random.Chance(0.6) ? random.Between(35, 80) : random.Between(80, 240));
        return new Assay(new AssayCode($"L{number}"), $"Assay {number}", place, Seconds(mix),
            Seconds(mix - mixShortest + random.Between(60, 240)), Seconds(load),
            Seconds(random.Chance(0.5) ? random.Between(90, 300) : random.Between(300, 900)), Seconds(window),
            Seconds(random.Between(10, 25)), Seconds(random.Between(20, 70)), Seconds(random.Between(8, 20)),
            Seconds(mixShortest), Seconds(loadShortest));
    }

    private static (BenchRequest, Instant) DrawRequest(SeededRandom random, int number, IReadOnlyList<Assay> assays,
        int lots, int spread)
    {
        var assay = random.Pick(assays);
        var comes = RandomDays.Start + Seconds(random.Chance(0.3) ? 0 : random.Between(0, spread));
        var isKnown = random.Chance(0.5);
        var isControl = random.Chance(0.1);
        var request = new Request(new RequestId($"{(isControl ? "C" : "R")}{number:00}"),
            new SpecimenId($"SP-{number:000}"), assay.Code, new LotCode($"{assay.Code}-K{random.Between(1, lots)}"),
            comes, isControl ? RequestKind.Control : RequestKind.Patient, random.Chance(0.75),
            random.Chance(0.12) ? Priority.Urgent : Priority.Routine, null, null, []);
        return (new BenchRequest(request, assay, 1, "mg/L"), isKnown ? RandomDays.Start : comes);
    }

    private static List<(Instant, Instant)> DrawOutages(SeededRandom random)
    {
        var outages = new List<(Instant, Instant)>();
        var from = RandomDays.Start;
        for (var left = random.Between(1, 3); left > 0; left--)
        {
            from += Seconds(random.Between(120, 1500));
            var to = from + Seconds(random.Between(30, 600));
            outages.Add((from, to));
            from = to;
        }

        return outages;
    }
}
