using Incubation.Model;
using Incubation.Planning;

namespace Incubation.Oracle;

/// <summary>
/// When a pair of hands, a slot, all slots or a reader cannot be used; numbers from 0, -1 for all slots.
/// </summary>
internal sealed record Closed(ResourceKind Resource, int Number, long From, long To);

/// <summary>A bench day in whole units since its start.</summary>
internal sealed class Problem
{
    private readonly Dictionary<RequestId, int> indexOf;

    public Problem(BenchDay actual)
    {
        var day = KnownDay.Of(actual);
        Day = day;
        Grid = new TimeGrid(day);
        Now = Grid.Of(day.Now);
        Guard = Grid.Of(day.Bench.ReadGuard);
        CardChange = Grid.Of(day.Bench.CardChange);
        indexOf = day.Requests.Select((request, index) => (request.Id, index))
            .ToDictionary(pair => pair.Id, pair => pair.index);
        var assays = day.Assays.ToDictionary(assay => assay.Code);
        Cases = [.. day.Requests.Select((request, index) => CaseOf(request, assays[request.Assay], index))];
        CardIn = new LotCode?[day.Bench.Readers];
        ReaderFree = [.. Enumerable.Repeat(Now, day.Bench.Readers)];
        ReadState(day.MidRun);
        Calendar = [.. day.Calendar
            .Select(entry =>
                new Closed(entry.Resource.Parts.Kind, (entry.Resource.Parts.Number ?? 0) - 1,
                    Math.Max(Now, Grid.Of(entry.From)), Grid.Of(entry.To)))
            .Where(entry => entry.From < entry.To)];
        Horizon = HorizonOf();
    }

    public BenchDay Day { get; }
    public TimeGrid Grid { get; }
    public long Now { get; }
    public long Guard { get; }
    public long CardChange { get; }
    public int Hands => Day.Bench.Hands;
    public int Slots => Day.Bench.Slots;
    public int Readers => Day.Bench.Readers;
    public IReadOnlyList<Case> Cases { get; }

    /// <summary>Entries as they bind: from now on.</summary>
    public IReadOnlyList<Closed> Calendar { get; }

    /// <summary>The card in each reader once what is in progress there has ended, or null.</summary>
    public LotCode?[] CardIn { get; }

    /// <summary>When each reader's card change in progress has ended; else now.</summary>
    public long[] ReaderFree { get; }

    /// <summary>No best plan needs to go on for longer.</summary>
    public long Horizon { get; }

    private Case CaseOf(Request request, Assay assay, int index)
    {
        var (mix, load, loadShortest) = (Grid.Of(assay.Mix), Grid.Of(assay.Load), Grid.Of(assay.LoadShortest));
        var (incubation, window, move) = (Grid.Of(assay.Incubation), Grid.Of(assay.ReadWindow), Grid.Of(assay.Move));
        var ready = Grid.Of(request.EffectiveReady(Day.Start));
        var isWide = load + Math.Max(incubation, move) <= loadShortest + incubation + window - Guard;
        return new Case
        {
            Index = index,
            Request = request,
            Assay = assay,
            Mix = mix,
            MixShortest = Grid.Of(assay.MixShortest),
            MixToLoad = Grid.Of(assay.MixToLoad),
            Load = load,
            LoadShortest = loadShortest,
            Incubation = incubation,
            Window = window,
            Move = move,
            Read = Grid.Of(assay.Read),
            Clear = Grid.Of(assay.Clear),
            Earliest = Math.Max(Now, ready),
            Ready = ready,
            Due = request.EffectiveDue(Day.Start) is { } due ? Grid.Of(due) : null,
            LoadBy = request.LoadBy is { } by ? Grid.Of(by) : null,
            After = [.. request.After.Where(indexOf.ContainsKey).Select(id => indexOf[id]).Distinct()],
            MaySlot = assay.Place != IncubationPlace.Reader && Slots > 0 && isWide,
            MayReader = assay.Place != IncubationPlace.Incubator,
        };
    }

