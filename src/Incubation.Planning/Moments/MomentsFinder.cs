using Incubation.Model;
using Incubation.Planning.Engine;
using NodaTime;

namespace Incubation.Planning.Moments;

/// <summary>Works the last useful moments of one day out.</summary>
internal sealed class MomentsFinder
{
    /// <summary>
    /// Steps that each search may look at: far more than a dozen cartridges ever need, and so few that two dozen that
    /// all need the reader at once end in time.
    /// </summary>
    private const int EffortMost = 40_000;

    private readonly BenchDay day;
    private readonly IReadOnlyCollection<RequestId> givenUp;
    private readonly Lengths allowed;
    private readonly Lengths shortest;

    /// <param name="inWork">The day without what has not begun, as a plan sees it.</param>
    /// <param name="atBest">The same without what only may be in the way.</param>
    /// <param name="givenUp">What is given up where another set weighs no less.</param>
    public MomentsFinder(BenchDay inWork, BenchDay atBest, IReadOnlyCollection<RequestId> givenUp)
    {
        day = inWork;
        this.givenUp = givenUp;
        allowed = new Lengths(inWork);
        shortest = new Lengths(Shortest(atBest));
    }

    /// <summary>A day by one kind of lengths, and the searches on it.</summary>
    private sealed class Lengths(BenchDay day)
    {
        public BenchProblem Problem { get; } = ProblemCompiler.Compile(day);

        public SavingSearch Guarded => field ??= new SavingSearch(Problem, false, EffortMost);

        public SavingSearch GuardUsed => field ??= new SavingSearch(Problem, true, EffortMost);
    }

    public LastMoments Find()
    {
        var best = SavedSet.Of(allowed.Problem, allowed.Guarded, allowed.GuardUsed, givenUp);
        var last = Last(allowed, best);
        var quickest = SavedSet.Of(shortest.Problem, shortest.GuardUsed, shortest.GuardUsed, givenUp);
        var tooLate = Last(shortest, quickest);
        var isExact = best.IsExact && last.IsExact && quickest.IsExact && tooLate.IsExact;
        var acts = Acts(allowed, last.Order, best.NeedsGuard);
        return new LastMoments(
            last.Order.Length == 0 || best.NeedsGuard ? null : allowed.Problem.Day.Start + Ms(last.At),
            tooLate.Order.Length == 0 ? null : day.Start + Ms(tooLate.At),
            best.NeedsGuard,
            acts.Count == 0 ? null : acts.MinBy(act => act.Act.BeginBy).For,
            [.. Enumerable.Range(0, day.Requests.Count).Where(IsWaiting).Select(j => Of(j, best, quickest, acts))],
            isExact);
    }

    private static Duration Ms(long ms) => Duration.FromMilliseconds(ms);

    /// <summary>Whether a cartridge waits to be loaded or read.</summary>
    private bool IsWaiting(int j) => allowed.Problem.Stage[j] is Stage.Mixed or Stage.Reacting;

    /// <summary>
    /// The day at the quickest that hands can be: a mix and a load at their shortest, other steps, of which nothing
    /// says how short they can be, at no time at all; the guard is there to be used.
    /// </summary>
    private static BenchDay Shortest(BenchDay day) => day with
    {
        Bench = day.Bench with { CardChange = Duration.Zero, ReadGuard = Duration.Zero },
        Assays = [.. day.Assays.Select(assay => assay with
        {
            Mix = assay.MixShortest,
            Load = assay.LoadShortest,
            Move = Duration.Zero,
            Clear = Duration.Zero,
        })],
    };

    /// <summary>
    /// The latest instant at which a set can still be saved, and an order that does: the latest of one order, until no
    /// order holds a moment later.
    /// </summary>
    private static (long At, SavingStep[] Order, bool IsExact) Last(Lengths by, SavedSet.Found set)
    {
        var search = set.NeedsGuard ? by.GuardUsed : by.Guarded;
        var (at, order) = (by.Problem.Now, set.Order);
        if (order.Length == 0)
            return (at, order, true);
        search.Grant(EffortMost);
        while (true)
        {
            at = search.LatestBegin(order, set.Jobs, at);
            if (search.Find(set.Jobs, at + 1) is not { } later)
                return (at, order, search.EffortLeft > 0);
            (at, order) = (at + 1, later);
        }
    }

