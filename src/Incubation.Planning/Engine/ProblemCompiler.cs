using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Engine;

/// <summary>
/// Compiles a bench day: the assays' rules and the facts of the state become bounds on each operation.
/// </summary>
internal sealed partial class ProblemCompiler
{
    private readonly BenchDay day;
    private readonly int jobs;
    private readonly long now;
    private readonly Assay[] assay;
    private readonly Dictionary<RequestId, int> jobOf = [];
    private readonly List<LotCode> lots = [];
    private readonly List<PlannedStep> facts = [];
    private readonly Stage[] stage;
    private readonly long[] length;
    private readonly long[] earliest;
    private readonly long[] loadLatest, readFrom, readTo, readClose, readStart, goneEnd, discardFrom;
    private readonly bool[] beingDiscarded, guardSpentBy, mayLeave;
    private readonly LeftOutReason?[] mustLeave;
    private readonly long[] handFree, slotFree, readerFree;
    private readonly int[] slotHolder, readerHolder, readerCard;
    private int[][] after = [];
    private long guardSpent;

    private ProblemCompiler(BenchDay day)
    {
        this.day = day;
        jobs = day.Requests.Count;
        now = Math.Max(0, Ms(day.Now));
        var assays = day.Assays.ToDictionary(method => method.Key);
        assay = [.. day.Requests.Select(request => assays[request.AssayKey])];
        for (var j = 0; j < jobs; j++)
            jobOf[day.Requests[j].Id] = j;
        stage = new Stage[jobs];
        length = new long[jobs << 3];
        earliest = new long[jobs << 3];
        loadLatest = Filled(jobs, BenchProblem.Never);
        readFrom = new long[jobs];
        readTo = Filled(jobs, BenchProblem.Never);
        readClose = Filled(jobs, BenchProblem.Never);
        readStart = Filled(jobs, BenchProblem.Never);
        goneEnd = new long[jobs];
        discardFrom = Filled(jobs, now);
        beingDiscarded = new bool[jobs];
        guardSpentBy = new bool[jobs];
        mayLeave = new bool[jobs];
        mustLeave = new LeftOutReason?[jobs];
        handFree = Filled(day.Bench.Hands, now);
        slotFree = Filled(day.Bench.Slots, now);
        slotHolder = Filled(day.Bench.Slots, -1);
        readerFree = Filled(day.Bench.Readers, now);
        readerHolder = Filled(day.Bench.Readers, -1);
        readerCard = Filled(day.Bench.Readers, -1);
    }

    /// <summary>The day compiled. The day must not contradict itself.</summary>
    public static BenchProblem Compile(BenchDay day) => new ProblemCompiler(day).Compile();

    /// <summary>Milliseconds of a length.</summary>
    public static long Ms(Duration duration) => duration.BclCompatibleTicks / 10_000;

    private static T[] Filled<T>(int count, T value)
    {
        var array = new T[count];
        Array.Fill(array, value);
        return array;
    }

    private long Ms(Instant instant) => (long)Math.Floor((instant - day.Start).BclCompatibleTicks / 10_000m);

    private Instant At(long ms) => day.Start + Duration.FromMilliseconds(ms);

    private int LotOf(LotCode lot)
    {
        var index = lots.IndexOf(lot);
        if (index >= 0)
            return index;
        lots.Add(lot);
        return lots.Count - 1;
    }

