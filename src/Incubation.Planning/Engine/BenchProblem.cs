using Incubation.Model;

namespace Incubation.Planning.Engine;

/// <summary>How far a cartridge has come, reduced to what is still to be planned.</summary>
internal enum Stage : byte
{
    /// <summary>Nothing has begun.</summary>
    Fresh,

    /// <summary>Mixed, or being mixed.</summary>
    Mixed,

    /// <summary>Reacting in a slot, or being loaded into one.</summary>
    Reacting,

    /// <summary>In a reader, or on the way into it: only the clear is left.</summary>
    InReader,

    /// <summary>Being cleared or discarded: nothing is left to plan.</summary>
    Gone,
}

/// <summary>The kinds of hands step of a cartridge, in the low bits of an operation's number.</summary>
internal static class Op
{
    public const int Mix = 0;
    public const int Load = 1;
    public const int Move = 2;

    /// <summary>The clear, or the discard of a cartridge that is given up: both take the same length.</summary>
    public const int Clear = 3;
    public const int Card = 4;

    /// <summary>Number of the operation of a kind of a job.</summary>
    public static int Of(int job, int kind) => (job << 3) | kind;

    public static int Job(int op) => op >> 3;

    public static int Kind(int op) => op & 7;
}

/// <summary>
/// A bench day compiled to flat arrays: whole milliseconds since the day's start, jobs (one a request, in the day's
/// order), operations (<see cref="Op"/>), hands, slots, readers and lots counted from 0. Immutable once built.
/// </summary>
internal sealed class BenchProblem
{
    public const long Never = long.MaxValue / 4;

    public required BenchDay Day { get; init; }
    public required int Jobs { get; init; }
    public required int Hands { get; init; }
    public required int Slots { get; init; }
    public required int Readers { get; init; }
    public required long Now { get; init; }
    public required long CardLength { get; init; }
    public required double WaitWeight { get; init; }

    /// <summary>Length of each operation; a card change has <see cref="CardLength"/>.</summary>
    public required long[] Length { get; init; }

    /// <summary>Earliest start of each operation, whatever the plan.</summary>
    public required long[] Earliest { get; init; }

    public required Stage[] Stage { get; init; }
    public required int[] Lot { get; init; }
    public required bool[] CanSlot { get; init; }
    public required bool[] CanReader { get; init; }

    /// <summary>Latest load start after the mix's start.</summary>
    public required long[] MixToLoadMost { get; init; }

    /// <summary>Latest load start by the facts (mixed cartridges) and by the request's loadBy.</summary>
    public required long[] LoadLatest { get; init; }

    /// <summary>Read start less load start: at least, and at most with the guard kept.</summary>
    public required long[] LoadToReadLeast { get; init; }
    public required long[] LoadToReadMost { get; init; }

    /// <summary>
    /// For a reacting cartridge: read start at least, at most with the guard kept, and the window's true close.
    /// </summary>
    public required long[] ReadFrom { get; init; }
    public required long[] ReadTo { get; init; }
    public required long[] ReadClose { get; init; }
    public required long[] ReadLength { get; init; }

    /// <summary>
    /// For a cartridge in a reader: its read's start (or <see cref="Never"/> where it has been read). For one gone: its
    /// clear's or discard's end.
    /// </summary>
    public required long[] ReadStart { get; init; }
    public required long[] GoneEnd { get; init; }

    /// <summary>Guard time that what has begun already uses, and whether a job is being discarded.</summary>
    public required bool[] BeingDiscarded { get; init; }
    public required long GuardSpent { get; init; }
    public required bool[] GuardSpentBy { get; init; }

    /// <summary>Earliest discard of a cartridge that is given up.</summary>
    public required long[] DiscardFrom { get; init; }

    public required long[] Ready { get; init; }
    public required long[] Due { get; init; }
    public required double[] LateWeight { get; init; }

    /// <summary>The requests present that a job comes after, and those that come after it.</summary>
    public required int[][] After { get; init; }
    public required int[][] Before { get; init; }

    /// <summary>
    /// Which losses weigh more: by no specimen left, urgent, patient, any; each in three decimal places.
    /// </summary>
    public required long[] LossKey { get; init; }

    /// <summary>Why a job is left out of every plan, or null.</summary>
    public required LeftOutReason?[] MustLeave { get; init; }

