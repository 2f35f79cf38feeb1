using Incubation.TestKit;

namespace Incubation.Faults.HeldUp;

/// <summary>
/// Looks for an order of acts that saves a choice of cartridges. Acts are put down by their begin; in the order found
/// so far each begins as early as it can, and a load no earlier than the window of its read asks for.
/// </summary>
internal sealed class Orders
{
    private const long Ever = long.MaxValue / 4;
    private const int QuickTries = 25;

    /// <summary>Each quick try may take what closes so many milliseconds later first than the one before.</summary>
    private const int NoiseStep = 6000;

    private readonly Moment moment;
    private readonly int maxTries;
    private readonly Network network = new();
    private readonly List<string> names = [];
    private readonly List<int> starts = [];
    private readonly bool[] given;
    private readonly long[] spoilt;
    private readonly List<string> lots;
    private readonly Dictionary<ulong, List<long[]>> failed = [];
    private int tries;

    /// <param name="moment">The moment.</param>
    /// <param name="givenUp">The cartridges that are given up, a bit each.</param>
    /// <param name="maxTries">It gives up after so many tries.</param>
    public Orders(Moment moment, int givenUp, int maxTries)
    {
        this.moment = moment;
        this.maxTries = maxTries;
        given = [.. moment.Works.Select((_, index) => ((givenUp >> index) & 1) != 0)];
        lots = [.. moment.Works.Select(work => work.Lot).Distinct()];
        spoilt = [.. moment.Spoilt, .. moment.Works.Where((work, index) => given[index] && work.Mixture is null)
            .Select(work => work.Clear)];
    }

    /// <summary>Whether the search was given up before everything was tried.</summary>
    public bool GaveUp => tries > maxTries;

    /// <summary>The order found.</summary>
    public List<(string What, long At)> Acts { get; private set; } = [];

    /// <summary>Since when something is free: an instant, or so long after another of the network.</summary>
    private readonly record struct Since(long At, int Node = -1, long After = 0);

    /// <summary>How the bench stands after the acts so far.</summary>
    private sealed class Standing
    {
        public required Since[] Hands { get; init; }

        public required Since[] Readers { get; init; }

        public required string?[] Cards { get; init; }

        /// <summary>Since when the cartridge in each reader can be taken out; null where none is in it.</summary>
        public required Since?[] Inside { get; init; }

        public required long[] Clears { get; init; }

        public required bool[] CardNew { get; init; }

        public required List<Since> Slots { get; init; }

        public required bool[] IsOpen { get; init; }

        /// <summary>The begin of each mixture's load; -1 before.</summary>
        public required int[] Load { get; init; }

        public int SpoiltLeft { get; set; }

        public int Last { get; set; } = -1;

        public Standing Copy() => new()
        {
            Hands = [.. Hands],
            Readers = [.. Readers],
            Cards = [.. Cards],
            Inside = [.. Inside],
            Clears = [.. Clears],
            CardNew = [.. CardNew],
            Slots = [.. Slots],
            IsOpen = [.. IsOpen],
            Load = [.. Load],
            SpoiltLeft = SpoiltLeft,
            Last = Last,
        };
    }

    /// <summary>Whether there is an order that saves them all.</summary>
    public bool Find()
    {
        // Quick tries first, each straight on by what closes first, more and more at random; then everything.
        var random = new SeededRandom(1);
        for (var noise = 0; noise < QuickTries; noise++)
        {
            var mark = network.Mark();
            if (Dive(Beginning(), random, noise * NoiseStep))
                return true;
            network.Reset(mark);
            names.Clear();
            starts.Clear();
        }

        return Try(Beginning());
    }

    private bool Dive(Standing now, SeededRandom random, int noise)
    {
        if (IsDone(now))
            return true;
        while (MayStillDo(now))
        {
            var went = false;
            foreach (var (_, act) in Candidates(now)
                .OrderBy(candidate => candidate.Urgency + (noise == 0 ? 0 : random.Between(0, noise))).ToList())
            {
                var mark = network.Mark();
                var (count, next) = (names.Count, now.Copy());
                act(next);
                if (network.Settle() && MayStillDo(next))
                {
                    (now, went) = (next, true);
                    break;
                }

                network.Reset(mark);
                names.RemoveRange(count, names.Count - count);
                starts.RemoveRange(count, starts.Count - count);
            }

            if (IsDone(now))
                return true;
            if (!went)
                return false;
        }

        return false;
    }

