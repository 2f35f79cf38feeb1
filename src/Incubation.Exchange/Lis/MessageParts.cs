namespace Incubation.Exchange.Lis;

/// <summary>
/// Puts the texts of frames together to messages, and says which part of them must be on the disk before a frame is
/// acknowledged: with its L record the message; before that, whatever lies before a record of a higher level, since
/// from there on its sender counts on it and sends it no more (LIS02-A2, storage on a decreasing level). What does not
/// begin with a header is of no known level, and nobody knows what its sender counts on: it is stored frame by frame,
/// and with an L record it ends as a message does.
/// </summary>
internal sealed class MessageParts(int maxMessage)
{
    private byte[] _bytes = [];
    private Mark _now = new(0, 0, 1, 0, 0, null, true, false, false);
    private Mark _before;
    private long _mostGiven;
    private bool _isTooLong;

    /// <summary>A part of a message, to be stored.</summary>
    internal sealed record Part(long Message, int Piece, byte[] Bytes, bool IsLast);

    /// <summary>What a text brought.</summary>
    /// <param name="Parts">To be stored before the frame is acknowledged.</param>
    /// <param name="Cuts">Messages that the next one cut, as (message, pieces).</param>
    internal sealed record Taking(List<Part> Parts, List<(long Message, int Pieces)> Cuts);

    /// <summary>Where the reading of messages is.</summary>
    /// <param name="Length">Bytes held.</param>
    /// <param name="Given">Of them, how many were given out to be stored.</param>
    /// <param name="Message">Number of the message.</param>
    /// <param name="Piece">Number of its next piece.</param>
    /// <param name="Size">Bytes of the message.</param>
    /// <param name="Level">Level of its last record that has one.</param>
    /// <param name="AtStart">Whether a record begins.</param>
    /// <param name="HasHeader">Whether the message began with its header.</param>
    /// <param name="InLast">Whether its L record has begun.</param>
    private readonly record struct Mark(int Length, int Given, long Message, int Piece, int Size, int? Level,
        bool AtStart, bool HasHeader, bool InLast);

    /// <summary>Takes the text of a frame; null, with nothing taken, where its message would be too long.</summary>
    public Taking? Take(Frame frame)
    {
        _before = _now;
        _isTooLong = false;
        var taking = new Taking([], []);
        foreach (var character in frame.Text.Span)
            Take(character, taking);
        if (frame.EndsRecord)
            Take(LinkCharacters.Cr, taking);
        if (_isTooLong)
        {
            TakeBack();
            return null;
        }

        if (!_now.HasHeader)
            Give(taking, isLast: false);
        return taking;
    }

    /// <summary>What the last text brought is stored, or nothing had to be.</summary>
    public void Keep()
    {
        if (_now.Given == 0)
            return;
        _bytes.AsSpan(_now.Given, _now.Length - _now.Given).CopyTo(_bytes);
        _now = _now with { Length = _now.Length - _now.Given, Given = 0 };
        if (_now.Length == 0 && _bytes.Length > Frame.MaxText)
            _bytes = [];
    }

    /// <summary>The last text was not taken: when it comes again, its parts have the numbers that they had.</summary>
    public void TakeBack()
    {
        _mostGiven = Math.Max(_mostGiven, _now.Message);
        _now = _before;
    }

    /// <summary>Ends a message that is not whole; gives it, or null where there is none.</summary>
    public (long Message, int Pieces, byte[] Unsaved)? End()
    {
        var cut = _now;
        (long Message, int Pieces, byte[] Unsaved)? ended = cut.Size == 0 ? null
            : (cut.Message, cut.Piece, _bytes[cut.Given..cut.Length]);
        _bytes = [];
        // No number is given to two messages, also not that of one that was not taken.
        _now = NextMessage() with { Length = 0, Given = 0, Message = Math.Max(_mostGiven, cut.Message) + 1 };
        return ended;
    }

    private void Take(byte character, Taking taking)
    {
        if (_now.AtStart)
        {
            // An end after an end, and the LF that some send after CR, are no record.
            if (character is LinkCharacters.Cr or LinkCharacters.Lf)
                return;
            // Upper and lower case are one type of record.
            Begin(char.IsAsciiLetter((char)character) ? (byte)(character & 0xDF) : character, taking);
        }

        Append(character);
        if (character != LinkCharacters.Cr)
            return;
        _now = _now with { AtStart = true };
        if (_now.InLast)
        {
            Give(taking, isLast: true);
            _now = NextMessage();
        }
    }

    private void Begin(byte type, Taking taking)
    {
        if (type == (byte)'H' && _now.Size > 0)
        {
            Give(taking, isLast: false);
            taking.Cuts.Add((_now.Message, _now.Piece));
            _now = NextMessage();
        }

        var level = LevelOf(type);
        if (level < _now.Level && type != (byte)'L')
            Give(taking, isLast: false);
        _now = _now with
        {
            AtStart = false,
            Level = level ?? _now.Level,
            HasHeader = _now.HasHeader || (type == (byte)'H' && _now.Size == 0),
        };
        _now = _now with { InLast = type == (byte)'L' };
    }

    private void Give(Taking taking, bool isLast)
    {
        if (_now.Given == _now.Length)
            return;
        taking.Parts.Add(new Part(_now.Message, _now.Piece, _bytes[_now.Given.._now.Length], isLast));
        _now = _now with { Given = _now.Length, Piece = _now.Piece + 1 };
    }

    private void Append(byte character)
    {
        if (_now.Size == maxMessage)
        {
            _isTooLong = true;
            return;
        }

        if (_now.Length == _bytes.Length)
            Array.Resize(ref _bytes, Math.Max(1024, _bytes.Length * 2));
        _bytes[_now.Length] = character;
        _now = _now with { Length = _now.Length + 1, Size = _now.Size + 1 };
    }

    private Mark NextMessage() => new(_now.Length, _now.Given, _now.Message + 1, 0, 0, null, true, false, false);

    private static int? LevelOf(byte type) => type switch
    {
        (byte)'H' or (byte)'L' => 0,
        (byte)'P' or (byte)'Q' => 1,
        (byte)'O' => 2,
        (byte)'R' => 3,
        _ => null,
    };
}
