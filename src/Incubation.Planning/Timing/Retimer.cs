using Incubation.Model;
using NodaTime;
using static Incubation.Planning.Timing.DayFacts;

namespace Incubation.Planning.Timing;

/// <summary>Pulls a plan as early as its own order allows: the least solution of its temporal network.</summary>
internal sealed class Retimer
{
    private readonly DayFacts facts;
    private readonly Plan plan;
    private readonly OrderReading reading;
    private readonly List<PlannedStep> rows = [];

    private Retimer(BenchDay day, Plan earlier)
    {
        facts = new DayFacts(day);
        plan = earlier with
        {
            Unplaced = [.. earlier.Unplaced.Where(left => facts.Has(left.Request))],
            Lost = [.. earlier.Lost.Where(left => facts.Has(left.Request))],
        };
        reading = new OrderReading(facts, plan, guardIsKept: false);
    }

    /// <summary>The plan re-timed, or null where its order cannot be kept or it does not plan every request.</summary>
    public static Plan? Retime(BenchDay day, Plan plan)
    {
        var retimer = new Retimer(day, plan);
        if (!day.Requests.All(request => retimer.IsPlanned(request.Id))
            || retimer.reading.Network.Earliest() is not { } start)
            return null;
        retimer.AddRows(start);
        return retimer.CardsFit() ? retimer.Write() : null;
    }

    /// <summary>
    /// Whether every step that a request still needs has a row, or the plan names the request as left out.
    /// </summary>
    private bool IsPlanned(RequestId request)
    {
        if (plan.Unplaced.Any(left => left.Request == request))
            return facts.PhaseOf(request) is null && !facts.InProgress.Any(step => step.Action.Subject == request);
        if (plan.Lost.Any(left => left.Request == request))
            return Ahead<StepAction.Discard>(request);
        if (facts.MustDiscard(request))
            return false;
        if (!Ahead<StepAction.Clear>(request))
            return false;
        if ((facts.ReadOf(request)?.Reader ?? facts.PhaseOf(request)?.FindReader()) is { } reader)
            return IsClearedOutOf(reader, request);
        if (facts.LoadEnd(request) is not null)
            return Ahead<StepAction.Move>(request);
        return Ahead<StepAction.Load>(request)
            && (facts.MixEnd(request) is not null || Ahead<StepAction.Mix>(request))
            && (Ahead<StepAction.Move>(request) || IsLoadedIntoReader(request));
    }

    private bool Ahead<TAction>(RequestId request)
        where TAction : StepAction =>
        reading.NodeOf<TAction>(request) is not null || facts.Doing<TAction>(request) is not null;

    /// <summary>
    /// Whether what is left for a cartridge in a reader is its clear there: it may be in another reader than planned.
    /// </summary>
    private bool IsClearedOutOf(ReaderNumber reader, RequestId request) =>
        reading.NodeOf<StepAction.Move>(request) is null
        && (facts.Doing<StepAction.Clear>(request) is not null
            || reading.Left.Any(step => step.Action == new StepAction.Clear(request, reader)));

    private bool IsLoadedIntoReader(RequestId request) =>
        reading.Left.Any(step => step.Action is StepAction.Load { Place: CartridgePlace.InReader } load
            && load.Request == request);

    private void AddRows(long[] start)
    {
        foreach (var step in facts.InProgress)
            rows.Add(new PlannedStep(step.Action, step.Hands, step.Start, facts.At(facts.EndOf(step))));
        foreach (var request in facts.Day.Requests)
        {
            var isOver = facts.Doing<StepAction.Clear>(request.Id) is not null
                || plan.Lost.Any(left => left.Request == request.Id);
            if (!isOver && facts.ReadOf(request.Id) is { } read)
                rows.Add(ReadRow(request.Id, read.Reader, read.Start, read.End));
        }

        for (var node = 0; node < start.Length; node++)
        {
            var row = reading.Left[node];
            var end = start[node] + Ms(facts.LengthOf(row.Action));
            rows.Add(row with { Start = facts.At(start[node]), End = facts.At(end) });
            if (row.Action is StepAction.Move move)
                AddRead(move.Request, move.Reader, end);
            else if (row.Action is StepAction.Load { Place: CartridgePlace.InReader inside } load)
                AddRead(load.Request, inside.Reader, end + Ms(facts.AssayOf(load.Request).Incubation));
        }
    }

    private void AddRead(RequestId request, ReaderNumber reader, long start) =>
        rows.Add(ReadRow(request, reader, start, start + Ms(facts.AssayOf(request).Read)));

    private PlannedStep ReadRow(RequestId request, ReaderNumber reader, long start, long end) =>
        new(new StepAction.Read(request, reader), null, facts.At(start), facts.At(end));

    /// <summary>Whether each cartridge still finds its card in the reader.</summary>
    private bool CardsFit()
    {
        var lots = facts.Day.Requests.ToDictionary(request => request.Id, request => request.Lot);
        var cards = facts.Day.MidRun?.Cards.ToDictionary(inReader => inReader.Reader, inReader => inReader.Card) ?? [];
        foreach (var row in rows.OrderBy(step => step.Start).ThenBy(step => step.End))
        {
            if (row.Action is StepAction.CardChange change)
                cards[change.Reader] = change.Lot;
            else if (row.Action is StepAction.Move or StepAction.Load && row.Action.NeedsReader is { } reader
                && row.Start >= facts.Day.Now
                && (!cards.TryGetValue(reader, out var card) || card != lots[row.Action.Subject!.Value]))
                return false;
        }

        return true;
    }

    private Plan Write()
    {
        var (finish, late, cost) = (0L, 0L, 0.0);
        var requests = facts.Day.Requests.ToDictionary(request => request.Id);
        foreach (var row in rows.Where(step => step.Action is StepAction.Clear))
        {
            var request = requests[row.Action.Subject!.Value];
            var end = facts.Ms(row.End);
            finish = Math.Max(finish, end);
            var tardy = request.EffectiveDue(facts.Day.Start) is { } due ? Math.Max(0, end - facts.Ms(due)) : 0;
            late += tardy;
            cost += (tardy * (request.Priority == Priority.Urgent ? 10 : 1))
                + (facts.Day.Bench.WaitWeight * (end - facts.Ms(request.EffectiveReady(facts.Day.Start))));
        }

        cost = Math.Round((cost + finish) / 1000, 3);
        var leaves = plan.Unplaced.Count + plan.Lost.Count > 0;
        var bound = Math.Min(cost, Planner.Bound(facts.Day, leaves));
        var guardUsed = facts.Day.Requests.Select(request => request.Id).Where(UsesGuard).ToList();
        return plan with
        {
            Steps = [.. rows.OrderBy(step => step.Start).ThenBy(step => step.End)],
            Cost = cost,
            Finish = Duration.FromMilliseconds(finish),
            Late = Duration.FromMilliseconds(late),
            Bound = bound,
            Proved = !leaves && guardUsed.Count == 0 && bound >= cost,
            GuardUsed = guardUsed,
        };
    }

    private bool UsesGuard(RequestId request)
    {
        var move = rows.FirstOrDefault(step => step.Action is StepAction.Move && step.Action.Subject == request);
        if (move is null || facts.LoadEnd(request) is not { } end || plan.Lost.Any(left => left.Request == request))
            return false;
        var assay = facts.AssayOf(request);
        return facts.Ms(move.End) > end.Earliest + Ms(assay.Incubation)
            + Ms(assay.ReadWindow) - Ms(facts.Day.Bench.ReadGuard);
    }
}