    private bool IsDone(Standing now)
    {
        if (!Array.TrueForAll(now.IsOpen, isOpen => !isOpen))
            return false;
        Acts = [.. names.Select((name, index) => (name, network.At(starts[index])))];
        return true;
    }

    private Standing Beginning()
    {
        var readers = moment.Readers;
        return new Standing
        {
            Hands = [.. moment.Hands.Select(at => new Since(at))],
            Readers = [.. readers.Select(reader => new Since(reader.From))],
            Cards = [.. readers.Select(reader => reader.Card)],
            Inside = [.. readers.Select(reader => reader.ReadOver is { } over ? new Since(over) : (Since?)null)],
            Clears = [.. readers.Select(reader => reader.Clear)],
            CardNew = new bool[readers.Length],
            Slots = [.. moment.Slots.Select(at => new Since(at))],
            IsOpen = [.. given.Select(isGiven => !isGiven)],
            Load = [.. given.Select(_ => -1)],
            SpoiltLeft = spoilt.Length,
        };
    }

    private long TimeOf(Since since) => since.Node < 0 ? since.At : network.At(since.Node) + since.After;

    private bool IsMixture(Standing now, int index) => moment.Works[index].Mixture is not null && now.Load[index] < 0;

    private bool Try(Standing now)
    {
        if (IsDone(now))
            return true;
        if (++tries > maxTries || !MayStillDo(now))
            return false;
        var (key, times) = Seen(now);
        if (key is { } seen && failed.TryGetValue(seen, out var worse)
            && worse.Exists(earlier => IsNoLater(earlier, times)))
            return false;
        foreach (var (_, act) in Candidates(now).OrderBy(candidate => candidate.Urgency).ToList())
        {
            var mark = network.Mark();
            var (count, next) = (names.Count, now.Copy());
            act(next);
            if (network.Settle() && Try(next))
                return true;
            network.Reset(mark);
            names.RemoveRange(count, names.Count - count);
            starts.RemoveRange(count, starts.Count - count);
            if (tries > maxTries)
                return false;
        }

        if (key is { } tried)
        {
            if (!failed.TryGetValue(tried, out var before))
                failed[tried] = before = [];
            before.RemoveAll(later => IsNoLater(times, later));
            before.Add(times);
        }

        return false;
    }

    /// <summary>
    /// What decides whether the rest can be done: what is where, and from when. What failed from an earlier start fails
    /// from a later one. Not where a load may still have to be put off for its read's sake.
    /// </summary>
    private (ulong? Key, long[] Times) Seen(Standing now)
    {
        ulong key = 17;
        var needsSlot = false;
        for (var index = 0; index < now.IsOpen.Length; index++)
        {
            if (now.IsOpen[index] && now.Load[index] >= 0)
                return (null, []);
            needsSlot |= now.IsOpen[index] && moment.Works[index].Mixture is { InSlot: true };
            key = (key << 1) | (now.IsOpen[index] ? 1UL : 0);
        }

        var times = new List<long>(now.Hands.Length + now.Readers.Length + 2);
        times.AddRange(now.Hands.Select(TimeOf).Order());
        times.Add(now.Last >= 0 ? network.At(now.Last) : -Ever);
        for (var reader = 0; reader < now.Readers.Length; reader++)
        {
            key = (key * 31) + (ulong)(lots.IndexOf(now.Cards[reader] ?? "") + 1);
            key = (key * 3) + (now.Inside[reader] is not null ? 1UL : now.CardNew[reader] ? 2UL : 0);
            times.Add(TimeOf(now.Inside[reader] ?? now.Readers[reader]));
            times.Add(now.Inside[reader] is not null ? now.Clears[reader] : 0);
        }

        if (needsSlot)
        {
            key = (((key * 37) + (ulong)now.Slots.Count) * 37) + (ulong)now.SpoiltLeft + 1;
            times.AddRange(now.Slots.Select(TimeOf).Order());
        }

        return (key, [.. times]);
    }

