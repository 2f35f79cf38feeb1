using Incubation.Model;
using NodaTime;
using static Incubation.Planning.Timing.DayFacts;

namespace Incubation.Planning.Timing;

/// <summary>
/// Reads a plan and a day into an <see cref="OrderNetwork"/>, one rule a method. Rows that have ended are dropped, rows
/// that have begun are facts; the rest keeps the plan's order on every pair of hands, slot and reader.
/// </summary>
internal sealed class OrderReading
{
    private readonly DayFacts facts;
    private readonly Plan plan;
    private readonly bool guardIsKept;
    private readonly Dictionary<PlannedStep, int> nodeOf = new(ReferenceEqualityComparer.Instance);
    private readonly Dictionary<(Type Kind, RequestId Request), PlannedStep> rowOf = [];
    private readonly List<PlannedStep> left = [];

    /// <summary>Reads a plan.</summary>
    /// <param name="facts">The day.</param>
    /// <param name="plan">The plan, made for this day or for an earlier instant of it.</param>
    /// <param name="guardIsKept">Whether the read guard of cartridges already reacting is left untouched where it still
    /// is.</param>
    public OrderReading(DayFacts facts, Plan plan, bool guardIsKept)
    {
        this.facts = facts;
        this.plan = plan;
        this.guardIsKept = guardIsKept;
        AddSteps();
        foreach (var request in facts.Day.Requests)
            AddRulesOf(request);
        AddHands();
        AddSlots();
        AddReaders();
        AddCalendar();
    }

    public OrderNetwork Network { get; } = new();

    /// <summary>Rows of hands steps that have not begun, by number.</summary>
    public IReadOnlyList<PlannedStep> Left => left;

    /// <summary>
    /// Number of the step that a row is, or for a read of the one that starts it; null where that has begun.
    /// </summary>
    public int? NodeOf(PlannedStep row) => row.Action is StepAction.Read read
        ? NodeOf<StepAction.Move>(read.Request) ?? NodeOf<StepAction.Load>(read.Request)
        : nodeOf.TryGetValue(row, out var node) ? node : null;

    /// <summary>Number of a request's step of a kind, or null where that is not ahead.</summary>
    public int? NodeOf<TAction>(RequestId request)
        where TAction : StepAction =>
        rowOf.TryGetValue((typeof(TAction), request), out var row) ? nodeOf[row] : null;

    /// <summary>The read window's true close for a planned move, or null.</summary>
    public long? CloseOf(StepAction.Move move)
    {
        var assay = facts.AssayOf(move.Request);
        var reacts = Ms(assay.Incubation) + Ms(assay.ReadWindow);
        if (facts.LoadEnd(move.Request) is { } end)
            return end.Earliest + reacts;
        return NodeOf<StepAction.Load>(move.Request) is { } load
            ? Network.PlannedAt(load) + Ms(assay.LoadShortest) + reacts : null;
    }

    private PlannedStep? Row<TAction>(RequestId request)
        where TAction : StepAction =>
        rowOf.GetValueOrDefault((typeof(TAction), request));

    private void AddSteps()
    {
        var begun = facts.InProgress.ToList();
        var ended = EndedCardChanges();
        foreach (var row in plan.Steps.OrderBy(step => step.Start))
        {
            if (row.Hands is null || HasEnded(row.Action) || ended.Contains(row))
                continue;
            if (begun.FindIndex(step => step.Action == row.Action) is var found and >= 0)
            {
                begun.RemoveAt(found);
                continue;
            }

            var node = Network.Add(row, facts.Ms(row.Start), Ms(facts.LengthOf(row.Action)));
            Network.NoEarlier(node, facts.Now);
            nodeOf[row] = node;
            left.Add(row);
            if (row.Action.Subject is { } request)
                rowOf[(row.Action.GetType(), request)] = row;
        }
    }

