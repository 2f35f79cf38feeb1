namespace Incubation.Clinic.Tests.Gates;

/// <summary>What follows a step before the next one comes.</summary>
internal enum After
{
    /// <summary>The server judges and sets gates.</summary>
    Settled,

    /// <summary>The next step is there first.</summary>
    Nothing,

    /// <summary>The server stops after some of its own writes, starts again, judges and sets gates.</summary>
    Stopped,
}

/// <summary>One thing that people do in the clinic; all that the oracle and the program are told alike.</summary>
/// <param name="Wait">Seconds since the step before; above 0.</param>
internal abstract record Step(int Wait)
{
    /// <summary>What follows it.</summary>
    public After After { get; init; }

    /// <summary>After how many writes of its own the server stops.</summary>
    public int Writes { get; init; }

    /// <summary>Nothing happens.</summary>
    public sealed record Waited(int Wait) : Step(Wait);

    /// <summary>A request comes to a bench; level 0 is a patient's.</summary>
    public sealed record Came(int Wait, int Bench, string Cart, string Lot, int Level) : Step(Wait);

    /// <summary>Mixed, and twenty minutes later loaded.</summary>
    public sealed record Begun(int Wait, string Cart) : Step(Wait);

    /// <summary>Read (where it is not yet) and taken out of the reader; late is after its window.</summary>
    public sealed record Read(int Wait, string Cart, bool Late) : Step(Wait)
    {
        /// <summary>Whether the time that came with its begin cannot be read.</summary>
        public bool IsUntimed { get; init; }
    }

    /// <summary>"When was that?": the read was when it was told.</summary>
    public sealed record Answered(int Wait, string Cart) : Step(Wait);

    /// <summary>A read that never was is told once more, as of its time, and that it was taken out.</summary>
    public sealed record ReadAgain(int Wait, string Cart) : Step(Wait);

    /// <summary>A result is entered.</summary>
    /// <param name="Wait">Seconds since the step before.</param>
    /// <param name="Cart">Whose.</param>
    /// <param name="Value">The value; "!" and a code where there is none.</param>
    /// <param name="Identity">What the reader showed: the specimen's "own", "none" or "other"; "" unasked.</param>
    /// <param name="IsChecked">Whether the person's name was checked.</param>
    public sealed record Entered(int Wait, string Cart, string Value, string Identity, bool IsChecked) : Step(Wait)
    {
        /// <summary>Whether who enters it is no supervisor.</summary>
        public bool IsAide { get; init; }
    }

    /// <summary>The entry of a result is taken back at once.</summary>
    public sealed record TakenBack(int Wait, string Cart) : Step(Wait);

    /// <summary>"It was never so": the clear, the read, the mix or the discard, and what rests on it.</summary>
    public sealed record Never(int Wait, string Cart, string What) : Step(Wait);

    /// <summary>The load was so many minutes after the mix.</summary>
    public sealed record LoadWas(int Wait, string Cart, int Minutes) : Step(Wait);

    /// <summary>The cartridge is thrown away.</summary>
    public sealed record Discarded(int Wait, string Cart) : Step(Wait);

    /// <summary>The request is withdrawn before its mix.</summary>
    public sealed record Withdrawn(int Wait, string Cart) : Step(Wait);

    /// <summary>A supervisor releases a held result, in its batch or after its close.</summary>
    public sealed record Released(int Wait, string Cart) : Step(Wait);

    /// <summary>A result is amended, in its batch or after its close.</summary>
    public sealed record Amended(int Wait, string Cart, string Value) : Step(Wait)
    {
        /// <summary>Whether who amends it in its batch is no supervisor.</summary>
        public bool IsAide { get; init; }
    }

    /// <summary>An amendment is entered that waits for another supervisor.</summary>
    public sealed record Proposed(int Wait, string Cart, string Value) : Step(Wait);

    /// <summary>Somebody confirms or declines it: who entered it, or another.</summary>
    public sealed record Looked(int Wait, string Cart, bool IsConfirmed, bool IsOwn) : Step(Wait);

    /// <summary>Somebody is told of a result.</summary>
    public sealed record Told(int Wait, string Cart) : Step(Wait);

    /// <summary>A supervisor says that nobody need be told of it.</summary>
    public sealed record Waived(int Wait, string Cart) : Step(Wait);

    /// <summary>From now on amendments wait for another supervisor, or do not.</summary>
    public sealed record Ruled(int Wait, bool Second) : Step(Wait);

    /// <summary>From now on new lots are to be compared, or are not.</summary>
    public sealed record Required(int Wait, bool On) : Step(Wait);

    /// <summary>A lot is compared with the other one of its assay, and accepted or refused.</summary>
    public sealed record Compared(int Wait, string Lot, bool IsAccepted) : Step(Wait);

    /// <summary>A batch is closed: what waits is carried over or given up.</summary>
    public sealed record Closed(int Wait, int Bench, bool Carry) : Step(Wait);

    /// <summary>What a level should give by an assay.</summary>
    public sealed record TargetSet(int Wait, string Assay, int Level, decimal Mean, decimal Deviation) : Step(Wait);

    /// <summary>How an assay is controlled from now on; the gate is "wait", "hold" or "none".</summary>
    public sealed record Approved(int Wait, string Assay, int Levels, bool EachDay, bool NewLot, bool NewShipment,
        bool AfterService, string Gate) : Step(Wait);

    /// <summary>A corrective action is written down.</summary>
    public sealed record ActionTaken(int Wait, string Lot) : Step(Wait);

    /// <summary>What was released is reviewed.</summary>
    public sealed record Reviewed(int Wait, string Lot) : Step(Wait);

    /// <summary>The reader of a bench was serviced.</summary>
    public sealed record Serviced(int Wait, int Bench) : Step(Wait);

    /// <summary>A lot comes in, or more of it.</summary>
    public sealed record MoreCame(int Wait, string Lot) : Step(Wait);
}