    private static bool IsNoLater(long[] earlier, long[] later)
    {
        if (earlier.Length != later.Length)
            return false;
        for (var index = 0; index < earlier.Length; index++)
            if (earlier[index] > later[index])
                return false;
        return true;
    }

    /// <summary>Whether what no order could do is not asked: reads follow each other on a reader by so much.</summary>
    private bool MayStillDo(Standing now)
    {
        if (now.Hands.Length == 0)
            return false;
        var from = now.Hands.Min(TimeOf);
        if (now.Last >= 0)
            from = Math.Max(from, network.At(now.Last));
        var loaded = new List<int>();
        for (var index = 0; index < now.IsOpen.Length; index++)
            if (now.IsOpen[index] && !IsMixture(now, index))
                loaded.Add(index);
            else if (now.IsOpen[index] && from > moment.Works[index].Mixture!.Until)
                return false;
        if (loaded.Count == 0)
            return true;
        var cycle = loaded.Select(index => moment.Works[index]).Min(work => work.Move + work.Read + work.Clear);
        var move = loaded.Min(index => moment.Works[index].Move);
        var rank = 0;
        foreach (var closes in loaded.Select(index => moment.Works[index].Mixture is { } mixture
            ? mixture.Until + mixture.ClosesAfter : moment.Works[index].Closes).Order())
            if (from + move + (rank++ / moment.Readers.Length * cycle) > closes)
                return false;
        return true;
    }

    private long Closes(Standing now, int index) => moment.Works[index].Mixture is not { } mixture
        ? moment.Works[index].Closes
        : (now.Load[index] < 0 ? mixture.Until : network.At(now.Load[index])) + mixture.ClosesAfter;

    private IEnumerable<(long Urgency, Action<Standing> Act)> Candidates(Standing now)
    {
        for (var hand = 0; hand < now.Hands.Length; hand++)
            if (!now.Hands.AsSpan(0, hand).Contains(now.Hands[hand]))
                foreach (var candidate in OfHands(now, hand))
                    yield return candidate;
    }

    private IEnumerable<(long Urgency, Action<Standing> Act)> OfHands(Standing now, int hand)
    {
        var wanted = Enumerable.Range(0, now.IsOpen.Length).Where(index => now.IsOpen[index]).ToList();
        foreach (var index in wanted)
        {
            var work = moment.Works[index];
            var ready = Enumerable.Range(0, now.Readers.Length)
                .Where(reader => now.Cards[reader] == work.Lot && now.Inside[reader] is null);
            if (!IsMixture(now, index))
            {
                foreach (var reader in ready)
                    yield return (Closes(now, index), then => Move(then, hand, index, reader));
                continue;
            }

            var mixture = work.Mixture!;
            if (mixture.InSlot && now.Slots.Count > 0)
                yield return (mixture.Until, then => LoadSlot(then, hand, index, mixture));
            if (mixture.InSlot && now.Slots.Count == 0 && now.SpoiltLeft > 0)
                yield return (mixture.Until - 1, then => Discard(then, hand));
            if (mixture.InReader)
                foreach (var reader in ready)
                    yield return (mixture.Until + 1, then => LoadReader(then, hand, index, mixture, reader));
        }

        for (var each = 0; each < now.Readers.Length; each++)
        {
            var reader = each;
            if (now.Inside[reader] is not null)
                yield return (wanted.Min(index => Closes(now, index)) - 2, then => Clear(then, hand, reader));
            else if (!now.CardNew[reader])
                foreach (var lot in wanted.GroupBy(index => moment.Works[index].Lot))
                    if (lot.Key != now.Cards[reader] && (lot.Count() > 1 || !IsWaiting(now, lot.Key)))
                        yield return (lot.Min(index => Closes(now, index)) - 1,
                            then => Change(then, hand, reader, lot.Key));
        }
    }