    public required long[] HandFree { get; init; }
    public required long[] SlotFree { get; init; }
    public required int[] SlotHolder { get; init; }
    public required long[] ReaderFree { get; init; }
    public required int[] ReaderHolder { get; init; }
    public required int[] ReaderCard { get; init; }
    public required ClosedTimes[] HandClosed { get; init; }
    public required ClosedTimes[] SlotClosed { get; init; }
    public required ClosedTimes[] ReaderClosed { get; init; }

    /// <summary>
    /// The rows of a plan that are facts: steps in progress and reads that will happen by themselves.
    /// </summary>
    public required IReadOnlyList<PlannedStep> Facts { get; init; }

    public required LotCode[] Lots { get; init; }

    public bool AnyHandClosed { get; private set; }
    public bool AnySlotClosed { get; private set; }
    public bool AnyReaderClosed { get; private set; }

    /// <summary>When the slots that hold nothing are free, by time.</summary>
    public long[] SlotsFreeFrom { get; private set; } = [];

    /// <summary>Whether a job's clear can cost anything beside the finish.</summary>
    public bool[] HasCost { get; private set; } = [];

    /// <summary>Jobs that cannot be told apart have the same number.</summary>
    public int[] Class => alike ??= Alike();

    /// <summary>
    /// Whether one pair of hands without closings does everything and every step takes time: each step then begins
    /// after the one before it, and what the hands did last tells when slots and readers are free.
    /// </summary>
    public bool HandsTell { get; private set; }

    /// <summary>
    /// What the jobs that are cleared, or being cleared, cost (milliseconds, without the finish), and when the last of
    /// them ends.
    /// </summary>
    public double GoneCost { get; private set; }

    public long GoneFinish { get; private set; }

    private int[]? alike;

    public void Seal()
    {
        HasCost = [.. Enumerable.Range(0, Jobs).Select(j => WaitWeight > 0 || Due[j] < Never)];
        AnyHandClosed = HandClosed.Any(closed => !closed.IsEmpty);
        AnySlotClosed = SlotClosed.Any(closed => !closed.IsEmpty);
        AnyReaderClosed = ReaderClosed.Any(closed => !closed.IsEmpty);
        SlotsFreeFrom = [.. SlotFree.Where((_, slot) => SlotHolder[slot] < 0).Order()];
        HandsTell = Hands == 1 && !AnyHandClosed && !AnySlotClosed && !AnyReaderClosed && CardLength > 0
            && SlotsFreeFrom.All(free => free <= HandFree[0]) && ReaderFree.All(free => free <= HandFree[0])
            && Enumerable.Range(0, Jobs)
            .All(j => Stage[j] == Engine.Stage.Gone
                || Enumerable.Range(Op.Mix, 4).All(kind => Length[Op.Of(j, kind)] > 0));
        for (var j = 0; j < Jobs; j++)
        {
            if (Stage[j] != Engine.Stage.Gone || BeingDiscarded[j])
                continue;
            GoneCost += CostOfClear(j, GoneEnd[j]);
            GoneFinish = Math.Max(GoneFinish, GoneEnd[j]);
        }
    }

    /// <summary>
    /// Whether a plan may leave the job out: in work and neither read nor on its way, or bound by an instant to be
    /// loaded by, or after one that may be left unplaced. Any other job can always be run after everything else.
    /// </summary>
    public required bool[] MayLeave { get; init; }

    /// <summary>Cost in milliseconds of a clear that ends then, without the finish.</summary>
    public double CostOfClear(int job, long end)
    {
        var cost = 0.0;
        if (end > Due[job])
            cost = (end - Due[job]) * LateWeight[job];
        if (WaitWeight > 0)
            cost += WaitWeight * (end - Ready[job]);
        return cost;
    }

    private int[] Alike()
    {
        var numbers = new Dictionary<object, int>();
        return [.. Enumerable.Range(0, Jobs).Select(j =>
        {
            object key = Stage[j] == Engine.Stage.Fresh
                ? (Day.Requests[j].AssayKey, Lot[j], Ready[j], Due[j], LateWeight[j], LoadLatest[j], MustLeave[j],
                    string.Join(' ', After[j]) + "<" + string.Join(' ', Before[j]))
                : j;
            return numbers.TryGetValue(key, out var known) ? known : numbers[key] = numbers.Count;
        })];
    }
}
