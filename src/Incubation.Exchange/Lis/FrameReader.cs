namespace Incubation.Exchange.Lis;

/// <summary>
/// Understands the bytes of a line one by one, so that it does not matter how they come in pieces. Keeps no more than
/// one frame, and takes any byte at any place. Not thread-safe.
/// </summary>
/// <remarks>
/// EOT and ENQ count wherever they stand, also where the frame before them was cut: they never stand in a text. Any
/// other character that may not stand in a text, STX included, spoils the frame, which ends where its ETX or ETB comes:
/// so each frame that was sent is answered once.
/// </remarks>
public sealed class FrameReader
{
    private static readonly LineSign Enquiry = new LineSign.Enquiry();
    private static readonly LineSign End = new LineSign.EndOfTransmission();
    private static readonly LineSign Ack = new LineSign.Acknowledged();
    private static readonly LineSign Nak = new LineSign.NotAcknowledged();

    private readonly int _maxText;
    private Place _place = Place.Between;
    private byte[] _text = [];
    private int _length;
    private int _number;
    private int _sum;
    private int _given;
    private bool _endsRecord;
    private FrameFault? _fault;

    /// <summary>Makes a reader of frames.</summary>
    /// <param name="maxText">The most bytes of text in a frame, from 1 to <see cref="Frame.MaxText"/>.</param>
    public FrameReader(int maxText = Frame.MaxText)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(maxText, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(maxText, Frame.MaxText);
        _maxText = maxText;
    }

    private enum Place
    {
        Between,
        Number,
        Text,
        FirstDigit,
        SecondDigit,
        Cr,
        Lf,
    }

    /// <summary>How many bytes belonged to nothing.</summary>
    public long Stray { get; private set; }

    /// <summary>Whether a frame has begun and not ended.</summary>
    public bool IsInFrame => _place != Place.Between;

    /// <summary>Whether the frame that has begun is already longer than agreed.</summary>
    internal bool IsTooLong => IsInFrame && _fault == FrameFault.TooLong;

    /// <summary>Takes a byte; gives what has come with it, or null where more must come.</summary>
    public LineSign? Take(byte character) => character switch
    {
        LinkCharacters.Enq => Between(Enquiry),
        LinkCharacters.Eot => Between(End),
        _ => _place switch
        {
            Place.Between => OutsideFrame(character),
            Place.Number => NumberIs(character),
            Place.Text => InText(character),
            _ => AfterText(character),
        },
    };

    /// <summary>Forgets a frame that has begun.</summary>
    public void Reset() => Between(null);

    private LineSign? Between(LineSign? sign)
    {
        _place = Place.Between;
        _text = [];
        return sign;
    }

    private LineSign? OutsideFrame(byte character)
    {
        switch (character)
        {
            case LinkCharacters.Stx:
                Begin();
                return null;
            case LinkCharacters.Ack:
                return Ack;
            case LinkCharacters.Nak:
                return Nak;
            default:
                Stray++;
                return null;
        }
    }

    private void Begin()
    {
        _place = Place.Number;
        _length = 0;
        _sum = 0;
        _fault = null;
    }

    private LineSign? NumberIs(byte character)
    {
        _number = character - '0';
        if (_number is < 0 or > 7)
            _fault = FrameFault.Number;
        _place = Place.Text;
        if (character is LinkCharacters.Etx or LinkCharacters.Etb)
            return InText(character);
        _sum = character;
        return null;
    }

    private LineSign? InText(byte character)
    {
        _sum = (_sum + character) & 0xFF;
        if (character is LinkCharacters.Etx or LinkCharacters.Etb)
        {
            _endsRecord = character == LinkCharacters.Etx;
            _place = Place.FirstDigit;
            return null;
        }

        if (LinkCharacters.IsBarred(character))
            _fault ??= FrameFault.Character;
        if (_length == _maxText)
            _fault = FrameFault.TooLong;
        if (_fault == FrameFault.TooLong)
            return null;
        if (_length == _text.Length)
            Array.Resize(ref _text, Math.Min(_maxText, Math.Max(Frame.UsualText, _length * 2)));
        _text[_length++] = character;
        return null;
    }

    private LineSign? AfterText(byte character)
    {
        switch (_place)
        {
            case Place.FirstDigit when DigitOf(character) is { } first:
                _given = first * 16;
                _place = Place.SecondDigit;
                return null;
            case Place.SecondDigit when DigitOf(character) is { } second:
                _given += second;
                _place = Place.Cr;
                return null;
            case Place.Cr when character == LinkCharacters.Cr:
                _place = Place.Lf;
                return null;
            case Place.Lf when character == LinkCharacters.Lf:
                return Ended();
            // The end of the frame before was lost, and it comes again: it is answered once, at its own end.
            case var _ when character == LinkCharacters.Stx:
                Begin();
                return null;
            default:
                return Between(new LineSign.Damaged(_fault ?? FrameFault.End));
        }
    }

    private LineSign Ended()
    {
        var fault = _fault ?? (_given == _sum ? null : FrameFault.Checksum);
        LineSign sign = fault is { } found
            ? new LineSign.Damaged(found)
            : new LineSign.Whole(new Frame(_number, _text.AsMemory(0, _length), _endsRecord));
        Between(null);
        return sign;
    }

    private static int? DigitOf(byte character) => char.IsAsciiHexDigit((char)character)
        ? Convert.ToInt32(((char)character).ToString(), 16) : null;
}
