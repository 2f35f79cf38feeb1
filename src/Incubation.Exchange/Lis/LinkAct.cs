namespace Incubation.Exchange.Lis;

/// <summary>Why a message ended before its last record.</summary>
public enum CutCause
{
    /// <summary>The sender gave the line back.</summary>
    EndOfTransmission,

    /// <summary>The sender asked for the line anew.</summary>
    Enquiry,

    /// <summary>Another message began.</summary>
    NextHeader,

    /// <summary>Nothing came for too long.</summary>
    Silence,

    /// <summary>The connection ended.</summary>
    Disconnected,
}

/// <summary>Why a message was not sent.</summary>
public enum SendFault
{
    /// <summary>The other end is busy; it is asked again.</summary>
    Busy,

    /// <summary>The other end does not answer; it is asked again.</summary>
    NoAnswer,

    /// <summary>A frame was refused as often as it may be; the message is sent no more.</summary>
    Refused,
}

/// <summary>What is to be done for a line.</summary>
public abstract record LinkAct
{
    private LinkAct() { }

    /// <summary>Send these bytes now.</summary>
    public sealed record Say(ReadOnlyMemory<byte> Bytes) : LinkAct;

    /// <summary>
    /// Put this on the disk, then call <see cref="Link.Stored"/> or <see cref="Link.NotStored"/>: until then the sender
    /// has no answer. The pieces of a message, one after the other, are its raw text, each record with its CR. The same
    /// piece of the same message can come again, where it was not stored with the others of its frame: it replaces the
    /// one before.
    /// </summary>
    /// <param name="Message">Counts the messages of this link, from 1, with gaps.</param>
    /// <param name="Piece">Counts the pieces of a message, from 0.</param>
    /// <param name="Bytes">Whole records; of a message that did not begin with its header, what a frame
    /// brought.</param>
    /// <param name="IsLast">Whether the message is whole with it: its L record has come.</param>
    public sealed record Store(long Message, int Piece, ReadOnlyMemory<byte> Bytes, bool IsLast) : LinkAct;

    /// <summary>A message ended before its L record. What was stored of it stays: the sender may count on it.</summary>
    /// <param name="Message">Which.</param>
    /// <param name="Pieces">How many pieces of it were given out to be stored.</param>
    /// <param name="Rest">What came after them. The sender will send it again.</param>
    /// <param name="Cause">Why.</param>
    public sealed record Cut(long Message, int Pieces, ReadOnlyMemory<byte> Rest, CutCause Cause) : LinkAct;

    /// <summary>A frame was not taken, and its sender told so. Nothing is to be done.</summary>
    public sealed record FrameRefused(FrameFault Fault) : LinkAct;

    /// <summary>The other end has taken a message.</summary>
    public sealed record Sent(long Message) : LinkAct;

    /// <summary>A message could not be sent this time.</summary>
    public sealed record NotSent(long Message, SendFault Fault) : LinkAct;
}
