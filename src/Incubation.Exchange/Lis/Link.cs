using NodaTime;

namespace Incubation.Exchange.Lis;

/// <summary>
/// One end of a line of LIS01-A2, as a machine without a line and without a clock: it is told what came and what time
/// it is, and says what to send and what to store. Sends and receives, as the standard has it, by turns. Takes any
/// bytes, throws for none, and keeps no more than one frame, the unstored part of one message and what waits to be
/// sent. Not thread-safe.
/// </summary>
/// <remarks>
/// Where a stray byte could be taken for an answer, the standard lets a sender take any byte but ACK and EOT for a NAK.
/// Here it takes ACK, NAK and EOT alone: a byte too many would leave an answer over, and each would then be taken for
/// that of the next frame. A true answer that was damaged costs 15 s, and no result.
/// </remarks>
public sealed class Link
{
    private readonly FrameReader _frames;
    private readonly LinkReceiver _receiver;
    private readonly LinkSender _sender;
    private bool _isConnected;

    /// <summary>Makes an end of a line that is not yet connected.</summary>
    /// <exception cref="ArgumentOutOfRangeException">A length is none, or longer than the standard allows.</exception>
    public Link(LinkSettings settings)
    {
        ArgumentNullException.ThrowIfNull(settings);
        ArgumentOutOfRangeException.ThrowIfLessThan(settings.SentText, 16);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(settings.SentText, Frame.MaxText);
        ArgumentOutOfRangeException.ThrowIfNegative(settings.Waiting);
        ArgumentOutOfRangeException.ThrowIfLessThan(settings.TakenMessage, 1);
        _frames = new FrameReader(settings.TakenText);
        _receiver = new LinkReceiver(settings);
        _sender = new LinkSender(settings);
    }

    /// <summary>Whether nobody has the line.</summary>
    public bool IsNeutral => !_receiver.IsOpen && !_sender.IsBusy;

    /// <summary>How many bytes came that belonged to nothing.</summary>
    public long Stray => _frames.Stray;

    /// <summary>
    /// When <see cref="Tick"/> has something to do if nothing comes before; null where it has not. An instant that is
    /// past: at once.
    /// </summary>
    public Instant? NextTick => !_isConnected ? null
        : _receiver.IsOpen ? _receiver.Deadline : _sender.Due(isLineFree: true);

    /// <summary>The line is there.</summary>
    public IReadOnlyList<LinkAct> Connected(Instant now)
    {
        _isConnected = true;
        return Tick(now);
    }

    /// <summary>The line is gone; a message that has not come whole is cut, one that was being sent waits.</summary>
    public IReadOnlyList<LinkAct> Disconnected()
    {
        var acts = new List<LinkAct>();
        _isConnected = false;
        _frames.Reset();
        _receiver.Close(CutCause.Disconnected, acts);
        _sender.Disconnected();
        return acts;
    }

    /// <summary>Bytes came. They may be cut anywhere.</summary>
    public IReadOnlyList<LinkAct> Received(ReadOnlySpan<byte> bytes, Instant now)
    {
        var acts = new List<LinkAct>();
        if (!_isConnected)
            return acts;
        Do(now, acts);
        foreach (var character in bytes)
        {
            if (_frames.Take(character) is { } sign)
                Understand(sign, now, acts);
            else if (_frames.IsInFrame && !_frames.IsTooLong)
                _receiver.Heard(now);
        }

        Do(now, acts);
        return acts;
    }

    /// <summary>Time has passed.</summary>
    public IReadOnlyList<LinkAct> Tick(Instant now)
    {
        var acts = new List<LinkAct>();
        Do(now, acts);
        return acts;
    }

    /// <summary>A piece is on the disk: its sender is told where the frame with it is whole.</summary>
    public IReadOnlyList<LinkAct> Stored(long message, int piece, Instant now) => Told(message, piece, true, now);

    /// <summary>A piece could not be put on the disk: its sender is told that the frame was not taken.</summary>
    public IReadOnlyList<LinkAct> NotStored(long message, int piece, Instant now) => Told(message, piece, false, now);

    /// <summary>Puts a message among those to be sent, as soon as the line is free.</summary>
    /// <param name="message">Its records, each with its CR, and nothing that no frame may hold.</param>
    /// <param name="now">The time.</param>
    /// <exception cref="ArgumentException">It holds a control character that no frame may.</exception>
    /// <returns>Its number among those sent, from 1, or null where too many wait; and what is to be done.</returns>
    public (long? Message, IReadOnlyList<LinkAct> Acts) Send(ReadOnlyMemory<byte> message, Instant now) =>
        (_sender.Add(message), Tick(now));

    /// <summary>
    /// Asks the other end, which has the line, to give it back: its frames are answered with EOT, which takes them too.
    /// </summary>
    public void AskForLine() => _receiver.AskForLine();

    private List<LinkAct> Told(long message, int piece, bool isStored, Instant now)
    {
        var acts = new List<LinkAct>();
        _receiver.Told(message, piece, isStored, now, acts);
        return acts;
    }

    private void Do(Instant now, List<LinkAct> acts)
    {
        if (!_isConnected)
            return;
        if (_receiver.IsOpen && _receiver.Deadline <= now)
        {
            _frames.Reset();
            EndOfTransfer(CutCause.Silence, acts);
        }

        _sender.Tick(isLineFree: !_receiver.IsOpen, now, acts);
    }

    private void Understand(LineSign sign, Instant now, List<LinkAct> acts)
    {
        switch (sign)
        {
            case LineSign.Enquiry when _sender.IsBusy:
                _sender.Contended(now);
                break;
            case LineSign.Enquiry:
                _receiver.Asked(now, acts);
                break;
            case LineSign.EndOfTransmission when _sender.IsBusy:
                _sender.AskedForLine(now, acts);
                break;
            case LineSign.EndOfTransmission when _receiver.IsOpen:
                EndOfTransfer(CutCause.EndOfTransmission, acts);
                break;
            case LineSign.Acknowledged:
                _sender.Acknowledged(now, acts);
                break;
            case LineSign.NotAcknowledged:
                _sender.NotAcknowledged(now, acts);
                break;
            case LineSign.Whole whole:
                _receiver.Came(whole.Frame, now, acts);
                break;
            case LineSign.Damaged damaged:
                _receiver.Damaged(damaged.Fault, now, acts);
                break;
        }
    }

    private void EndOfTransfer(CutCause cause, List<LinkAct> acts)
    {
        _receiver.Close(cause, acts);
        _sender.LineCameFree();
    }
}
