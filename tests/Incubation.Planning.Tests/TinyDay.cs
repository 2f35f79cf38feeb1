using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Tests;

internal enum TinyStage
{
    Fresh,
    Mixed,
    Reacting,
    InReader,
    Gone,
}

/// <summary>One request as the enumerator sees it; times in milliseconds since the day's start.</summary>
internal sealed class TinyJob
{
    public required Request Request { get; init; }
    public required Assay Assay { get; init; }
    public required int Lot { get; init; }
    public required int[] After { get; init; }
    public TinyStage Stage { get; set; }

    /// <summary>What the step before can have ended at: the mix, or the load.</summary>
    public long EndEarliest { get; set; }
    public long EndLatest { get; set; }

    /// <summary>When the read has ended, for one in a reader; when it is gone, for one that leaves.</summary>
    public long Until { get; set; }
    public long DiscardFrom { get; set; }
    public bool Discarded { get; set; }
    public bool DoomedInReader { get; set; }
    public long GuardSpent { get; set; }
    public bool MayLeave { get; set; }

    public int FirstKind => Stage switch
    {
        TinyStage.Fresh => Kind.Mix,
        TinyStage.Mixed => Kind.Load,
        TinyStage.Reacting => DoomedInReader ? Kind.Discard : Kind.Move,
        TinyStage.InReader => Kind.Clear,
        _ => Kind.Done,
    };

    public long LossKey => (Request.RepeatLeft ? 0 : 1_000_000_000L) + (Request.Priority == Priority.Urgent
        ? 1_000_000L : 0)
        + (Request.Kind == RequestKind.Patient ? 1_000L : 0) + 1;

    public long Length(int kind, long cardChange) => (long)(kind switch
    {
        Kind.Mix => Assay.Mix,
        Kind.Load => Assay.Load,
        Kind.Move => Assay.Move,
        Kind.Card => Duration.FromMilliseconds(cardChange),
        _ => Assay.Clear,
    }).TotalMilliseconds;
}

/// <summary>A bench day as the enumerator sees it.</summary>
internal sealed class TinyDay
{
    public TinyDay(BenchDay day)
    {
        Day = day;
        Now = Math.Max(0, Ms(day.Now));
        var lots = day.Requests.Select(r => r.Lot).Concat(day.MidRun?.Cards.Select(c => c.Card) ?? [])
            .Concat(day.MidRun?.Steps.Select(s => s.Action).OfType<StepAction.CardChange>().Select(c => c.Lot) ?? [])
            .Distinct().ToList();
        Jobs = [.. day.Requests.Select(r => new TinyJob
        {
            Request = r,
            Assay = day.Assays.Single(a => a.Code == r.Assay),
            Lot = lots.IndexOf(r.Lot),
            After = [.. day.Requests.Select((other, k) => (other, k)).Where(o => r.After.Contains(o.other.Id))
                .Select(o => o.k)],
            DiscardFrom = Now,
        })];
        Hands = day.Bench.Hands;
        Guard = Ms(day.Bench.ReadGuard);
        CardChange = Ms(day.Bench.CardChange);
        HandFree = [.. Enumerable.Repeat(Now, Hands)];
        SlotFree = [.. Enumerable.Repeat(Now, day.Bench.Slots)];
        SlotHolder = [.. Enumerable.Repeat(-1, day.Bench.Slots)];
        ReaderFree = [.. Enumerable.Repeat(Now, day.Bench.Readers)];
        ReaderHolder = [.. Enumerable.Repeat(-1, day.Bench.Readers)];
        Card = [.. Enumerable.Repeat((int?)null, day.Bench.Readers)];
        SlotsDiffer = day.Calendar.Any(e => e.Resource is BenchResource.Slot) || SlotFree.Length == 0;
        if (day.MidRun is { } run)
            ReadState(run, lots);
        foreach (var job in Jobs)
            job.MayLeave = job.Stage is TinyStage.Fresh or TinyStage.Mixed or TinyStage.Reacting;
    }

    public BenchDay Day { get; }
    public long Now { get; }
    public List<TinyJob> Jobs { get; }
    public int Hands { get; }
    public long Guard { get; }
    public long CardChange { get; }
    public long[] HandFree { get; }
    public long[] SlotFree { get; }
    public int[] SlotHolder { get; }
    public long[] ReaderFree { get; }
    public int[] ReaderHolder { get; }
    public int?[] Card { get; }
    public bool SlotsDiffer { get; }
    public bool HandsAreAlike => HandFree.All(f => f == HandFree[0])
        && Day.Calendar.All(e => e.Resource is not BenchResource.Hands);

    public static long Ms(Duration duration) => (long)duration.TotalMilliseconds;

    public long Ms(Instant instant) => Ms(instant - Day.Start);

    /// <summary>Whether a job that is kept comes after one that is unplaced.</summary>
    public bool FollowsUnplaced(bool[] left) => Jobs.Where((job, j) => job.Stage == TinyStage.Fresh && !left[j])
        .Any(job => job.After.Any(before => Jobs[before].Stage == TinyStage.Fresh && left[before]));

