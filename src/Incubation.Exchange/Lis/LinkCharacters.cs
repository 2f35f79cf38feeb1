namespace Incubation.Exchange.Lis;

/// <summary>The characters with which two ends of a line talk (LIS01-A2, ASCII control characters).</summary>
public static class LinkCharacters
{
    /// <summary>Begins a frame.</summary>
    public const byte Stx = 0x02;

    /// <summary>Ends the text of the last frame of a record.</summary>
    public const byte Etx = 0x03;

    /// <summary>Gives the line back; as an answer: taken, and the receiver wants the line.</summary>
    public const byte Eot = 0x04;

    /// <summary>Asks for the line.</summary>
    public const byte Enq = 0x05;

    /// <summary>Taken.</summary>
    public const byte Ack = 0x06;

    /// <summary>The last character of a frame.</summary>
    public const byte Lf = 0x0A;

    /// <summary>Ends a record.</summary>
    public const byte Cr = 0x0D;

    /// <summary>Not taken.</summary>
    public const byte Nak = 0x15;

    /// <summary>Ends the text of a frame whose record goes on in the next.</summary>
    public const byte Etb = 0x17;

    private const byte Soh = 0x01;
    private const byte Dle = 0x10;
    private const byte Dc4 = 0x14;
    private const byte Syn = 0x16;

    /// <summary>
    /// Whether a character never stands in a frame's text. The standard bars LF too, which some instruments send after
    /// each record all the same: it is never written, and its loss or damage shows in the checksum.
    /// </summary>
    public static bool IsBarred(byte character) => character is >= Soh and <= Ack or >= Dle and <= Dc4 or Nak or Syn
        or Etb;
}
