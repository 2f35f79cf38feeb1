namespace Incubation.Planning.Engine;

/// <summary>Orders whose hands and slots stay as they were chosen.</summary>
internal sealed partial class Decoder
{
    /// <summary>
    /// Decodes an order with the hands and slots kept that it chooses. With several pairs of hands or slots the free
    /// choice among them is not always the one that allows the earliest times; with what was chosen kept, the times can
    /// only fall. Where they do not, it stays free.
    /// </summary>
    /// <param name="order">One that can be decoded.</param>
    /// <param name="left">What it leaves out.</param>
    /// <returns>What it is worth.</returns>
    public Score KeepChoices(Sequence order, in Score left)
    {
        ChooseFreely();
        Decode(order, left);
        var free = Score;
        if (p.Hands == 1 && !p.AnySlotClosed)
            return free;
        (FixedHands, FixedSlots) = ((int[])HandOf.Clone(), NamesSlots ? (int[])SlotOf.Clone() : null);
        if (Decode(order, left) && !free.IsBetterThan(Score))
            return Score;
        ChooseFreely();
        Decode(order, left);
        return free;
    }

    /// <summary>Keeps no choice any more.</summary>
    public void ChooseFreely() => (FixedHands, FixedSlots) = (null, null);
}
