namespace Incubation.Planning.Moments;

/// <summary>What hands do to save cartridges in work.</summary>
internal enum SavingKind : byte
{
    Clear,
    Discard,
    Card,
    Move,
    LoadSlot,
    LoadReader,
}

/// <summary>A step in an order that saves cartridges in work; numbers count from 0, as in the compiled day.</summary>
/// <param name="Kind">What.</param>
/// <param name="Job">Whose cartridge; -1 for a card change.</param>
/// <param name="Hands">Whose hands.</param>
/// <param name="Place">The reader, or the slot that is loaded; -1 where the step needs neither.</param>
/// <param name="Lot">For a card change: the lot.</param>
/// <param name="Opening">In which of the open times of its place a stay lies that begins with the step.</param>
internal readonly record struct SavingStep(SavingKind Kind, int Job, int Hands, int Place, int Lot = -1,
    int Opening = 0);