    /// <summary>Whether a card has been put into an empty reader and waits there for its cartridge.</summary>
    private static bool IsWaiting(Standing now, string lot) => Enumerable.Range(0, now.Readers.Length)
        .Any(reader => now.CardNew[reader] && now.Inside[reader] is null && now.Cards[reader] == lot);

    /// <summary>A new act of a pair of hands; no act that was put down before begins later.</summary>
    private int Begin(Standing now, int hand, string name, long latest = Ever)
    {
        var node = network.Add(-Ever, latest);
        After(node, now.Hands[hand]);
        if (now.Last >= 0)
            network.Link(now.Last, node, 0);
        now.Last = node;
        names.Add(name);
        starts.Add(node);
        return node;
    }

    private void After(int node, Since since)
    {
        if (since.Node < 0)
            network.NotBefore(node, since.At);
        else
            network.Link(since.Node, node, since.After);
    }

    private void Move(Standing now, int hand, int index, int reader)
    {
        var work = moment.Works[index];
        var node = Begin(now, hand, $"move {work.Name} to reader {reader + 1}");
        After(node, now.Readers[reader]);
        // Hands that are early hold until the read may start.
        var read = network.Add(-Ever, work.Mixture is null ? work.Closes : Ever);
        network.Link(node, read, work.Move);
        if (work.Mixture is { } mixture)
        {
            network.Link(now.Load[index], read, mixture.OpensAfter);
            network.Link(read, now.Load[index], -mixture.ClosesAfter);
        }
        else
        {
            network.NotBefore(read, work.Opens);
        }

        now.Hands[hand] = new Since(0, read);
        Fill(now, reader, work, new Since(0, read, work.Read));
        now.Slots.Add(new Since(0, node));
        now.IsOpen[index] = false;
    }

    private static void Fill(Standing now, int reader, Work work, Since over)
    {
        now.Inside[reader] = over;
        now.Clears[reader] = work.Clear;
        now.CardNew[reader] = false;
    }

    private void LoadSlot(Standing now, int hand, int index, Mixture mixture)
    {
        var node = Begin(now, hand, $"load {moment.Works[index].Name}", mixture.Until);
        network.NotBefore(node, mixture.From);
        // Slots are alike: the one that is free first.
        var slot = now.Slots.MinBy(TimeOf);
        now.Slots.Remove(slot);
        After(node, slot);
        now.Hands[hand] = new Since(0, node, mixture.Load);
        now.Load[index] = node;
    }

    private void LoadReader(Standing now, int hand, int index, Mixture mixture, int reader)
    {
        var work = moment.Works[index];
        var node = Begin(now, hand, $"load {work.Name} into reader {reader + 1}", mixture.Until);
        network.NotBefore(node, mixture.From);
        After(node, now.Readers[reader]);
        now.Hands[hand] = new Since(0, node, mixture.Load);
        Fill(now, reader, work, new Since(0, node, mixture.OpensAfter + work.Read));
        now.IsOpen[index] = false;
    }

    private void Clear(Standing now, int hand, int reader)
    {
        var node = Begin(now, hand, $"clear reader {reader + 1}");
        After(node, now.Inside[reader]!.Value);
        now.Inside[reader] = null;
        now.Readers[reader] = now.Hands[hand] = new Since(0, node, now.Clears[reader]);
    }

    private void Change(Standing now, int hand, int reader, string lot)
    {
        var node = Begin(now, hand, $"card {lot} into reader {reader + 1}");
        After(node, now.Readers[reader]);
        now.Cards[reader] = lot;
        now.CardNew[reader] = true;
        now.Readers[reader] = now.Hands[hand] = new Since(0, node, moment.CardChange);
    }

    private void Discard(Standing now, int hand)
    {
        var node = Begin(now, hand, "discard");
        var length = spoilt[--now.SpoiltLeft];
        now.Hands[hand] = new Since(0, node, length);
        now.Slots.Add(new Since(0, node, length));
    }
}