    private BenchProblem Compile()
    {
        var guard = Ms(day.Bench.ReadGuard);
        var lot = day.Requests.Select(request => LotOf(request.Lot)).ToArray();
        for (var j = 0; j < jobs; j++)
            FillLengths(j);
        after =
            [.. day.Requests.Select(request => request.After.Where(jobOf.ContainsKey).Select(id => jobOf[id]).Distinct()
                .ToArray())];
        if (day.MidRun is { } run)
            ReadState(run, guard);
        var canSlot = new bool[jobs];
        var canReader = new bool[jobs];
        var windowHolds = new bool[jobs];
        for (var j = 0; j < jobs; j++)
        {
            var latest = Ms(assay[j].LoadShortest) + Ms(assay[j].Incubation) + Ms(assay[j].ReadWindow) - guard;
            windowHolds[j] = latest >= Ms(assay[j].Load) + Ms(assay[j].Incubation);
            // The move begins when the load has ended, however short the reaction.
            canSlot[j] = assay[j].Place != IncubationPlace.Reader && day.Bench.Slots > 0
                && windowHolds[j] && latest >= Ms(assay[j].Load) + Ms(assay[j].Move);
            canReader[j] = assay[j].Place != IncubationPlace.Incubator;
        }

        var closed = new CalendarCompiler(day, now);
        new LeaveRules(this, canSlot, canReader, windowHolds, closed.Hands, closed.Readers).Apply();
        var followers = Enumerable.Range(0, jobs).SelectMany(k => after[k].Select(j => (Before: j, After: k)))
            .ToLookup(edge => edge.Before, edge => edge.After);
        var problem = new BenchProblem
        {
            Day = day,
            Jobs = jobs,
            Hands = day.Bench.Hands,
            Slots = day.Bench.Slots,
            Readers = day.Bench.Readers,
            Now = now,
            CardLength = Ms(day.Bench.CardChange),
            WaitWeight = day.Bench.WaitWeight,
            Length = length,
            Earliest = earliest,
            Stage = stage,
            Lot = lot,
            CanSlot = canSlot,
            CanReader = canReader,
            MixToLoadMost = [.. assay.Select(method => Ms(method.MixShortest) + Ms(method.MixToLoad))],
            LoadLatest = loadLatest,
            LoadToReadLeast = [.. assay.Select(method => Ms(method.Load) + Ms(method.Incubation))],
            LoadToReadMost =
                [.. assay.Select(method => Ms(method.LoadShortest) + Ms(method.Incubation)
                    + Ms(method.ReadWindow) - guard)],
            ReadFrom = readFrom,
            ReadTo = readTo,
            ReadClose = readClose,
            ReadLength = [.. assay.Select(method => Ms(method.Read))],
            ReadStart = readStart,
            GoneEnd = goneEnd,
            BeingDiscarded = beingDiscarded,
            GuardSpent = guardSpent,
            GuardSpentBy = guardSpentBy,
            DiscardFrom = discardFrom,
            Ready = [.. day.Requests.Select(request => Ms(request.EffectiveReady(day.Start)))],
            Due = [.. day.Requests.Select(request => request.EffectiveDue(day.Start) is { } due
                ? Ms(due) : BenchProblem.Never)],
            LateWeight = [.. day.Requests.Select(request => request.Priority == Priority.Urgent ? 10.0 : 1.0)],
            After = after,
            Before = [.. Enumerable.Range(0, jobs).Select(j => followers[j].ToArray())],
            LossKey = [.. day.Requests.Select(LossKeyOf)],
            MustLeave = mustLeave,
            MayLeave = mayLeave,
            HandFree = handFree,
            SlotFree = slotFree,
            SlotHolder = slotHolder,
            ReaderFree = readerFree,
            ReaderHolder = readerHolder,
            ReaderCard = readerCard,
            HandClosed = closed.Hands,
            SlotClosed = closed.Slots,
            ReaderClosed = closed.Readers,
            Facts = facts,
            Lots = [.. lots],
        };
        problem.Seal();
        return problem;
    }

    private static long LossKeyOf(Request request) =>
        (request.RepeatLeft ? 0 : 1_000_000_000L) + (request.Priority == Priority.Urgent ? 1_000_000L : 0)
        + (request.Kind != RequestKind.Control ? 1_000L : 0) + 1;

    private void FillLengths(int j)
    {
        var request = day.Requests[j];
        length[Op.Of(j, Op.Mix)] = Ms(assay[j].Mix);
        length[Op.Of(j, Op.Load)] = Ms(assay[j].Load);
        length[Op.Of(j, Op.Move)] = Ms(assay[j].Move);
        length[Op.Of(j, Op.Clear)] = Ms(assay[j].Clear);
        length[Op.Of(j, Op.Card)] = Ms(day.Bench.CardChange);
        for (var kind = Op.Mix; kind <= Op.Card; kind++)
            earliest[Op.Of(j, kind)] = now;
        earliest[Op.Of(j, Op.Mix)] = Math.Max(now, Ms(request.EffectiveReady(day.Start)));
        if (request.LoadBy is { } loadBy)
            loadLatest[j] = Ms(loadBy) - Ms(assay[j].Load);
    }

    private void ReadState(MidRun run, long guard)
    {
        foreach (var card in run.Cards)
            readerCard[card.Reader.Value - 1] = LotOf(card.Card);
        foreach (var cartridge in run.Cartridges)
        {
            ReadPhase(jobOf[cartridge.Request], cartridge.Phase, guard);
            if (cartridge.MustDiscard)
                Condemn(jobOf[cartridge.Request]);
        }

        foreach (var step in run.Steps)
            ReadStep(step, guard);
        for (var r = 0; r < readerHolder.Length; r++)
        {
            // A card that is not the one of the cartridge in the reader is a doubt that a card change settles.
            if (readerHolder[r] >= 0 && readerCard[r] != LotOf(day.Requests[readerHolder[r]].Lot))
                readerCard[r] = -1;
        }
    }