    private bool HasEnded(StepAction action) => action.Subject is { } request
        && (!facts.Has(request) || facts.PhaseOf(request) switch
        {
            CartridgePhase.Mixed => action is StepAction.Mix,
            CartridgePhase.Reacting => action is StepAction.Mix or StepAction.Load,
            CartridgePhase.Reading or CartridgePhase.Read =>
                action is StepAction.Mix or StepAction.Load or StepAction.Move,
            _ => false,
        });

    /// <summary>
    /// Card changes that have been made: those before something that has taken their reader since, and one to the card
    /// that the reader holds already.
    /// </summary>
    private HashSet<PlannedStep> EndedCardChanges()
    {
        var made = new HashSet<PlannedStep>(ReferenceEqualityComparer.Instance);
        foreach (var reader in plan.Steps.Where(step => step.Hands is not null && step.Action.NeedsReader is not null)
            .GroupBy(step => step.Action.NeedsReader!.Value))
        {
            var order = reader.OrderBy(step => step.Start).ThenBy(step => step.End).ToList();
            var last = order.FindLastIndex(step => step.Action is not StepAction.CardChange
                && (HasEnded(step.Action) || IsBegun(step.Action)));
            made.UnionWith(order.Take(last + 1).Where(step => step.Action is StepAction.CardChange));
            var coming = order.Skip(last + 1).TakeWhile(step => step.Action is StepAction.CardChange).ToList();
            var running = coming.FindLastIndex(step => IsBegun(step.Action));
            var held = coming.FindLastIndex(step => !IsBegun(step.Action)
                && ((StepAction.CardChange)step.Action).Lot == facts.CardIn(reader.Key));
            made.UnionWith(running >= 0 ? coming.Take(running) : coming.Take(held + 1));
        }

        return made;
    }

    private bool IsBegun(StepAction action) => facts.InProgress.Any(step => step.Action == action);

    private void AddRulesOf(Request request)
    {
        AddMixAndLoad(request, facts.AssayOf(request.Id));
        AddMove(request.Id, facts.AssayOf(request.Id));
        AddClear(request.Id, facts.AssayOf(request.Id));
        if (NodeOf<StepAction.Discard>(request.Id) is { } discard)
        {
            foreach (var step in facts.InProgress.Where(step => step.Action.Subject == request.Id))
                Network.NoEarlier(discard, facts.EndOf(step));
        }

        if (NodeOf<StepAction.Mix>(request.Id) is { } mix)
            AddAfter(request, mix);
    }

    private void AddAfter(Request request, int mix)
    {
        foreach (var before in request.After.Where(facts.Has))
        {
            if ((NodeOf<StepAction.Clear>(before) ?? NodeOf<StepAction.Discard>(before)) is { } ends)
                Network.AtLeast(ends, mix, Ms(facts.AssayOf(before).Clear));
            else if ((facts.Doing<StepAction.Clear>(before) ?? facts.Doing<StepAction.Discard>(before)) is { } ending)
                Network.NoEarlier(mix, facts.EndOf(ending));
        }
    }

    private void AddMixAndLoad(Request request, Assay assay)
    {
        if (NodeOf<StepAction.Mix>(request.Id) is { } waiting)
            Network.NoEarlier(waiting, facts.Ms(request.EffectiveReady(facts.Day.Start)));
        if (NodeOf<StepAction.Load>(request.Id) is not { } load)
            return;
        if (request.LoadBy is { } by)
            Network.NoLater(load, facts.Ms(by) - Ms(assay.Load));
        if (NodeOf<StepAction.Mix>(request.Id) is { } mix)
        {
            Network.AtLeast(mix, load, Ms(assay.Mix));
            Network.AtLeast(load, mix, -Ms(assay.MixShortest) - Ms(assay.MixToLoad));
        }
        else if (facts.MixEnd(request.Id) is { } end)
        {
            Network.NoEarlier(load, end.Latest);
            Network.NoLater(load, end.Earliest + Ms(assay.MixToLoad));
        }
    }

