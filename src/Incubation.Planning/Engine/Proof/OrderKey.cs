namespace Incubation.Planning.Engine.Proof;

/// <summary>How far a job has come in an order begun.</summary>
internal enum Phase
{
    /// <summary>Nothing done.</summary>
    Fresh,

    /// <summary>Mixed.</summary>
    Mixed,

    /// <summary>Loaded into a slot.</summary>
    InSlot,

    /// <summary>Loaded into its reader, in which it reacts and is read.</summary>
    InReader,

    /// <summary>Moved into its reader.</summary>
    Read,

    /// <summary>Cleared.</summary>
    Done,
}

/// <summary>
/// How far all jobs have come, where they are, and each reader's card: orders begun with the same key can be compared.
/// </summary>
/// <param name="Bits">Five bits a job (phase, reader), from bit 40 on five bits a reader (card + 1, whether it is kept
/// for it).</param>
internal readonly record struct OrderKey(ulong Bits)
{
    private const int Cards = 40;

    public Phase PhaseOf(int job) => (Phase)((Bits >> (job * 5)) & 7);

    public int ReaderOf(int job) => (int)((Bits >> ((job * 5) + 3)) & 3);

    public OrderKey With(int job, Phase phase, int reader) =>
        new((Bits & ~(31UL << (job * 5))) | ((ulong)phase << (job * 5)) | ((ulong)reader << ((job * 5) + 3)));

    /// <summary>The lot whose card a reader holds, -1 for none.</summary>
    public int CardOf(int reader) => (int)((Bits >> (Cards + (reader * 5))) & 15) - 1;

    /// <summary>Whether the card was changed for a cartridge that is still to come.</summary>
    public bool IsKept(int reader) => ((Bits >> (Cards + (reader * 5) + 4)) & 1) != 0;

    public OrderKey WithCard(int reader, int lot, bool kept) =>
        new((Bits & ~(31UL << (Cards + (reader * 5)))) | ((ulong)(lot + 1) << (Cards + (reader * 5))) | ((kept
            ? 1UL : 0) << (Cards + (reader * 5) + 4)));
}