    private int IndexOf(RequestId id) => Jobs.FindIndex(j => j.Request.Id == id);

    private void ReadState(MidRun run, List<LotCode> lots)
    {
        foreach (var card in run.Cards)
            Card[card.Reader.Value - 1] = lots.IndexOf(card.Card);
        foreach (var cartridge in run.Cartridges)
            Phase(IndexOf(cartridge.Request), cartridge.Phase);
        foreach (var step in run.Steps)
            InProgress(step, lots);
    }

    private void Phase(int j, CartridgePhase phase)
    {
        var job = Jobs[j];
        switch (phase)
        {
            case CartridgePhase.Mixed mixed:
                (job.Stage, job.EndEarliest, job.EndLatest) = (TinyStage.Mixed, Ms(mixed.MixEnd.Earliest),
                    Ms(mixed.MixEnd.Latest));
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InSlot slot } reacting:
                (job.Stage, job.EndEarliest, job.EndLatest) = (TinyStage.Reacting, Ms(reacting.LoadEnd.Earliest),
                    Ms(reacting.LoadEnd.Latest));
                SlotHolder[slot.Slot.Value - 1] = j;
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InReader reader } reacting:
                Holds(j, reader.Reader, Ms(reacting.LoadEnd.Latest) + Ms(job.Assay.Incubation) + Ms(job.Assay.Read));
                break;
            case CartridgePhase.Reading reading:
                Holds(j, reading.Reader, Ms(reading.Start) + Ms(job.Assay.Read));
                break;
            case CartridgePhase.Read read:
                Holds(j, read.Reader, Now);
                break;
        }
    }

    private void Holds(int j, ReaderNumber reader, long readEnd)
    {
        (Jobs[j].Stage, Jobs[j].Until) = (TinyStage.InReader, Math.Max(Now, readEnd));
        ReaderHolder[reader.Value - 1] = j;
    }

    private void InProgress(StepInProgress step, List<LotCode> lots)
    {
        var j = step.Action.Subject is { } id ? IndexOf(id) : -1;
        long Ends(Duration length) => Math.Max(Now, Ms(step.Start) + Ms(length));
        long end;
        switch (step.Action)
        {
            case StepAction.Mix:
                end = Ends(Jobs[j].Assay.Mix);
                (Jobs[j].Stage, Jobs[j].EndEarliest, Jobs[j].EndLatest, Jobs[j].DiscardFrom) =
                    (TinyStage.Mixed, Ends(Jobs[j].Assay.MixShortest), end, end);
                break;
            case StepAction.Load { Place: CartridgePlace.InSlot slot }:
                end = Ends(Jobs[j].Assay.Load);
                (Jobs[j].Stage, Jobs[j].EndEarliest, Jobs[j].EndLatest, Jobs[j].DiscardFrom) =
                    (TinyStage.Reacting, Ends(Jobs[j].Assay.LoadShortest), end, end);
                SlotHolder[slot.Slot.Value - 1] = j;
                break;
            case StepAction.Load { Place: CartridgePlace.InReader reader }:
                end = Ends(Jobs[j].Assay.Load);
                Holds(j, reader.Reader, end + Ms(Jobs[j].Assay.Incubation) + Ms(Jobs[j].Assay.Read));
                break;
            case StepAction.Move move:
                end = Math.Max(Ends(Jobs[j].Assay.Move), Jobs[j].EndLatest + Ms(Jobs[j].Assay.Incubation));
                SlotHolder[Array.IndexOf(SlotHolder, j)] = -1;
                var close = Jobs[j].EndEarliest + Ms(Jobs[j].Assay.Incubation) + Ms(Jobs[j].Assay.ReadWindow);
                Holds(j, move.Reader, end + Ms(Jobs[j].Assay.Read));
                if (end > close)
                    (Jobs[j].Stage, Jobs[j].DoomedInReader, Jobs[j].DiscardFrom) = (TinyStage.Reacting, true, end);
                else
                    Jobs[j].GuardSpent = Math.Max(0, end - (close - Guard));
                break;
            case StepAction.CardChange change:
                end = Ends(Day.Bench.CardChange);
                (ReaderFree[change.Reader.Value - 1], Card[change.Reader.Value - 1]) = (end, lots.IndexOf(change.Lot));
                break;
            default:
                end = Ends(Jobs[j].Assay.Clear);
                Leaves(j, end, step.Action is StepAction.Discard);
                break;
        }

        HandFree[step.Hands.Value - 1] = end;
    }

    private void Leaves(int j, long end, bool discarded)
    {
        (Jobs[j].Stage, Jobs[j].Until, Jobs[j].Discarded) = (TinyStage.Gone, end, discarded);
        if (Array.IndexOf(SlotHolder, j) is >= 0 and var slot)
            (SlotHolder[slot], SlotFree[slot]) = (-1, end);
        if (Array.IndexOf(ReaderHolder, j) is >= 0 and var reader)
            (ReaderHolder[reader], ReaderFree[reader]) = (-1, end);
    }
}
