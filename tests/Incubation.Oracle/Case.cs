using Incubation.Model;

namespace Incubation.Oracle;

/// <summary>How far a cartridge has come.</summary>
internal enum Progress
{
    /// <summary>Not mixed.</summary>
    NotBegun,

    /// <summary>Mixed, or being mixed.</summary>
    Mixed,

    /// <summary>In a slot, or being loaded into one.</summary>
    InSlot,

    /// <summary>On its way from a slot into a reader.</summary>
    BeingMoved,

    /// <summary>In a reader, or being loaded into one, or being cleared.</summary>
    InReader,

    /// <summary>Being thrown away.</summary>
    BeingDiscarded,
}

/// <summary>An interval of instants or of lengths, both ends included, in units of the grid.</summary>
internal readonly record struct Span(long From, long To);

/// <summary>One request with its assay and its state, in units of the grid.</summary>
internal sealed class Case
{
    public required int Index { get; init; }
    public required Request Request { get; init; }
    public required Assay Assay { get; init; }
    public required long Mix { get; init; }
    public required long MixShortest { get; init; }
    public required long MixToLoad { get; init; }
    public required long Load { get; init; }
    public required long LoadShortest { get; init; }
    public required long Incubation { get; init; }
    public required long Window { get; init; }
    public required long Move { get; init; }
    public required long Read { get; init; }
    public required long Clear { get; init; }

    /// <summary>The mix starts no earlier (now included).</summary>
    public required long Earliest { get; init; }

    /// <summary>The ready time from which waiting counts.</summary>
    public required long Ready { get; init; }
    public required long? Due { get; init; }
    public required long? LoadBy { get; init; }

    /// <summary>Requests of the day that it comes after.</summary>
    public required IReadOnlyList<int> After { get; init; }

    /// <summary>
    /// Whether it can react in a slot, the window being wide enough for the load's spread and the guard.
    /// </summary>
    public required bool MaySlot { get; init; }

    /// <summary>Whether it can react in a reader.</summary>
    public required bool MayReader { get; init; }

    public Progress Progress { get; set; }

    /// <summary>The step in progress on it, or null; and when that ends.</summary>
    public StepInProgress? Begun { get; set; }
    public long BegunEnds { get; set; }

    /// <summary>When its mix can have ended; where it is mixed or being mixed.</summary>
    public Span MixEnd { get; set; }

    /// <summary>When its read may start, the guard included; where it reacts in a slot or is being moved.</summary>
    public Span ReadMayStart { get; set; }

    /// <summary>The slot or reader (from 0) where it is, or is being put.</summary>
    public int Slot { get; set; } = -1;
    public int Reader { get; set; } = -1;

    /// <summary>Where it is in a reader: its read, or null where that is over.</summary>
    public Span? ReadRuns { get; set; }

    public string Id => Request.Id.Value;
    public bool InWork => Progress != Progress.NotBegun;
    public bool MayBeLost => Progress is Progress.Mixed or Progress.InSlot or Progress.BeingMoved;
    public bool IsUrgent => Request.Priority == Priority.Urgent;

    /// <summary>
    /// Whether two requests can change places in any plan without a difference. (That no other comes after them is the
    /// caller's to see.)
    /// </summary>
    public bool IsLike(Case other) =>
        !InWork && !other.InWork && Assay.Code == other.Assay.Code && Request.Lot == other.Request.Lot
            && Earliest == other.Earliest
        && Ready == other.Ready && Due == other.Due && LoadBy == other.LoadBy && IsUrgent == other.IsUrgent
        && After.Order().SequenceEqual(other.After.Order());
}
