using System.Collections.Immutable;

namespace Incubation.Faults.HeldUp;

/// <summary>A cartridge in work that may still be saved. Instants and lengths are whole milliseconds.</summary>
internal sealed record Work(string Name, string Lot, Loss Weight)
{
    /// <summary>Loaded, in a slot: its read starts no earlier; of a mixture its load decides.</summary>
    public long Opens { get; init; }

    /// <summary>Loaded, in a slot: its read starts no later.</summary>
    public long Closes { get; init; }

    /// <summary>Null where it is loaded; else what its load and its read keep.</summary>
    public Mixture? Mixture { get; init; }

    public long Move { get; init; }

    public long Read { get; init; }

    public long Clear { get; init; }
}

/// <summary>A mixture that is not loaded.</summary>
/// <param name="From">Its load begins no earlier.</param>
/// <param name="Until">Its load begins no later.</param>
/// <param name="Load">Allowed length of the load.</param>
/// <param name="OpensAfter">So long after the load's begin its read starts at the earliest.</param>
/// <param name="ClosesAfter">So long after the load's begin its read starts at the latest.</param>
/// <param name="InSlot">Whether it may react in a slot.</param>
/// <param name="InReader">Whether it may react in a reader.</param>
internal sealed record Mixture(long From, long Until, long Load, long OpensAfter, long ClosesAfter, bool InSlot,
    bool InReader);

/// <summary>A reader.</summary>
/// <param name="Card">The lot whose card is in it, or null.</param>
/// <param name="From">It can be used from then on.</param>
/// <param name="ReadOver">Where a cartridge is in it: when that can be taken out; else null.</param>
/// <param name="Clear">How long that takes.</param>
internal sealed record ReaderThen(string? Card, long From, long? ReadOver = null, long Clear = 0);

/// <summary>
/// A bench as it truly stands at an instant: what there is to be saved, and with what. Nothing new is mixed.
/// </summary>
internal sealed record Moment
{
    /// <summary>When each pair of hands that is there is free.</summary>
    public required ImmutableArray<long> Hands { get; init; }

    public required ImmutableArray<ReaderThen> Readers { get; init; }

    /// <summary>When each empty slot that can be used can be loaded.</summary>
    public required ImmutableArray<long> Slots { get; init; }

    public required ImmutableArray<Work> Works { get; init; }

    /// <summary>How long each cartridge takes to throw away that stands lost in a slot.</summary>
    public ImmutableArray<long> Spoilt { get; init; } = [];

    public required long CardChange { get; init; }

    /// <summary>What is lost already.</summary>
    public Loss Lost { get; init; }
}

/// <summary>The best that can still come of a moment.</summary>
/// <param name="Loss">What is lost all the same, what was lost already included.</param>
/// <param name="GivenUp">Those in work that are given up.</param>
/// <param name="Acts">What saves the others, with the instants.</param>
/// <param name="IsProved">Whether nothing better can be; false where the search was given up.</param>
internal sealed record BestCourse(Loss Loss, ImmutableArray<string> GivenUp,
    ImmutableArray<(string What, long At)> Acts, bool IsProved);
