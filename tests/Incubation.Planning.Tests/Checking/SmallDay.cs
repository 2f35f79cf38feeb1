using Incubation.Model;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Planning.Tests.Checking;

/// <summary>
/// A hand-made day and its valid plan, in seconds since the start, for tests to break in one place each. One pair of
/// hands, two slots, one reader; a card change of 25 s and a guard of 15 s. Assay A reacts in the incubator: mix 50
/// (shortest 35), to load 120, load 25 (shortest 15), incubation 480, window 90, move 15, read 40, clear 10. Assay B is
/// the same inside the reader, E in either.
/// </summary>
internal static class SmallDay
{
    public static readonly Instant Start = Instant.FromUtc(2026, 3, 2, 8, 0);
    public static readonly BenchSetup Bench = new(1, 2, 1, Seconds(25), Seconds(15), 0);

    public static Instant At(double seconds) => Start + Duration.FromMilliseconds((long)(seconds * 1000));
    public static Duration Seconds(double seconds) => Duration.FromMilliseconds((long)(seconds * 1000));
    public static InstantRange Between(double earliest, double latest) => new(At(earliest), At(latest));

    public static Assay Assay(string code, IncubationPlace place) => new(
        new(code), "Demo assay " + code, place, Seconds(50), Seconds(120), Seconds(25), Seconds(480), Seconds(90),
        Seconds(15), Seconds(40), Seconds(10), Seconds(35), Seconds(15));

    public static Request Request(string id, string assay = "A", double ready = 0) => new(
        new(id), new("SP-" + id), new(assay), new(assay + "-L1"), At(ready), RequestKind.Patient, true,
            Priority.Routine, null, null, []);

    /// <summary>A day that has not begun.</summary>
    public static BenchDay Day(params Request[] requests) => new(
        Start, Bench,
        [Assay("A", IncubationPlace.Incubator), Assay("B", IncubationPlace.Reader), Assay("E", IncubationPlace.Either)],
        requests, [], null);

    public static BenchDay MidRun(this BenchDay day, double now, CartridgeInWork[] cartridges,
        StepInProgress[]? steps = null, string? card = "A-L1") =>
        day with
        {
            MidRun = new(At(now), card is null ? [] : [new(new(1), new(card))], steps ?? [], cartridges),
        };

    public static CartridgeInWork Mixed(string id, double earliest, double latest) =>
        new(new(id), new CartridgePhase.Mixed(Between(earliest, latest)));

    public static CartridgeInWork InSlot(string id, int slot, double earliest, double latest) =>
        new(new(id), new CartridgePhase.Reacting(Between(earliest, latest), new CartridgePlace.InSlot(new(slot))));

    public static CartridgeInWork InReader(string id, double earliest, double latest) =>
        new(new(id), new CartridgePhase.Reacting(Between(earliest, latest), new CartridgePlace.InReader(new(1))));

    public static CartridgeInWork BeingRead(string id, double start) =>
        new(new(id), new CartridgePhase.Reading(new(1), At(start)));

    public static CartridgeInWork HasBeenRead(string id) => new(new(id), new CartridgePhase.Read(new(1)));

    public static StepInProgress Begun(PlannedStep step) => new(step.Action, step.Hands!.Value, step.Start);

    public static PlannedStep Mix(string id, double start, double length = 50, int hands = 1) =>
        Step(new StepAction.Mix(new(id)), hands, start, length);

    public static PlannedStep Load(string id, int slot, double start, double length = 25, int hands = 1) =>
        Step(new StepAction.Load(new(id), new CartridgePlace.InSlot(new(slot))), hands, start, length);

    public static PlannedStep LoadReader(string id, double start, double length = 25, int hands = 1, int reader = 1) =>
        Step(new StepAction.Load(new(id), new CartridgePlace.InReader(new(reader))), hands, start, length);

    public static PlannedStep Move(string id, double start, double length = 15, int hands = 1, int reader = 1) =>
        Step(new StepAction.Move(new(id), new(reader)), hands, start, length);

    public static PlannedStep Read(string id, double start, double length = 40, int reader = 1) =>
        Step(new StepAction.Read(new(id), new(reader)), null, start, length);

    public static PlannedStep Clear(string id, double start, double length = 10, int hands = 1, int reader = 1) =>
        Step(new StepAction.Clear(new(id), new(reader)), hands, start, length);

    public static PlannedStep Discard(string id, double start, double length = 10, int hands = 1) =>
        Step(new StepAction.Discard(new(id)), hands, start, length);

    public static PlannedStep CardChange(string lot, double start, double length = 25, int hands = 1, int reader = 1) =>
        Step(new StepAction.CardChange(new(reader), new(lot)), hands, start, length);

    /// <summary>The plan of these rows, its figures set to what the rows give.</summary>
    public static Plan PlanOf(BenchDay day, params PlannedStep[] steps) =>
        new Plan(steps, 0, Duration.Zero, Duration.Zero, 0, false, [], [], []).Settled(day);

    public static Plan Settled(this Plan plan, BenchDay day)
    {
        var figures = PlanFigures.Of(day, plan);
        return plan with { Cost = figures.Cost, Finish = figures.Finish, Late = figures.Late };
    }

    public static Plan WithLost(this Plan plan, params string[] ids) =>
        plan with { Lost = [.. ids.Select(id => new LeftOut(new(id), new LeftOutReason.InWords("too late")))] };

    public static Plan WithUnplaced(this Plan plan, params string[] ids) =>
        plan with { Unplaced = [.. ids.Select(id => new LeftOut(new(id), new LeftOutReason.InWords("no room")))] };

    public static Plan WithGuardUsed(this Plan plan, params string[] ids) =>
        plan with { GuardUsed = [.. ids.Select(id => new RequestId(id))] };

    /// <summary>The plan with one row exchanged, figures settled again.</summary>
    public static Plan With(this Plan plan, BenchDay day, PlannedStep exchanged) =>
        (plan with { Steps = [.. plan.Steps.Select(step => IsSame(step, exchanged) ? exchanged : step)] }).Settled(day);

    /// <summary>The plan without the row of this kind and request, figures settled again.</summary>
    public static Plan Without(this Plan plan, BenchDay day, PlannedStep row) =>
        (plan with { Steps = [.. plan.Steps.Where(step => !IsSame(step, row))] }).Settled(day);

    /// <summary>The plan with one row more, figures settled again.</summary>
    public static Plan And(this Plan plan, BenchDay day, PlannedStep added) =>
        (plan with { Steps = [.. plan.Steps, added] }).Settled(day);

    private static bool IsSame(PlannedStep one, PlannedStep other) =>
        one.Action.GetType() == other.Action.GetType() && one.Action.Subject == other.Action.Subject;

    private static PlannedStep Step(StepAction action, int? hands, double start, double length) =>
        new(action, hands is { } number ? new HandsNumber(number) : null, At(start), At(start) + Seconds(length));
}
