using Incubation.Model;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Benchmarks;

/// <summary>What a morning of a clinic is like.</summary>
/// <param name="Requests">How many requests.</param>
/// <param name="Slots">Slots of the incubator.</param>
/// <param name="Hands">Pairs of hands.</param>
/// <param name="Readers">Readers.</param>
/// <param name="ShortestWindow">The shortest read window, in seconds.</param>
/// <param name="LongestWindow">The longest read window, in seconds.</param>
/// <param name="ShortestShare">What part of its allowed length the shortest mix or load takes, in per cent.</param>
/// <param name="EitherShare">How many assays may react in a slot or in the reader, in per cent; of the others, none
/// reacts in the reader.</param>
/// <param name="ControlsFirst">Whether each lot has a control that its patients come after.</param>
/// <param name="MaxWaitWeight">The greatest weight of waiting, in hundredths; zero for none.</param>
internal sealed record MorningShape(
    int Requests,
    int Slots,
    int Hands = 1,
    int Readers = 1,
    int ShortestWindow = 60,
    int LongestWindow = 150,
    int ShortestShare = 100,
    int EitherShare = 0,
    bool ControlsFirst = false,
    int MaxWaitWeight = 0);

/// <summary>
/// Invented mornings: two to four assays of 3 to 15 minutes in two to five lots, most specimens there at the start,
/// some that come or thaw within a quarter of an hour, some urgent, some due at a time. Nothing here is a real assay.
/// </summary>
internal static class MorningDay
{
    private static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    private static readonly int[] Minutes = [3, 4, 5, 6, 8, 10, 12, 15];

    /// <summary>The morning of a seed.</summary>
    public static BenchDay Make(ulong seed, MorningShape shape)
    {
        var random = new SeededRandom(seed);
        var bench = new BenchSetup(
            shape.Hands, shape.Slots, shape.Readers, Seconds(random.Between(20, 40)), Seconds(random.Between(10, 15)),
            shape.MaxWaitWeight > 0 ? random.Between(Math.Min(5, shape.MaxWaitWeight), shape.MaxWaitWeight) / 100.0
                : 0);
        var assays = Enumerable.Range(1, random.Between(2, 4)).Select(number => MakeAssay(random, shape, number))
            .ToList();
        var lots = MakeLots(random, assays);
        var controls = shape.ControlsFirst ? lots.Select((lot, index) => MakeControl(lot, index + 1)).ToList() : [];
        var patients = Enumerable.Range(1, shape.Requests - controls.Count)
            .Select(number => MakePatient(random, lots, controls, number));
        return new BenchDay(Start, bench, assays, [.. controls, .. patients], [], null);
    }

    private static Duration Seconds(int seconds) => Duration.FromSeconds(seconds);

    private static Assay MakeAssay(SeededRandom random, MorningShape shape, int number)
    {
        int mix = random.Between(30, 70), load = random.Between(15, 35);
        return new Assay(
            new AssayCode($"A{number}"), $"Invented assay {number}",
            random.Between(1, 100) <= shape.EitherShare ? IncubationPlace.Either : IncubationPlace.Incubator,
            Seconds(mix), Seconds(random.Between(60, 180)), Seconds(load), Duration.FromMinutes(random.Pick(Minutes)),
            Seconds(random.Between(shape.ShortestWindow, shape.LongestWindow)),
            Seconds(random.Between(10, 20)), Seconds(random.Between(20, 60)), Seconds(random.Between(5, 15)),
            Seconds(mix * shape.ShortestShare / 100), Seconds(load * shape.ShortestShare / 100));
    }

    /// <summary>A lot of each assay, and of some a second, up to five.</summary>
    private static List<(Assay Assay, LotCode Lot)> MakeLots(SeededRandom random, List<Assay> assays)
    {
        var lots = assays.Select(assay => (assay, new LotCode($"{assay.Code}-L1"))).ToList();
        foreach (var assay in assays)
            if (lots.Count < 5 && random.Chance(0.25))
                lots.Add((assay, new LotCode($"{assay.Code}-L2")));
        return lots;
    }

    private static Request MakeControl((Assay Assay, LotCode Lot) of, int number) => new(
        new RequestId($"C{number:00}"), new SpecimenId($"CM-{number:00}"), of.Assay.Code, of.Lot, Start,
        RequestKind.Control, true, Priority.Routine, null, null, []);

    private static Request MakePatient(SeededRandom random, List<(Assay Assay, LotCode Lot)> lots,
        List<Request> controls, int number)
    {
        var (assay, lot) = random.Pick(lots);
        var ready = random.Chance(0.25) ? Start + Seconds(random.Between(30, 900)) : Start;
        var urgent = random.Chance(0.12);
        Instant? due = !urgent && random.Chance(0.15) ? ready + Duration.FromMinutes(random.Between(20, 60)) : null;
        return new Request(
            new RequestId($"R{number:000}"), new SpecimenId($"SP-{number:000}"), assay.Code, lot, ready,
            RequestKind.Patient, random.Chance(0.8), urgent ? Priority.Urgent : Priority.Routine, due, null,
            [.. controls.Where(control => control.Lot == lot).Select(control => control.Id)]);
    }
}
