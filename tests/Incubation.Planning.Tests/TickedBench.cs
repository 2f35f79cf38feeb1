using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Tests;

/// <summary>
/// Finds by plain trial whether cartridges in work can be saved: at every tick each free pair of hands begins anything
/// that it can, or nothing. Slow on purpose, and shares nothing with the engine. All times of its day are whole ticks.
/// </summary>
internal sealed class TickedBench
{
    public const int SecondsOfTick = 5;
    private const int Far = 1_000_000;
    private readonly BenchDay day;
    private readonly bool guardIsUsed;
    private readonly HashSet<string> seen = [];
    private bool[] save = [];
    private int idleUntil;

    public TickedBench(BenchDay day, bool guardIsUsed)
    {
        this.day = day;
        this.guardIsUsed = guardIsUsed;
    }

    /// <summary>Where everything stands at a tick.</summary>
    private sealed class World
    {
        public int At;
        public int[] HandsBusyUntil = [];
        public int[] Holder = [], ReaderBusyUntil = [], MustBeClearedBy = [];
        public string[] Card = [];
        public int[] Slot = [];
        public Job[] Jobs = [];

        public World Copy()
        {
            var copy = (World)MemberwiseClone();
            copy.HandsBusyUntil = [.. HandsBusyUntil];
            copy.Holder = [.. Holder];
            copy.ReaderBusyUntil = [.. ReaderBusyUntil];
            copy.MustBeClearedBy = [.. MustBeClearedBy];
            copy.Card = [.. Card];
            copy.Slot = [.. Slot];
            copy.Jobs = [.. Jobs];
            return copy;
        }

        public string Key() => string.Join(' ', HandsBusyUntil.Select(until => Math.Max(until, At)).Concat(Holder)
            .Concat(ReaderBusyUntil.Select(until => Math.Max(until, At))).Concat(MustBeClearedBy).Concat(Slot)
            .Append(At))
            + string.Join(' ', Card) + string.Join(' ', Jobs.Select(job => job.ToString()));
    }

    private enum Where
    {
        Mixed,
        InSlot,
        InReader,
        Away,
    }

    /// <param name="Where">Where the cartridge is.</param>
    /// <param name="Opens">The earliest read or load start.</param>
    /// <param name="Closes">The latest.</param>
    /// <param name="From">No step of it before.</param>
    /// <param name="IsSaved">Whether its read is certain.</param>
    private readonly record struct Job(Where Where, int Opens, int Closes, int From, bool IsSaved);

    public IEnumerable<RequestId> Requests => day.Requests.Select(request => request.Id);

    public int Now => Ticks(day.Now);

    public int Ticks(Instant at) => Ticks(at - day.Start);

    private static int Ticks(Duration length) => (int)(length.TotalSeconds / SecondsOfTick);

    /// <summary>The first tick of idle hands at which a set cannot be saved any more, less one; null where not even
    /// now.</summary>
    public int? LastTick(bool[] jobs)
    {
        if (!CanSave(jobs, Now))
            return null;
        var at = Now;
        while (CanSave(jobs, at + 1))
            at++;
        // Once it cannot be saved it never can be again.
        Assert(!CanSave(jobs, at + 2) && !CanSave(jobs, at + 5), "waiting longer saves what waiting loses");
        return at;
    }

    private static void Assert(bool holds, string what)
    {
        if (!holds)
            throw new InvalidOperationException(what);
    }

    public bool CanSave(bool[] jobs, int idle)
    {
        (save, idleUntil) = (jobs, idle);
        seen.Clear();
        return Saves(AsFound(), 0);
    }

    private Assay AssayOf(int j) => day.Assays.Single(assay => assay.Code == day.Requests[j].Assay);

    private int IndexOf(RequestId id) => day.Requests.ToList().FindIndex(request => request.Id == id);

    private World AsFound()
    {
        var run = day.MidRun!;
        var world = new World
        {
            At = Now,
            HandsBusyUntil = [.. Enumerable.Repeat(Now, day.Bench.Hands)],
            Holder = [.. Enumerable.Repeat(-1, day.Bench.Readers)],
            ReaderBusyUntil = [.. Enumerable.Repeat(Now, day.Bench.Readers)],
            MustBeClearedBy = [.. Enumerable.Repeat(Far, day.Bench.Readers)],
            Card = [.. Enumerable.Repeat("", day.Bench.Readers)],
            Slot = [.. Enumerable.Repeat(-1, day.Bench.Slots)],
            Jobs = [.. day.Requests.Select(_ => new Job(Where.Away, 0, -1, Now, false))],
        };
        foreach (var card in run.Cards)
            world.Card[card.Reader.Value - 1] = card.Card.Value;
        foreach (var cartridge in run.Cartridges)
        {
            var j = IndexOf(cartridge.Request);
            switch (cartridge.Phase)
            {
                case CartridgePhase.Mixed mixed:
                    Mixes(world, j, Ticks(mixed.MixEnd.Earliest), Ticks(mixed.MixEnd.Latest));
                    break;
                case CartridgePhase.Reacting { Place: CartridgePlace.InSlot slot } reacting:
                    Reacts(world, j, slot.Slot.Value - 1, Ticks(reacting.LoadEnd.Earliest),
                        Ticks(reacting.LoadEnd.Latest));
                    break;
                case CartridgePhase.Reading reading:
                    Lies(world, j, reading.Reader.Value - 1, Ticks(reading.Start) + Ticks(AssayOf(j).Read));
                    break;
                case CartridgePhase.Read read:
                    Lies(world, j, read.Reader.Value - 1, Now);
                    break;
            }
        }

        foreach (var step in run.Steps)
            GoesOn(world, step);
        return world;
    }