    private void ReadPhase(int j, CartridgePhase phase, long guard)
    {
        switch (phase)
        {
            case CartridgePhase.Mixed mixed:
                IsMixed(j, Ms(mixed.MixEnd.Earliest), Ms(mixed.MixEnd.Latest));
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InSlot slot } reacting:
                ReactsInSlot(j, slot.Slot, Ms(reacting.LoadEnd.Earliest), Ms(reacting.LoadEnd.Latest), guard);
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InReader reader } reacting:
                IsInReader(j, reader.Reader, Ms(reacting.LoadEnd.Latest) + Ms(assay[j].Incubation));
                break;
            case CartridgePhase.Reading reading:
                IsInReader(j, reading.Reader, Ms(reading.Start));
                break;
            case CartridgePhase.Read read:
                IsInReader(j, read.Reader, BenchProblem.Never);
                break;
        }
    }

    private void IsMixed(int j, long earliestEnd, long latestEnd)
    {
        stage[j] = Stage.Mixed;
        earliest[Op.Of(j, Op.Load)] = Math.Max(latestEnd, now);
        loadLatest[j] = Math.Min(loadLatest[j], earliestEnd + Ms(assay[j].MixToLoad));
    }

    private void ReactsInSlot(int j, SlotNumber slot, long earliestEnd, long latestEnd, long guard)
    {
        stage[j] = Stage.Reacting;
        // One that is being moved has left its slot, and another may have been loaded into it since.
        if (!IsBeingMoved(j))
            slotHolder[slot.Value - 1] = j;
        readFrom[j] = latestEnd + Ms(assay[j].Incubation);
        readClose[j] = earliestEnd + Ms(assay[j].Incubation) + Ms(assay[j].ReadWindow);
        readTo[j] = readClose[j] - guard;
        earliest[Op.Of(j, Op.Move)] = Math.Max(Math.Max(now, latestEnd), readFrom[j] - length[Op.Of(j, Op.Move)]);
    }

    /// <summary>Its times are over, so that no plan can save it. In a reader it is cleared as any other.</summary>
    private void Condemn(int j)
    {
        if (stage[j] is not (Stage.Mixed or Stage.Reacting))
            return;
        mustLeave[j] = new LeftOutReason.MustDiscard();
        (readTo[j], readClose[j]) = (now - 1, now - 1);
    }

    private bool IsBeingMoved(int j) =>
        day.MidRun!.Steps.Any(step => step.Action is StepAction.Move move && move.Request == day.Requests[j].Id);

    private void IsInReader(int j, ReaderNumber reader, long start)
    {
        stage[j] = Stage.InReader;
        readerHolder[reader.Value - 1] = j;
        readStart[j] = start;
        earliest[Op.Of(j, Op.Clear)] = start >= BenchProblem.Never ? now : Math.Max(now, start + Ms(assay[j].Read));
    }

    private void ReadStep(StepInProgress step, long guard)
    {
        var start = Ms(step.Start);
        var hands = step.Hands.Value - 1;
        var j = step.Action.Subject is { } subject ? jobOf[subject] : -1;
        long end;
        switch (step.Action)
        {
            case StepAction.Mix:
                end = Math.Max(now, start + Ms(assay[j].Mix));
                IsMixed(j, Math.Max(now, start + Ms(assay[j].MixShortest)), end);
                discardFrom[j] = end;
                break;
            case StepAction.Load load:
                end = Math.Max(now, start + Ms(assay[j].Load));
                discardFrom[j] = end;
                if (load.Place is CartridgePlace.InSlot slot)
                    ReactsInSlot(j, slot.Slot, Math.Max(now, start + Ms(assay[j].LoadShortest)), end, guard);
                else if (load.Place is CartridgePlace.InReader inReader)
                    IsInReader(j, inReader.Reader, end + Ms(assay[j].Incubation));
                break;
            case StepAction.Move move:
                end = Math.Max(Math.Max(now, start + Ms(assay[j].Move)), readFrom[j]);
                Moves(j, move.Reader, end);
                break;
            case StepAction.CardChange change:
                end = Math.Max(now, start + Ms(day.Bench.CardChange));
                readerFree[change.Reader.Value - 1] = end;
                readerCard[change.Reader.Value - 1] = LotOf(change.Lot);
                break;
            default:
                end = Math.Max(now, start + Ms(assay[j].Clear));
                Leaves(j, end, step.Action is StepAction.Discard);
                break;
        }

        handFree[hands] = Math.Max(handFree[hands], end);
        facts.Add(new PlannedStep(step.Action, step.Hands, step.Start, At(end)));
    }

    private void Moves(int j, ReaderNumber reader, long end)
    {
        var (opens, to, close) = (readFrom[j], readTo[j], readClose[j]);
        IsInReader(j, reader, end);
        if (end > close || opens > close)
        {
            // The read cannot start in time any more: it lies in the reader until it is discarded.
            stage[j] = Stage.Reacting;
            discardFrom[j] = end;
            readStart[j] = BenchProblem.Never;
            earliest[Op.Of(j, Op.Clear)] = end;
            mustLeave[j] ??= new LeftOutReason.WindowClosed(At(close));
            return;
        }

        guardSpent += Math.Max(0, end - to);
        guardSpentBy[j] = end > to;
    }

    private void Leaves(int j, long end, bool discarded)
    {
        stage[j] = Stage.Gone;
        goneEnd[j] = end;
        beingDiscarded[j] = discarded;
        readStart[j] = BenchProblem.Never;
        var slot = Array.IndexOf(slotHolder, j);
        if (slot >= 0)
            (slotHolder[slot], slotFree[slot]) = (-1, end);
        var reader = Array.IndexOf(readerHolder, j);
        if (reader < 0)
            return;
        readerFree[reader] = end;
        readerHolder[reader] = -1;
        if (readerCard[reader] != LotOf(day.Requests[j].Lot))
            readerCard[reader] = -1;
    }
}