    private void ReadState(MidRun? run)
    {
        if (run is null)
            return;
        foreach (var card in run.Cards)
            CardIn[card.Reader.Value - 1] = card.Card;
        foreach (var cartridge in run.Cartridges)
            ReadPhase(Cases[indexOf[cartridge.Request]], cartridge.Phase);
        foreach (var step in run.Steps)
        {
            if (step.Action is StepAction.CardChange change)
            {
                ReaderFree[change.Reader.Value - 1] = EndOf(step, CardChange);
                CardIn[change.Reader.Value - 1] = change.Lot;
            }
            else
                ReadStep(Cases[indexOf[step.Action.Subject!.Value]], step);
        }
    }

    private void ReadPhase(Case its, CartridgePhase phase)
    {
        switch (phase)
        {
            case CartridgePhase.Mixed mixed:
                its.Progress = Progress.Mixed;
                its.MixEnd = SpanOf(mixed.MixEnd);
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InSlot { Slot: var slot } } reacting:
                ReactsInSlot(its, slot, SpanOf(reacting.LoadEnd));
                break;
            case CartridgePhase.Reacting { Place: CartridgePlace.InReader { Reader: var reader } } reacting:
                IsInReader(its, reader, SpanOf(reacting.LoadEnd).To + its.Incubation);
                break;
            case CartridgePhase.Reading reading:
                IsInReader(its, reading.Reader, Grid.Of(reading.Start));
                break;
            case CartridgePhase.Read { Reader: var reader }:
                IsInReader(its, reader, null);
                break;
        }
    }

    private void ReadStep(Case its, StepInProgress step)
    {
        its.Begun = step;
        switch (step.Action)
        {
            case StepAction.Mix:
                its.Progress = Progress.Mixed;
                its.MixEnd = new Span(EndOf(step, its.MixShortest), its.BegunEnds = EndOf(step, its.Mix));
                break;
            case StepAction.Load load:
                its.BegunEnds = EndOf(step, its.Load);
                if (load.Place is CartridgePlace.InSlot { Slot: var slot })
                    ReactsInSlot(its, slot, new Span(EndOf(step, its.LoadShortest), its.BegunEnds));
                else
                    IsInReader(its, load.NeedsReader!.Value, its.BegunEnds + its.Incubation);
                break;
            case StepAction.Move move:
                its.Progress = Progress.BeingMoved;
                its.Slot = -1;
                its.Reader = move.Reader.Value - 1;
                its.BegunEnds = Math.Max(EndOf(step, its.Move), its.ReadMayStart.From);
                break;
            case StepAction.Clear:
                its.BegunEnds = EndOf(step, its.Clear);
                break;
            case StepAction.Discard:
                its.Progress = Progress.BeingDiscarded;
                its.BegunEnds = EndOf(step, its.Clear);
                break;
        }
    }

    private static void ReactsInSlot(Case its, SlotNumber slot, Span loadEnd)
    {
        its.Progress = Progress.InSlot;
        its.Slot = slot.Value - 1;
        its.ReadMayStart = new Span(loadEnd.To + its.Incubation, loadEnd.From + its.Incubation + its.Window);
    }

    private void IsInReader(Case its, ReaderNumber reader, long? readStart)
    {
        its.Progress = Progress.InReader;
        its.Reader = reader.Value - 1;
        its.ReadRuns = readStart is { } start ? new Span(start, Math.Max(start + its.Read, Now)) : null;
    }

    /// <summary>When a step in progress ends, for planning.</summary>
    public long EndOf(StepInProgress step) => step.Action.Subject is { } id
        ? Cases[indexOf[id]].BegunEnds : EndOf(step, CardChange);

    private long EndOf(StepInProgress step, long length) => Math.Max(Grid.Of(step.Start) + length, Now);

    private Span SpanOf(InstantRange range) => new(Grid.Of(range.Earliest), Grid.Of(range.Latest));

    /// <summary>
    /// Once nothing binds any more, the requests can follow one another, each at its slowest: a longer plan has a gap
    /// to close.
    /// </summary>
    private long HorizonOf()
    {
        var free = ReaderFree.Append(Now).Concat(Calendar.Select(entry => entry.To)).Max();
        var work = 0L;
        foreach (var its in Cases)
        {
            free = new[] { free, its.Earliest, its.BegunEnds, its.ReadMayStart.To + its.Move, its.ReadRuns?.To
                ?? 0 }.Max();
            work += its.Mix + its.MixToLoad + its.Load + its.Incubation + its.Window + its.Move + its.Read
                + (2 * its.Clear) + CardChange;
        }
        return free + work + 1;
    }
}
