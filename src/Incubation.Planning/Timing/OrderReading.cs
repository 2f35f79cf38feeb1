using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Timing;

/// <summary>Reads a valid plan and its day into an <see cref="OrderNetwork"/>, one rule a method.</summary>
internal sealed class OrderReading
{
    private readonly BenchDay day;
    private readonly Plan plan;
    private readonly Dictionary<StepAction, int> nodes = [];
    private readonly Dictionary<PlannedStep, int> nodeOf = [];
    private readonly Dictionary<RequestId, Assay> assays;
    private readonly Dictionary<RequestId, CartridgePhase> phases;
    private readonly Dictionary<StepAction, StepInProgress> begun;
    private readonly long now;

    public OrderReading(BenchDay day, Plan plan)
    {
        this.day = day;
        this.plan = plan;
        now = Ms(day.Now);
        var byCode = day.Assays.ToDictionary(a => a.Code);
        assays = day.Requests.ToDictionary(r => r.Id, r => byCode[r.Assay]);
        phases = day.MidRun?.Cartridges.ToDictionary(c => c.Request, c => c.Phase) ?? [];
        begun = day.MidRun?.Steps.ToDictionary(s => s.Action) ?? [];
        AddSteps();
        foreach (var request in day.Requests)
            AddRulesOf(request);
        AddHands();
        AddSlots();
        AddReaders();
        AddCalendar();
    }

    public OrderNetwork Network { get; } = new();

    /// <summary>Number of the step that a row is, or for a read of the one that starts it; null where that has begun.</summary>
    public int? NodeOf(PlannedStep row) => row.Action is StepAction.Read read
        ? Node(new StepAction.Move(read.Request, read.Reader)) ?? Node(new StepAction.Load(read.Request, new CartridgePlace.InReader(read.Reader)))
        : nodeOf.TryGetValue(row, out var node) ? node : null;

    /// <summary>From a planned move's read to the true close of its window.</summary>
    public Duration? ToClose(PlannedStep row)
    {
        if (row.Action is not StepAction.Move move)
            return null;
        var assay = assays[move.Request];
        var load = RowOf<StepAction.Load>(move.Request);
        var close = LoadEnd(move.Request) is { } end
            ? end.Earliest + Ms(assay.Incubation) + Ms(assay.ReadWindow)
            : load is null ? (long?)null : Ms(load.Start) + Ms(assay.LoadShortest) + Ms(assay.Incubation) + Ms(assay.ReadWindow);
        return close is { } at ? Duration.FromMilliseconds(at - Ms(row.End)) : null;
    }

    private static long Ms(Duration length) => length.BclCompatibleTicks / NodaConstants.TicksPerMillisecond;

    private long Ms(Instant instant) => Ms(instant - day.Start);

    private int? Node(StepAction action) => nodes.TryGetValue(action, out var node) ? node : null;

    private PlannedStep? RowOf<TAction>(RequestId request)
        where TAction : StepAction =>
        plan.Steps.FirstOrDefault(s => s.Action is TAction && s.Action.Subject == request);

    private int? NodeOf<TAction>(RequestId request)
        where TAction : StepAction =>
        RowOf<TAction>(request) is { } row && nodeOf.TryGetValue(row, out var node) ? node : null;

    private void AddSteps()
    {
        foreach (var row in plan.Steps)
        {
            if (row.Hands is null || begun.ContainsKey(row.Action) && row.Start < day.Now)
                continue;
            if (begun.TryGetValue(row.Action, out var running) && running.Start == row.Start)
                continue;
            var node = Network.Add(row, Ms(row.Start), Ms(row.End - row.Start));
            nodeOf[row] = node;
            nodes.TryAdd(row.Action, node);
        }
    }

