namespace Incubation.Exchange.Lis;

/// <summary>Why a frame cannot be taken.</summary>
public enum FrameFault
{
    /// <summary>Its checksum is another's.</summary>
    Checksum,

    /// <summary>It has no number from 0 to 7.</summary>
    Number,

    /// <summary>Its text is longer than agreed.</summary>
    TooLong,

    /// <summary>A character stands in its text that never may.</summary>
    Character,

    /// <summary>It does not end with two hexadecimal digits, CR and LF.</summary>
    End,

    /// <summary>Its number is neither the one that comes next nor that of the frame before.</summary>
    Order,

    /// <summary>With it, its message is longer than agreed.</summary>
    MessageTooLong,

    /// <summary>What came with it could not be stored.</summary>
    NotStored,
}

/// <summary>What was understood of the bytes of a line.</summary>
public abstract record LineSign
{
    private LineSign() { }

    /// <summary>ENQ.</summary>
    public sealed record Enquiry : LineSign;

    /// <summary>EOT.</summary>
    public sealed record EndOfTransmission : LineSign;

    /// <summary>ACK.</summary>
    public sealed record Acknowledged : LineSign;

    /// <summary>NAK.</summary>
    public sealed record NotAcknowledged : LineSign;

    /// <summary>A frame whose checksum agrees.</summary>
    public sealed record Whole(Frame Frame) : LineSign;

    /// <summary>What began as a frame and is none.</summary>
    public sealed record Damaged(FrameFault Fault) : LineSign;
}
