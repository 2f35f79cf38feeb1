using Incubation.Model;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Planning.Tests;

/// <summary>
/// What may have happened on a day with steps that are not known: each was done or was not, and its cartridge stays
/// where that left it until the plan has ended.
/// </summary>
internal sealed class UnknownWorld(BenchDay day, Plan plan, Func<StepInProgress, bool> wasDone)
{
    private readonly MidRun run = day.MidRun!;
    private readonly List<PlannedStep> rows = [.. plan.Steps];
    private readonly List<LeftOut> unplaced = [.. plan.Unplaced];
    private readonly List<LeftOut> lost = [.. plan.Lost];
    private readonly Dictionary<RequestId, CartridgePhase?> phases =
        day.MidRun!.Cartridges.ToDictionary(inWork => inWork.Request, inWork => (CartridgePhase?)inWork.Phase);
    private readonly Dictionary<ReaderNumber, LotCode> cards =
        day.MidRun!.Cards.ToDictionary(card => card.Reader, card => card.Card);
    private readonly HashSet<RequestId> gone = [];
    private Instant end = plan.Steps.Select(step => step.End).Append(day.Now)
        .Concat(day.Calendar.Select(entry => entry.To)).Max();

    /// <summary>The day as it truly is, and the plan with every cartridge left to the end.</summary>
    public (BenchDay Truth, Plan Whole) Make()
    {
        var notKnown = run.Steps.Where(step => step.Unknown).ToList();
        foreach (var step in notKnown)
            Happened(step, wasDone(step));
        foreach (var id in new NotKnown(day).Waiting)
            unplaced.Add(new LeftOut(id, new LeftOutReason.InWords("it waits")));
        var truth = day with
        {
            Requests = [.. day.Requests.Where(request => !gone.Contains(request.Id))],
            MidRun = run with
            {
                Cards = [.. cards.Select(card => new CardInReader(card.Key, card.Value))],
                Steps = [.. run.Steps.Where(step => !step.Unknown)],
                Cartridges = [.. phases.Where(pair => pair.Value is not null && !gone.Contains(pair.Key)).Select(pair =>
                    new CartridgeInWork(pair.Key, pair.Value!, run.Cartridges.FirstOrDefault(one =>
                        one.Request == pair.Key) is { MustDiscard: true } && pair.Value is CartridgePhase.Mixed
                            or CartridgePhase.Reacting))],
            },
        };
        var whole = plan with { Steps = [.. rows], Unplaced = unplaced, Lost = lost, Bound = 0 };
        var figures = PlanFigures.Of(truth, whole);
        return (truth, whole with { Cost = figures.Cost, Finish = figures.Finish, Late = figures.Late });
    }

    private void Happened(StepInProgress step, bool done)
    {
        if (step.Action is StepAction.CardChange change)
        {
            if (done)
                cards[change.Reader] = change.Lot;
            return;
        }

        var id = step.Action.Subject!.Value;
        var request = day.Requests.First(one => one.Id == id);
        var assay = day.Assays.First(one => one.Key == request.AssayKey);
        if (done)
            phases[id] = After(step, assay);
        if (done && step.Action is StepAction.Clear or StepAction.Discard)
            gone.Add(id);
        else
            Stays(id, assay);
    }

    private CartridgePhase? After(StepInProgress step, Assay assay)
    {
        var ended = new InstantRange(Instant.Min(step.Start + (step.Action is StepAction.Mix
            ? assay.MixShortest : assay.LoadShortest), run.Now), run.Now);
        return step.Action switch
        {
            StepAction.Mix => new CartridgePhase.Mixed(ended),
            StepAction.Load load => new CartridgePhase.Reacting(ended, load.Place),
            StepAction.Move move => new CartridgePhase.Reading(move.Reader, run.Now),
            _ => null,
        };
    }

    /// <summary>The cartridge is taken away when everything else has ended.</summary>
    private void Stays(RequestId id, Assay assay)
    {
        var reader = phases.GetValueOrDefault(id)?.FindReader();
        switch (phases.GetValueOrDefault(id))
        {
            case null:
                unplaced.Add(new LeftOut(id, new LeftOutReason.InWords("it was not begun")));
                return;
            case CartridgePhase.Reading reading:
                AddRead(id, reading.Reader, reading.Start, assay);
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InReader } reacting:
                AddRead(id, reader!.Value, reacting.LoadEnd.Latest + assay.Incubation, assay);
                break;
        }

        StepAction leaves = reader is { } inside
            ? new StepAction.Clear(id, inside) : new StepAction.Discard(id);
        if (reader is null)
            lost.Add(new LeftOut(id, new LeftOutReason.InWords("it is left")));
        rows.Add(new PlannedStep(leaves, new HandsNumber(1), end, end + assay.Clear));
        end += assay.Clear;
    }

    private void AddRead(RequestId id, ReaderNumber reader, Instant start, Assay assay)
    {
        var ends = Instant.Max(start + assay.Read, run.Now);
        rows.Add(new PlannedStep(new StepAction.Read(id, reader), null, start, ends));
        end = Instant.Max(end, ends);
    }
}