    private void AddMove(RequestId request, Assay assay)
    {
        if (NodeOf<StepAction.Move>(request) is not { } move)
            return;
        var (toRead, reacts) = (Ms(assay.Move), Ms(assay.Incubation));
        var kept = reacts + Ms(assay.ReadWindow) - Ms(facts.Day.Bench.ReadGuard) - toRead;
        if (NodeOf<StepAction.Load>(request) is { } load)
        {
            Network.AtLeast(load, move, Ms(assay.Load) + Math.Max(0, reacts - toRead));
            Network.AtLeast(move, load, -Ms(assay.LoadShortest) - kept);
        }
        else if (facts.LoadEnd(request) is { } end)
        {
            Network.NoEarlier(move, Math.Max(end.Latest, end.Latest + reacts - toRead));
            // Where the guard is used already there is none left to spare.
            Network.NoLater(move, guardIsKept
                ? Math.Max(end.Earliest + kept, Network.PlannedAt(move))
                : end.Earliest + reacts + Ms(assay.ReadWindow) - toRead);
        }
    }

    private void AddClear(RequestId request, Assay assay)
    {
        if (NodeOf<StepAction.Clear>(request) is not { } clear)
            return;
        if (NodeOf<StepAction.Move>(request) is { } move)
            Network.AtLeast(move, clear, Ms(assay.Move) + Ms(assay.Read));
        else if (NodeOf<StepAction.Load>(request) is { } inside)
            Network.AtLeast(inside, clear, Ms(assay.Load) + Ms(assay.Incubation) + Ms(assay.Read));
        else if (facts.ReadOf(request) is { } read)
            Network.NoEarlier(clear, read.End);
    }

    /// <summary>
    /// One pair of hands keeps its order, also where what came back to it begins while another step is planned; a step
    /// without length occupies nothing.
    /// </summary>
    private void AddHands()
    {
        foreach (var hands in left.Where(step => facts.LengthOf(step.Action) > Duration.Zero)
            .GroupBy(step => step.Hands))
        {
            var order = hands.OrderBy(step => step.Start).ToList();
            if (facts.InProgress.FirstOrDefault(step => step.Hands == hands.Key) is { } busy)
                Network.NoEarlier(nodeOf[order[0]], facts.EndOf(busy));
            for (var i = 1; i < order.Count; i++)
                Network.AtLeast(nodeOf[order[i - 1]], nodeOf[order[i]], Ms(facts.LengthOf(order[i - 1].Action)));
        }
    }

    private void Follow(PlannedStep before, long length, PlannedStep after)
    {
        if (Network.PlannedAt(nodeOf[before]) + length <= Network.PlannedAt(nodeOf[after]))
            Network.AtLeast(nodeOf[before], nodeOf[after], length);
    }

    private void AddSlots()
    {
        foreach (var load in left)
        {
            if (load.Action is not StepAction.Load { Place: CartridgePlace.InSlot at, Request: var request })
                continue;
            foreach (var other in facts.Day.Requests.Select(wanted => wanted.Id)
                .Where(id => id != request && SlotOf(id) == at.Slot))
            {
                // What is being moved has left its slot, also where it comes too late.
                if (facts.Doing<StepAction.Move>(other) is not null)
                    continue;
                if (Row<StepAction.Move>(other) is { } move)
                    AddSlot(other, move, 0, load);
                else if (Row<StepAction.Discard>(other) is { } discard)
                    AddSlot(other, discard, Ms(facts.AssayOf(other).Clear), load);
                else if (facts.Doing<StepAction.Discard>(other) is { } leaving)
                    Network.NoEarlier(nodeOf[load], facts.EndOf(leaving));
            }
        }
    }

    /// <summary>
    /// A load into a slot that is taken now waits for what is inside, whatever the plan's order: it may have been
    /// loaded into another slot than planned.
    /// </summary>
    private void AddSlot(RequestId inside, PlannedStep leaving, long length, PlannedStep load)
    {
        if (facts.PlaceOf(inside) is not null)
            Network.AtLeast(nodeOf[leaving], nodeOf[load], length);
        else
            Follow(leaving, length, load);
    }

    private SlotNumber? SlotOf(RequestId request) =>
        (facts.PlaceOf(request)
            ?? (Row<StepAction.Load>(request)?.Action as StepAction.Load)?.Place) is CartridgePlace.InSlot at
            ? at.Slot : null;

