using NodaTime;

namespace Incubation.Exchange.Lis;

/// <summary>The sending end of a line: asks for it, sends one message, gives it back.</summary>
internal sealed class LinkSender(LinkSettings settings)
{
    private readonly Queue<(long Message, ReadOnlyMemory<byte> Bytes)> _messages = [];
    private IEnumerator<Frame>? _frames;
    private byte[] _frame = [];
    private bool _isLastFrame;
    private int _tries;
    private bool _wasAskedForLine;
    private Instant? _answerBy;
    private Instant? _freeFrom;
    private bool _waitsForOther;
    private long _counted;

    private enum Phase
    {
        Idle,
        Asking,
        Sending,
    }

    private Phase _phase;

    /// <summary>Whether this end has asked for the line or has it.</summary>
    public bool IsBusy => _phase != Phase.Idle;

    /// <summary>When something is to be done if nothing comes; null where nothing waits.</summary>
    public Instant? Due(bool isLineFree) => IsBusy ? _answerBy
        : isLineFree && _messages.Count > 0 ? _freeFrom ?? Instant.MinValue : null;

    /// <summary>Puts a message behind those that wait; its number, or null where too many do.</summary>
    /// <exception cref="ArgumentException">It holds what no frame may.</exception>
    public long? Add(ReadOnlyMemory<byte> message)
    {
        foreach (var character in message.Span)
            if (LinkCharacters.IsBarred(character) || character == LinkCharacters.Lf)
                throw new ArgumentException($"The character {character} never stands in a message.", nameof(message));
        if (_messages.Count >= settings.Waiting)
            return null;
        _messages.Enqueue((++_counted, message));
        return _counted;
    }

    /// <summary>Does what is due: asks for a line that is free, or gives up waiting for an answer.</summary>
    public void Tick(bool isLineFree, Instant now, List<LinkAct> acts)
    {
        if (IsBusy && _answerBy <= now)
        {
            acts.Add(LinkReceiver.Said(LinkCharacters.Eot));
            PutOff(SendFault.NoAnswer, now + LinkSettings.AskAgainAfter, acts);
        }

        if (IsBusy || !isLineFree || _messages.Count == 0 || now < _freeFrom)
            return;
        _phase = Phase.Asking;
        _wasAskedForLine = false;
        Say([LinkCharacters.Enq], now, acts);
    }

    /// <summary>The other end has taken what was sent.</summary>
    public void Acknowledged(Instant now, List<LinkAct> acts)
    {
        if (_phase == Phase.Asking)
        {
            _phase = Phase.Sending;
            _frames = MessageFrames.Of(_messages.Peek().Bytes, settings.SentText).GetEnumerator();
            _isLastFrame = !_frames.MoveNext();
        }

        if (_phase != Phase.Sending)
            return;
        if (_isLastFrame)
        {
            Finish(now, acts);
            return;
        }

        _frame = _frames!.Current.Encode();
        _isLastFrame = !_frames.MoveNext();
        _tries = 1;
        Say(_frame, now, acts);
    }

    /// <summary>The other end has not taken what was sent.</summary>
    public void NotAcknowledged(Instant now, List<LinkAct> acts)
    {
        if (_phase == Phase.Asking)
        {
            PutOff(SendFault.Busy, now + LinkSettings.AskAgainAfter, acts);
        }
        else if (_phase == Phase.Sending && _tries < LinkSettings.MaxTries)
        {
            _tries++;
            Say(_frame, now, acts);
        }
        else if (_phase == Phase.Sending)
        {
            acts.Add(LinkReceiver.Said(LinkCharacters.Eot));
            acts.Add(new LinkAct.NotSent(_messages.Dequeue().Message, SendFault.Refused));
            Rest(now + LinkSettings.AskAgainAfter, waitsForOther: false);
        }
    }

    /// <summary>As an answer to a frame: taken, and the other end wants the line.</summary>
    public void AskedForLine(Instant now, List<LinkAct> acts)
    {
        if (_phase != Phase.Sending)
            return;
        _wasAskedForLine = true;
        Acknowledged(now, acts);
    }

    /// <summary>Both have asked for the line: this end waits, the longer where it is the computer's.</summary>
    public void Contended(Instant now)
    {
        if (_phase == Phase.Asking)
            Rest(now + settings.AfterContention, waitsForOther: true);
    }

    /// <summary>The other end has had the line and given it back.</summary>
    public void LineCameFree()
    {
        if (_waitsForOther)
            (_freeFrom, _waitsForOther) = (null, false);
    }

    /// <summary>The connection ended: what was not taken whole waits for the next.</summary>
    public void Disconnected() => Rest(null, waitsForOther: false);

    private void Finish(Instant now, List<LinkAct> acts)
    {
        acts.Add(LinkReceiver.Said(LinkCharacters.Eot));
        acts.Add(new LinkAct.Sent(_messages.Dequeue().Message));
        Rest(_wasAskedForLine ? now + LinkSettings.LineLeftFree : null, _wasAskedForLine);
    }

    private void PutOff(SendFault fault, Instant until, List<LinkAct> acts)
    {
        acts.Add(new LinkAct.NotSent(_messages.Peek().Message, fault));
        Rest(until, waitsForOther: false);
    }

    private void Rest(Instant? until, bool waitsForOther)
    {
        (_phase, _freeFrom, _waitsForOther, _answerBy) = (Phase.Idle, until, waitsForOther, null);
        _frames = null;
        _frame = [];
    }

    private void Say(byte[] bytes, Instant now, List<LinkAct> acts)
    {
        _answerBy = now + LinkSettings.AnswerWithin;
        acts.Add(new LinkAct.Say(bytes));
    }
}
