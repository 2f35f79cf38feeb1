using NodaTime;

namespace Incubation.Model;

/// <summary>Where a load puts a cartridge: a slot or a reader, never both.</summary>
public abstract record CartridgePlace
{
    private CartridgePlace() { }

    /// <summary>In a slot of the incubator.</summary>
    public sealed record InSlot(SlotNumber Slot) : CartridgePlace;

    /// <summary>Inside a reader.</summary>
    public sealed record InReader(ReaderNumber Reader) : CartridgePlace;
}

/// <summary>What is done in a step, with the things it is done to.</summary>
public abstract record StepAction
{
    private StepAction() { }

    /// <summary>The request whose cartridge is handled, or null for a card change.</summary>
    public abstract RequestId? Subject { get; }

    /// <summary>The reader that the step needs, or null.</summary>
    public abstract ReaderNumber? NeedsReader { get; }

    /// <summary>Mix specimen with buffer.</summary>
    public sealed record Mix(RequestId Request) : StepAction
    {
        public override RequestId? Subject => Request;
        public override ReaderNumber? NeedsReader => null;
    }

    /// <summary>Load the mixture into the well, in a slot or in a reader.</summary>
    public sealed record Load(RequestId Request, CartridgePlace Place) : StepAction
    {
        public override RequestId? Subject => Request;
        public override ReaderNumber? NeedsReader => (Place as CartridgePlace.InReader)?.Reader;
    }

    /// <summary>Move from the slot to the reader; ends when the read is started.</summary>
    public sealed record Move(RequestId Request, ReaderNumber Reader) : StepAction
    {
        public override RequestId? Subject => Request;
        public override ReaderNumber? NeedsReader => Reader;
    }

    /// <summary>The reader measures; no hands.</summary>
    public sealed record Read(RequestId Request, ReaderNumber Reader) : StepAction
    {
        public override RequestId? Subject => Request;
        public override ReaderNumber? NeedsReader => Reader;
    }

    /// <summary>Take the read cartridge out.</summary>
    public sealed record Clear(RequestId Request, ReaderNumber Reader) : StepAction
    {
        public override RequestId? Subject => Request;
        public override ReaderNumber? NeedsReader => Reader;
    }

    /// <summary>Throw away a cartridge that no plan can save.</summary>
    public sealed record Discard(RequestId Request) : StepAction
    {
        public override RequestId? Subject => Request;
        public override ReaderNumber? NeedsReader => null;
    }

    /// <summary>Put the reader card of a lot into a reader.</summary>
    public sealed record CardChange(ReaderNumber Reader, LotCode Lot) : StepAction
    {
        public override RequestId? Subject => null;
        public override ReaderNumber? NeedsReader => Reader;
    }
}

/// <summary>A step with its planned time. Every step but the read has hands.</summary>
/// <param name="Action">What is done.</param>
/// <param name="Hands">Whose hands; null for a read, and only there.</param>
/// <param name="Start">When it starts.</param>
/// <param name="End">When it has ended; not before <paramref name="Start"/>.</param>
public sealed record PlannedStep(StepAction Action, HandsNumber? Hands, Instant Start, Instant End);

/// <summary>A hands step that has begun and has not been reported as ended.</summary>
/// <param name="Action">What is being done; never a read.</param>
/// <param name="Hands">Whose hands.</param>
/// <param name="Start">When it began.</param>
/// <param name="Unknown">Whether nobody knows if it was done: its hands are free again, the slot, reader or card that
/// it is about is not, and its request is planned no further until somebody has looked.</param>
public sealed record StepInProgress(StepAction Action, HandsNumber Hands, Instant Start, bool Unknown = false);