    private void Mixes(World world, int j, int earliest, int latest)
    {
        var loadBy = earliest + Ticks(AssayOf(j).MixToLoad);
        world.Jobs[j] = new Job(Where.Mixed, latest, loadBy, latest, false);
    }

    private void Reacts(World world, int j, int slot, int earliest, int latest)
    {
        var assay = AssayOf(j);
        var closes = earliest + Ticks(assay.Incubation + assay.ReadWindow)
            - (guardIsUsed ? 0 : Ticks(day.Bench.ReadGuard));
        world.Jobs[j] = new Job(Where.InSlot, latest + Ticks(assay.Incubation), closes, latest, false);
        world.Slot[slot] = j;
    }

    private void Lies(World world, int j, int reader, int until)
    {
        world.Jobs[j] = new Job(Where.InReader, 0, 0, Now, true);
        (world.Holder[reader], world.ReaderBusyUntil[reader]) = (j, Math.Max(Now, until));
    }

    private void GoesOn(World world, StepInProgress step)
    {
        var j = step.Action.Subject is { } id ? IndexOf(id) : -1;
        int Ends(Duration length) => Math.Max(Now, Ticks(step.Start) + Ticks(length));
        int end;
        switch (step.Action)
        {
            case StepAction.Mix:
                Mixes(world, j, Ends(AssayOf(j).MixShortest), end = Ends(AssayOf(j).Mix));
                break;
            case StepAction.Load { Place: CartridgePlace.InSlot slot }:
                Reacts(world, j, slot.Slot.Value - 1, Ends(AssayOf(j).LoadShortest), end = Ends(AssayOf(j).Load));
                break;
            case StepAction.Clear clear:
                end = Ends(AssayOf(j).Clear);
                world.Jobs[j] = new Job(Where.Away, 0, 0, Now, true);
                (world.Holder[clear.Reader.Value - 1], world.ReaderBusyUntil[clear.Reader.Value - 1]) = (-1, end);
                break;
            case StepAction.CardChange change:
                end = Ends(day.Bench.CardChange);
                (world.Card[change.Reader.Value - 1], world.ReaderBusyUntil[change.Reader.Value - 1]) =
                    (change.Lot.Value, end);
                break;
            default:
                throw new InvalidOperationException("No such step is made here.");
        }

        world.HandsBusyUntil[step.Hands.Value - 1] = end;
    }

    private bool Saves(World world, int hands)
    {
        if (save.Select((wanted, j) => !wanted || world.Jobs[j].IsSaved).All(saved => saved)
            && world.MustBeClearedBy.All(by => by == Far))
            return true;
        if (save.Where((wanted, j) => wanted && !world.Jobs[j].IsSaved && world.Jobs[j].Closes < world.At).Any()
            || world.MustBeClearedBy.Any(by => by < world.At))
            return false;
        if (hands == day.Bench.Hands)
        {
            var next = world.Copy();
            next.At++;
            return Saves(next, 0);
        }

        // What is being looked at counts as failed as well: steps of no length could go round for ever.
        if (!seen.Add(hands + "/" + world.Key()))
            return false;
        if (world.At >= idleUntil && world.HandsBusyUntil[hands] <= world.At)
            foreach (var next in Choices(world, hands))
                if (Saves(next, hands))
                    return true;
        return Saves(world, hands + 1);
    }

