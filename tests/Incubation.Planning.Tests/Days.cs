using Incubation.Model;
using Incubation.Planning.Checking;
using NodaTime;
using Xunit;

namespace Incubation.Planning.Tests;

/// <summary>Small days written by hand; seconds throughout.</summary>
internal static class Days
{
    public static Instant Start { get; } = Instant.FromUtc(2026, 3, 2, 8, 0);

    public static Instant At(double seconds) => Start + Duration.FromSeconds(seconds);

    public static BenchSetup Bench(int hands = 1, int slots = 4, int readers = 1, int cardChange = 0, int guard = 0,
        double waitWeight = 0) =>
        new(hands, slots, readers, Duration.FromSeconds(cardChange), Duration.FromSeconds(guard), waitWeight);

    public static Assay Assay(
        string code = "A1", IncubationPlace place = IncubationPlace.Incubator, int mix = 50, int mixToLoad = 120,
            int load = 25,
        int incubation = 480, int window = 90, int move = 15, int read = 40, int clear = 10, int? mixShortest = null,
            int? loadShortest = null) =>
        new(new AssayCode(code), code, place, S(mix), S(mixToLoad), S(load), S(incubation), S(window), S(move),
            S(read), S(clear),
            S(mixShortest ?? mix), S(loadShortest ?? load));

    public static Request Request(
        string id, string assay = "A1", int ready = 0, int? due = null, int? loadBy = null, bool urgent = false,
            bool repeatLeft = true,
        RequestKind kind = RequestKind.Patient, params string[] after) =>
        new(new RequestId(id), new SpecimenId("SP-" + id), new AssayCode(assay), new LotCode(assay + "-L1"), At(ready),
            kind, repeatLeft,
            urgent ? Priority.Urgent : Priority.Routine, due is { } d ? At(d) : null, loadBy is { } l ? At(l) : null,
            [.. after.Select(a => new RequestId(a))]);

    public static BenchDay Day(BenchSetup bench, IReadOnlyList<Assay> assays, IReadOnlyList<Request> requests,
        MidRun? run = null, params CalendarEntry[] calendar) =>
        new(Start, bench, assays, requests, calendar, run);

    public static MidRun Run(double now, IEnumerable<CartridgeInWork> cartridges,
        IEnumerable<StepInProgress>? steps = null, params (int Reader, string Lot)[] cards) =>
        new(At(now), [.. cards.Select(c => new CardInReader(new ReaderNumber(c.Reader), new LotCode(c.Lot)))],
            [.. steps ?? []], [.. cartridges]);

    public static CartridgeInWork Reacting(string id, double loadEnd, int slot, double? earliest = null) =>
        new(new RequestId(id),
            new CartridgePhase.Reacting(new InstantRange(At(earliest ?? loadEnd), At(loadEnd)),
                new CartridgePlace.InSlot(new SlotNumber(slot))));

    /// <summary>The plan of a day, which the checker finds valid.</summary>
    public static Plan PlanOf(BenchDay day, long iterations = 3000, ulong seed = 1)
    {
        var plan = Planner.Plan(day, seed, new IterationBudget(iterations)).Plan;
        Assert.Empty(PlanChecker.Check(day, plan));
        return plan;
    }

    public static PlannedStep Step<T>(this Plan plan, string id)
        where T : StepAction => plan.Steps.Single(s => s.Action is T && s.Action.Subject == new RequestId(id));

    private static Duration S(int seconds) => Duration.FromSeconds(seconds);
}