    private CartridgeMoments Of(int j, SavedSet.Found best, SavedSet.Found quickest,
        List<(RequestId For, SavingAct Act)> together)
    {
        var request = day.Requests[j].Id;
        var alone = Alone(allowed, j, guardIsUsed: false);
        var quick = Alone(shortest, j, guardIsUsed: true);
        var acts = together.Where(act => act.For == request).Select(act => act.Act).ToList();
        return new CartridgeMoments(
            request,
            best.Jobs[j],
            best.Jobs[j] && acts.Count > 0
                ? acts.Min(act => act.BeginBy) - (best.NeedsGuard ? day.Bench.ReadGuard : Duration.Zero) : null,
            alone.Order is null ? null : day.Start + Ms(alone.At),
            (quickest.Jobs[j] || !quickest.IsExact) && quick.Order is not null ? day.Start + Ms(quick.At) : null,
            acts);
    }

    /// <summary>The latest instant at which one cartridge can still be saved, whatever becomes of the others.</summary>
    private static (long At, SavingStep[]? Order) Alone(Lengths by, int j, bool guardIsUsed)
    {
        if (by.Problem.MustLeave[j] is not null)
            return (0, null);
        var only = new bool[by.Problem.Jobs];
        only[j] = true;
        var search = guardIsUsed ? by.GuardUsed : by.Guarded;
        search.Grant(EffortMost);
        if (search.Find(only, by.Problem.Now) is not { } order)
            return (0, null);
        var last = Last(by, new SavedSet.Found(only, order, guardIsUsed, true));
        return (last.At, last.Order);
    }

    /// <summary>
    /// The steps of an order, each with its latest start and with the cartridge that it serves: a clear, a discard or
    /// a card change serves whatever its reader or slot takes next.
    /// </summary>
    private List<(RequestId For, SavingAct Act)> Acts(Lengths by, SavingStep[] order, bool guardIsUsed)
    {
        var search = guardIsUsed ? by.GuardUsed : by.Guarded;
        var acts = new List<(RequestId, SavingAct)>();
        for (var i = 0; i < order.Length; i++)
        {
            if (ServedBy(by.Problem, order, i) is not { } job || IsAfterItsLoad(order, i, job))
                continue;
            var latest = search.LatestStart(order, by.Problem.Now, i);
            acts.Add((day.Requests[job].Id, new SavingAct(ActionOf(by.Problem, order[i]),
                new HandsNumber(order[i].Hands + 1), day.Start + Ms(latest))));
        }

        return acts;
    }

    private static int? ServedBy(BenchProblem p, SavingStep[] order, int index)
    {
        var step = order[index];
        switch (step.Kind)
        {
            case SavingKind.Move or SavingKind.LoadSlot or SavingKind.LoadReader:
                return step.Job;
            case SavingKind.Discard when step.Place < 0:
                var slot = Array.IndexOf(p.SlotHolder, step.Job);
                return Next(order, index, later => later.Kind == SavingKind.LoadSlot && later.Place == slot);
            default:
                return Next(order, index, later => later.Kind is SavingKind.Move or SavingKind.LoadReader
                    && later.Place == step.Place);
        }
    }

    private static int? Next(SavingStep[] order, int index, Func<SavingStep, bool> serves)
    {
        for (var i = index + 1; i < order.Length; i++)
            if (serves(order[i]))
                return order[i].Job;
        return null;
    }

    /// <summary>What saves a mixture for now is its load; its move comes later.</summary>
    private static bool IsAfterItsLoad(SavingStep[] order, int index, int job)
    {
        for (var i = 0; i < index; i++)
            if (order[i].Job == job && order[i].Kind == SavingKind.LoadSlot)
                return true;
        return false;
    }

    private StepAction ActionOf(BenchProblem p, in SavingStep step)
    {
        var request = step.Job < 0 ? default : day.Requests[step.Job].Id;
        return step.Kind switch
        {
            SavingKind.Clear => new StepAction.Clear(request, Reader(step)),
            SavingKind.Discard => new StepAction.Discard(request),
            SavingKind.Card => new StepAction.CardChange(Reader(step), p.Lots[step.Lot]),
            SavingKind.Move => new StepAction.Move(request, Reader(step)),
            SavingKind.LoadSlot => new StepAction.Load(request,
                new CartridgePlace.InSlot(new SlotNumber(step.Place + 1))),
            _ => new StepAction.Load(request, new CartridgePlace.InReader(Reader(step))),
        };
    }

    private static ReaderNumber Reader(in SavingStep step) => new(step.Place + 1);
}