    private IEnumerable<World> Choices(World world, int hands)
    {
        for (var r = 0; r < day.Bench.Readers; r++)
        {
            if (world.ReaderBusyUntil[r] > world.At)
                continue;
            var holder = world.Holder[r];
            if (holder >= 0)
            {
                if (Begin(world, hands, AssayOf(holder).Clear) is not { } cleared
                    || cleared.HandsBusyUntil[hands] > world.MustBeClearedBy[r])
                    continue;
                (cleared.Holder[r], cleared.ReaderBusyUntil[r]) = (-1, cleared.HandsBusyUntil[hands]);
                cleared.MustBeClearedBy[r] = Far;
                yield return cleared;
                continue;
            }

            var card = new BenchResource.Reader(new ReaderNumber(r + 1));
            foreach (var lot in day.Requests.Where((_, j) => save[j] && !world.Jobs[j].IsSaved)
                .Select(request => request.Lot.Value).Distinct().Where(lot => lot != world.Card[r]))
            {
                if (IsClosed(card, world.At, Ticks(day.Bench.CardChange))
                    || Begin(world, hands, day.Bench.CardChange) is not { } changed)
                    continue;
                (changed.Card[r], changed.ReaderBusyUntil[r]) = (lot, changed.HandsBusyUntil[hands]);
                yield return changed;
            }

            for (var j = 0; j < save.Length; j++)
            {
                if (save[j] && day.Requests[j].Lot.Value == world.Card[r] && Move(world, hands, j, r) is { } moved)
                    yield return moved;
            }
        }

        for (var j = 0; j < save.Length; j++)
        {
            if (save[j] && world.Jobs[j].Where == Where.Mixed)
                foreach (var loaded in Loads(world, hands, j))
                    yield return loaded;
            if (save[j] || Array.IndexOf(world.Slot, j) < 0 || world.Jobs[j].Where != Where.InSlot
                || world.At < world.Jobs[j].From || Begin(world, hands, AssayOf(j).Clear) is not { } gone)
                continue;
            // What is given up is thrown away; its slot is free after that.
            gone.Jobs[j] = world.Jobs[j] with { Where = Where.Away, From = gone.HandsBusyUntil[hands] };
            yield return gone;
        }
    }

    private World? Move(World world, int hands, int j, int r)
    {
        var job = world.Jobs[j];
        var assay = AssayOf(j);
        var read = world.At + Ticks(assay.Move);
        var reader = new BenchResource.Reader(new ReaderNumber(r + 1));
        if (job.Where != Where.InSlot || world.At < job.From || read < job.Opens || read > job.Closes
            || IsClosed(reader, world.At, 1) || Begin(world, hands, assay.Move) is not { } moved)
            return null;
        moved.Jobs[j] = new Job(Where.InReader, 0, 0, 0, true);
        moved.Slot[Array.IndexOf(moved.Slot, j)] = -1;
        (moved.Holder[r], moved.ReaderBusyUntil[r]) = (j, read + Ticks(assay.Read));
        moved.MustBeClearedBy[r] = day.Calendar.Where(entry => entry.Resource.Includes(reader)
            && Ticks(entry.From) > world.At).Select(entry => Ticks(entry.From)).DefaultIfEmpty(Far).Min();
        return moved;
    }

    private IEnumerable<World> Loads(World world, int hands, int j)
    {
        var assay = AssayOf(j);
        if (world.At < world.Jobs[j].Opens || world.At > world.Jobs[j].Closes)
            yield break;
        for (var s = 0; s < world.Slot.Length; s++)
        {
            var slot = new BenchResource.Slot(new SlotNumber(s + 1));
            var inside = world.Slot[s];
            if ((inside >= 0 && !(world.Jobs[inside].Where == Where.Away && world.Jobs[inside].From <= world.At))
                || IsClosed(slot, world.At, 1) || Begin(world, hands, assay.Load) is not { } loaded)
                continue;
            var end = loaded.HandsBusyUntil[hands];
            var closes = world.At + Ticks(assay.LoadShortest + assay.Incubation + assay.ReadWindow
                - day.Bench.ReadGuard);
            var leavesBy = day.Calendar.Where(entry => entry.Resource.Includes(slot) && Ticks(entry.From) > world.At)
                .Select(entry => Ticks(entry.From)).DefaultIfEmpty(Far).Min();
            loaded.Jobs[j] = new Job(Where.InSlot, end + Ticks(assay.Incubation),
                Math.Min(closes, leavesBy == Far ? Far : leavesBy + Ticks(assay.Move)), end, false);
            loaded.Slot[s] = j;
            yield return loaded;
        }
    }

    private World? Begin(World world, int hands, Duration length)
    {
        if (IsClosed(new BenchResource.Hands(new HandsNumber(hands + 1)), world.At, Ticks(length)))
            return null;
        var next = world.Copy();
        next.HandsBusyUntil[hands] = world.At + Ticks(length);
        return next;
    }

    private bool IsClosed(BenchResource resource, int at, int length) => day.Calendar.Any(entry =>
        entry.Resource.Includes(resource) && (length == 0
            ? Ticks(entry.From) <= at && at < Ticks(entry.To)
            : Ticks(entry.From) < at + length && at < Ticks(entry.To)));
}
