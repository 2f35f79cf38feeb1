using System.Collections.Immutable;

namespace Incubation.Exchange.Lis;

/// <summary>What a message is for (H.12).</summary>
public enum MessageUse
{
    /// <summary>What it says is meant; also where nothing is said.</summary>
    Production,

    /// <summary>Training.</summary>
    Training,

    /// <summary>A programmer's trial.</summary>
    Debugging,

    /// <summary>Quality control.</summary>
    QualityControl,

    /// <summary>Something else.</summary>
    Unknown,
}

/// <summary>How a message ended (L.3).</summary>
public enum MessageEnd
{
    /// <summary>As it should; also where nothing is said.</summary>
    Normal,

    /// <summary>Its sender or its receiver broke it off.</summary>
    BrokenOff,

    /// <summary>By a fault of its sender.</summary>
    Fault,

    /// <summary>Otherwise.</summary>
    Unknown,

    /// <summary>It has no end.</summary>
    None,
}

/// <summary>What a reader says of a result (R.9).</summary>
public enum ReaderResultStatus
{
    /// <summary>F: final; also where nothing is said.</summary>
    Final,

    /// <summary>V: seen and confirmed by whoever stood at the instrument.</summary>
    Verified,

    /// <summary>R: sent before.</summary>
    SentBefore,

    /// <summary>C: corrects one that was sent before.</summary>
    Correction,

    /// <summary>P, S: there will be another.</summary>
    Preliminary,

    /// <summary>I, N: not yet, or needs something first.</summary>
    Pending,

    /// <summary>W: the instrument doubts it.</summary>
    Doubted,

    /// <summary>X: could not be measured.</summary>
    NotMeasured,

    /// <summary>Something else.</summary>
    Unknown,
}

/// <summary>A result in a message.</summary>
/// <param name="Record">The number of its record in the message.</param>
/// <param name="Specimen">The specimen that was ordered for (O.3); null where the message names none.</param>
/// <param name="Test">The name of the test as the reader has it (R.3, the component that is the maker's own).</param>
/// <param name="Value">The value (R.4).</param>
/// <param name="Unit">Its unit (R.5); empty where none is said.</param>
/// <param name="Status">What the reader says of it (R.9).</param>
public sealed record ReaderResult(int Record, string? Specimen, string Test, ReaderValue Value, string Unit,
    ReaderResultStatus Status)
{
    /// <summary>Whether the order names a specimen (O.3) that cannot be one's number.</summary>
    public bool IsSpecimenUnreadable { get; init; }

    /// <summary>The specimen as the instrument itself calls it (O.4), or null.</summary>
    public string? InstrumentSpecimen { get; init; }

    /// <summary>Whether it is said to be a control's (O.12 is Q).</summary>
    public bool IsControl { get; init; }

    /// <summary>Marks (R.7): L, H, LL, HH, &lt;, &gt;, N, A and others, as they came.</summary>
    public ImmutableArray<string> Flags { get; init; } = [];

    /// <summary>When it was measured (R.13), or null.</summary>
    public ReaderTime? ReadAt { get; init; }

    /// <summary>When that began (R.12), or null.</summary>
    public ReaderTime? BegunAt { get; init; }

    /// <summary>Who stood at the instrument (R.11); empty where nobody is named.</summary>
    public string Operator { get; init; } = "";

    /// <summary>Which instrument, as it calls itself (R.14); empty where it does not.</summary>
    public string Instrument { get; init; } = "";

    /// <summary>What is remarked about it (C.4 of the records after it).</summary>
    public ImmutableArray<string> Comments { get; init; } = [];

    /// <summary>
    /// What the instrument says of it, of its order, its patient or the whole message, that can speak against it.
    /// </summary>
    public ImmutableArray<string> Warnings { get; init; } = [];

    /// <summary>Whether something of it, or of the order that it belongs to, could not be understood.</summary>
    public bool IsDoubtful { get; init; }
}

/// <summary>The results that a reader sent.</summary>
/// <param name="Sender">Which instrument or program sent it (H.5); empty where none is named.</param>
/// <param name="Results">In the order of the message.</param>
public sealed record ReaderMessage(string Sender, ImmutableArray<ReaderResult> Results)
{
    /// <summary>Its sender's name for it (H.3); empty where there is none.</summary>
    public string ControlId { get; init; } = "";

    /// <summary>When it was sent (H.14), or null.</summary>
    public ReaderTime? SentAt { get; init; }

    /// <summary>What it is for.</summary>
    public MessageUse Use { get; init; }

    /// <summary>How it ended.</summary>
    public MessageEnd End { get; init; }

    /// <summary>What could not be understood, by record and field.</summary>
    public ImmutableArray<LisFault> Faults { get; init; } = [];
}
