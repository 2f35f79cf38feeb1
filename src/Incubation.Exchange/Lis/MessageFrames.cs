namespace Incubation.Exchange.Lis;

/// <summary>Splits messages into frames: each record ends one, a long record takes several.</summary>
public static class MessageFrames
{
    /// <summary>A character of an encoding of several bytes takes at most so many after its first.</summary>
    private const int MaxContinuation = 3;

    /// <summary>The frames of a message, numbered from <see cref="Frame.First"/>.</summary>
    /// <param name="message">Its records, each with its CR; a last one without gets one.</param>
    /// <param name="maxText">The most bytes of text in a frame, from 16 to <see cref="Frame.MaxText"/>.</param>
    /// <remarks>No frame is cut inside a character of UTF-8, for receivers that read frame by frame.</remarks>
    public static IEnumerable<Frame> Of(ReadOnlyMemory<byte> message, int maxText = Frame.UsualText)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(maxText, 16);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(maxText, Frame.MaxText);
        return Split(message, maxText);
    }

    private static IEnumerable<Frame> Split(ReadOnlyMemory<byte> message, int maxText)
    {
        var number = Frame.First;
        while (!message.IsEmpty)
        {
            var end = message.Span.IndexOf(LinkCharacters.Cr);
            var record = end < 0 ? WithEnd(message) : message[..(end + 1)];
            message = end < 0 ? default : message[(end + 1)..];
            while (!record.IsEmpty)
            {
                var length = LengthOf(record.Span, maxText);
                yield return new Frame(number, record[..length], length == record.Length);
                record = record[length..];
                number = Frame.NumberAfter(number);
            }
        }
    }

    private static int LengthOf(ReadOnlySpan<byte> record, int maxText)
    {
        if (record.Length <= maxText)
            return record.Length;
        var length = maxText;
        while (length > maxText - MaxContinuation && (record[length] & 0xC0) == 0x80)
            length--;
        return length;
    }

    private static byte[] WithEnd(ReadOnlyMemory<byte> record) => [.. record.Span, LinkCharacters.Cr];
}