    /// <summary>The load's end where it has been or is being loaded: of a load in progress at the later of its start + length and now.</summary>
    private (long Earliest, long Latest)? LoadEnd(RequestId request)
    {
        if (phases.GetValueOrDefault(request) is CartridgePhase.Reacting reacting)
            return (Ms(reacting.LoadEnd.Earliest), Ms(reacting.LoadEnd.Latest));
        var loading = begun.Values.FirstOrDefault(s => s.Action is StepAction.Load && s.Action.Subject == request);
        return loading is null
            ? null
            : (Math.Max(Ms(loading.Start) + Ms(assays[request].LoadShortest), now), Math.Max(Ms(loading.Start) + Ms(assays[request].Load), now));
    }

    private (long Earliest, long Latest)? MixEnd(RequestId request)
    {
        if (phases.GetValueOrDefault(request) is CartridgePhase.Mixed mixed)
            return (Ms(mixed.MixEnd.Earliest), Ms(mixed.MixEnd.Latest));
        var mixing = begun.Values.FirstOrDefault(s => s.Action is StepAction.Mix && s.Action.Subject == request);
        return mixing is null
            ? null
            : (Math.Max(Ms(mixing.Start) + Ms(assays[request].MixShortest), now), Math.Max(Ms(mixing.Start) + Ms(assays[request].Mix), now));
    }

    private void AddRulesOf(Request request)
    {
        var assay = assays[request.Id];
        AddMixAndLoad(request, assay);
        AddRead(request.Id, assay);
        foreach (var before in request.After)
        {
            var ended = NodeOf<StepAction.Clear>(before) ?? NodeOf<StepAction.Discard>(before);
            if (ended is { } from && NodeOf<StepAction.Mix>(request.Id) is { } mix)
                Network.AtLeast(from, mix, Ms(assays[before].Clear));
        }
    }

    private void AddMixAndLoad(Request request, Assay assay)
    {
        if (NodeOf<StepAction.Load>(request.Id) is not { } load)
            return;
        if (request.LoadBy is { } by)
            Network.NoLater(load, Ms(by) - Ms(assay.Load));
        if (NodeOf<StepAction.Mix>(request.Id) is { } mix)
        {
            Network.AtLeast(mix, load, Ms(assay.Mix));
            Network.AtLeast(load, mix, -Ms(assay.MixShortest) - Ms(assay.MixToLoad));
        }
        else if (MixEnd(request.Id) is { } end)
        {
            Network.NoLater(load, end.Earliest + Ms(assay.MixToLoad));
        }
    }

    private void AddRead(RequestId request, Assay assay)
    {
        var clear = NodeOf<StepAction.Clear>(request);
        if (NodeOf<StepAction.Move>(request) is { } move)
        {
            var toRead = Ms(assay.Move);
            if (clear is { } taken)
                Network.AtLeast(move, taken, toRead + Ms(assay.Read));
            if (NodeOf<StepAction.Load>(request) is { } load)
            {
                Network.AtLeast(load, move, Ms(assay.Load) + Ms(assay.Incubation) - toRead);
                Network.AtLeast(move, load, toRead - Ms(assay.LoadShortest) - Ms(assay.Incubation) - Ms(assay.ReadWindow) + Ms(day.Bench.ReadGuard));
            }
            else if (LoadEnd(request) is { } end)
            {
                // Where the guard is used already there is none left to spare.
                var kept = end.Earliest + Ms(assay.Incubation) + Ms(assay.ReadWindow) - Ms(day.Bench.ReadGuard) - toRead;
                Network.NoLater(move, Math.Max(kept, Network.PlannedAt(move)));
            }
        }
        else if (clear is { } cleared && NodeOf<StepAction.Load>(request) is { } inside)
        {
            Network.AtLeast(inside, cleared, Ms(assay.Load) + Ms(assay.Incubation) + Ms(assay.Read));
        }
    }

    /// <summary>Two things in one place keep their order; one without length occupies nothing.</summary>
    private void Follow(int? before, long length, int? after)
    {
        if (before is { } from && after is { } to && from != to && Network.PlannedAt(from) + length <= Network.PlannedAt(to))
            Network.AtLeast(from, to, length);
    }