    /// <summary>
    /// Whatever takes a reader waits for what ends before it there: a card change, a clear or a discard.
    /// </summary>
    private void AddReaders()
    {
        for (var number = 1; number <= facts.Day.Bench.Readers; number++)
        {
            var reader = new ReaderNumber(number);
            var order = left.Where(step => ReaderOf(step.Action) == reader).OrderBy(step => step.Start)
                .ThenBy(step => step.End).ToList();
            foreach (var step in facts.InProgress.Where(step => ReaderOf(step.Action) == reader && Ends(step.Action)))
            {
                foreach (var row in order.Where(row => !Ends(row.Action) || row.Action is StepAction.CardChange))
                    Network.NoEarlier(nodeOf[row], facts.EndOf(step));
            }

            for (var i = 1; i < order.Count; i++)
            {
                if (Ends(order[i - 1].Action) && (!Ends(order[i].Action) || order[i].Action is StepAction.CardChange))
                    Network.AtLeast(nodeOf[order[i - 1]], nodeOf[order[i]], Ms(facts.LengthOf(order[i - 1].Action)));
            }

            AddStays(reader, order);
        }
    }

    /// <summary>
    /// Whatever takes a reader waits until what was put into it before has left, also where the rows that empty it
    /// stand later: an order in which that cannot be is not kept.
    /// </summary>
    private void AddStays(ReaderNumber reader, List<PlannedStep> order)
    {
        var inside = facts.Day.Requests.Select(request => (RequestId?)request.Id)
            .FirstOrDefault(id => (facts.ReadOf(id!.Value)?.Reader ?? facts.PhaseOf(id.Value)?.FindReader()) == reader);
        foreach (var row in order)
        {
            var subject = row.Action.Subject;
            if (inside is { } before && subject == before && Ends(row.Action))
                inside = null;
            else if (!Ends(row.Action) || row.Action is StepAction.CardChange)
            {
                if (inside is { } there && subject != there
                    && (NodeOf<StepAction.Clear>(there) ?? NodeOf<StepAction.Discard>(there)) is { } leaves)
                    Network.AtLeast(leaves, nodeOf[row], Ms(facts.AssayOf(there).Clear));
                inside = subject ?? inside;
            }
        }
    }

    /// <summary>
    /// The reader that a step takes, holds or leaves: a discard leaves one where the cartridge is there.
    /// </summary>
    private ReaderNumber? ReaderOf(StepAction action) =>
        action is StepAction.Discard discard ? facts.ReadOf(discard.Request)?.Reader : action.NeedsReader;

    private static bool Ends(StepAction action) => action is StepAction.Clear or StepAction.CardChange
        or StepAction.Discard;

    private void AddCalendar()
    {
        foreach (var entry in facts.Day.Calendar.Where(entry => entry.To > facts.Day.Now))
        {
            foreach (var row in left)
                AddClosing(entry, row, Math.Max(facts.Ms(entry.From), facts.Now), facts.Ms(entry.To));
        }
    }

    private void AddClosing(CalendarEntry entry, PlannedStep row, long from, long to)
    {
        var node = nodeOf[row];
        var isReader = entry.Resource is BenchResource.Reader reader && row.Action.NeedsReader == reader.Number;
        if (entry.Resource is BenchResource.Hands hands ? row.Hands == hands.Number : isReader
            && row.Action is StepAction.CardChange)
            Network.MayNotOverlap(node, from, to);
        else if (isReader && row.Action is StepAction.Move or StepAction.Load && row.Action.Subject is { } request)
            Network.MayNotOverlap(node, from, to, NodeOf<StepAction.Clear>(request), Ms(facts.AssayOf(request).Clear));
        else if (row.Action is StepAction.Load { Place: CartridgePlace.InSlot at } load
            && entry.Resource.Includes(new BenchResource.Slot(at.Slot)))
            Network.MayNotOverlap(node, from, to, NodeOf<StepAction.Move>(load.Request)
                ?? NodeOf<StepAction.Discard>(load.Request));
    }
}