    private void AddHands()
    {
        foreach (var hands in nodeOf.Keys.Where(r => r.End > r.Start).GroupBy(r => r.Hands))
        {
            var order = hands.OrderBy(r => r.Start).ToList();
            for (var i = 1; i < order.Count; i++)
                Follow(nodeOf[order[i - 1]], Ms(order[i - 1].End - order[i - 1].Start), nodeOf[order[i]]);
        }
    }

    private int? Leaving(RequestId request) =>
        NodeOf<StepAction.Move>(request) ?? NodeOf<StepAction.Discard>(request);

    private void AddSlots()
    {
        var loads = nodeOf.Keys.Where(r => r.Action is StepAction.Load { Place: CartridgePlace.InSlot }).OrderBy(r => r.Start).ToList();
        foreach (var load in loads)
        {
            var slot = ((CartridgePlace.InSlot)((StepAction.Load)load.Action).Place).Slot;
            foreach (var other in assays.Keys.Where(id => id != load.Action.Subject && SlotOf(id) == slot))
            {
                if (Leaving(other) is { } leaves)
                    Follow(leaves, RowOf<StepAction.Move>(other) is null ? Ms(assays[other].Clear) : 0, nodeOf[load]);
            }
        }
    }

    private SlotNumber? SlotOf(RequestId request)
    {
        if (phases.GetValueOrDefault(request) is CartridgePhase.Reacting { Place: CartridgePlace.InSlot at })
            return at.Slot;
        return (RowOf<StepAction.Load>(request)?.Action as StepAction.Load)?.Place is CartridgePlace.InSlot planned ? planned.Slot : null;
    }

    /// <summary>Whatever takes a reader, and what ends that: a card change itself, a move or an in-reader load until its clear.</summary>
    private void AddReaders()
    {
        foreach (var reader in plan.Steps.Where(s => s.Hands is not null && s.Action.NeedsReader is not null).GroupBy(s => s.Action.NeedsReader))
        {
            var order = reader.OrderBy(s => s.Start).ThenBy(s => s.End).ToList();
            for (var i = 1; i < order.Count; i++)
            {
                var ends = order[i - 1].Action is StepAction.Clear or StepAction.CardChange;
                var begins = order[i].Action is StepAction.Move or StepAction.Load or StepAction.CardChange;
                if (ends && begins && nodeOf.TryGetValue(order[i - 1], out var before) && nodeOf.TryGetValue(order[i], out var after))
                    Network.AtLeast(before, after, Ms(order[i - 1].End - order[i - 1].Start));
            }
        }
    }

    private void AddCalendar()
    {
        foreach (var entry in day.Calendar.Where(e => e.To > day.Now))
        {
            var (from, to) = (Math.Max(Ms(entry.From), now), Ms(entry.To));
            foreach (var (row, node) in nodeOf)
                AddClosing(entry, row, node, from, to);
        }
    }

    private void AddClosing(CalendarEntry entry, PlannedStep row, int node, long from, long to)
    {
        switch (entry.Resource)
        {
            case CalendarResource.Hands when row.Hands?.Value == entry.Number:
                Network.MayNotOverlap(node, from, to);
                break;
            case CalendarResource.Slot or CalendarResource.Incubator when row.Action is StepAction.Load { Place: CartridgePlace.InSlot at } load
                && (entry.Resource == CalendarResource.Incubator || at.Slot.Value == entry.Number):
                Network.MayNotOverlap(node, from, to, Leaving(load.Request));
                break;
            case CalendarResource.Reader when row.Action.NeedsReader?.Value == entry.Number && row.Action is StepAction.CardChange:
                Network.MayNotOverlap(node, from, to);
                break;
            case CalendarResource.Reader when row.Action.NeedsReader?.Value == entry.Number && row.Action is StepAction.Move or StepAction.Load:
                var request = row.Action.Subject!.Value;
                Network.MayNotOverlap(node, from, to, NodeOf<StepAction.Clear>(request), Ms(assays[request].Clear));
                break;
        }
    }
}
