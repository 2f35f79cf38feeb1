using NodaTime;

namespace Incubation.Exchange.Lis;

/// <summary>The receiving end of a line, from the sender's ENQ to its EOT.</summary>
internal sealed class LinkReceiver(LinkSettings settings)
{
    private readonly MessageParts _parts = new(settings.TakenMessage);
    private readonly HashSet<(long Message, int Piece)> _waiting = [];
    private int _expected;
    private bool _hasTaken;
    private bool _wantsLine;
    private bool _answers;
    private bool _wasNotStored;

    /// <summary>Whether a sender has the line.</summary>
    public bool IsOpen { get; private set; }

    /// <summary>When the sender has been silent for too long; null where nothing is waited for.</summary>
    public Instant? Deadline { get; private set; }

    private bool IsStoring => _waiting.Count > 0;

    /// <summary>The sender asks for the line. One that does so in mid-transfer is told to ask again: were its ENQ a
    /// damaged STX, it would take an ACK for that of its frame.</summary>
    public void Asked(Instant now, List<LinkAct> acts)
    {
        if (IsOpen || IsStoring)
        {
            if (IsOpen)
                Close(CutCause.Enquiry, acts);
            acts.Add(Said(LinkCharacters.Nak));
            return;
        }

        (IsOpen, _expected, _hasTaken, _wantsLine) = (true, Frame.First, false, false);
        Answer(LinkCharacters.Ack, now, acts);
    }

    /// <summary>A frame came whole.</summary>
    public void Came(Frame frame, Instant now, List<LinkAct> acts)
    {
        if (!IsOpen || IsStoring)
            return;
        if (_hasTaken && frame.Number == (_expected + 7) % 8)
        {
            AnswerTaken(now, acts);
            return;
        }

        if (frame.Number != _expected)
        {
            Refuse(FrameFault.Order, now, acts);
            return;
        }

        if (_parts.Take(frame) is not { } taking)
        {
            Refuse(FrameFault.MessageTooLong, now, acts);
            return;
        }

        foreach (var part in taking.Parts)
        {
            _waiting.Add((part.Message, part.Piece));
            acts.Add(new LinkAct.Store(part.Message, part.Piece, part.Bytes, part.IsLast));
        }

        acts.AddRange(taking.Cuts.Select(cut =>
            new LinkAct.Cut(cut.Message, cut.Pieces, ReadOnlyMemory<byte>.Empty, CutCause.NextHeader)));
        _answers = true;
        _wasNotStored = false;
        if (IsStoring)
            Deadline = null;
        else
            Take(now, acts);
    }

    /// <summary>What began as a frame was none.</summary>
    public void Damaged(FrameFault fault, Instant now, List<LinkAct> acts)
    {
        if (IsOpen && !IsStoring)
            Refuse(fault, now, acts);
    }

    /// <summary>Something of a frame has come.</summary>
    public void Heard(Instant now)
    {
        if (IsOpen && !IsStoring)
            Deadline = now + LinkSettings.FrameWithin;
    }

    /// <summary>A piece is on the disk, or could not be put there.</summary>
    public void Told(long message, int piece, bool isStored, Instant now, List<LinkAct> acts)
    {
        if (!_waiting.Remove((message, piece)))
            return;
        _wasNotStored |= !isStored;
        if (IsStoring || !_answers)
            return;
        if (!_wasNotStored)
        {
            Take(now, acts);
            return;
        }

        _parts.TakeBack();
        Refuse(FrameFault.NotStored, now, acts);
    }

    /// <summary>The next answers ask the sender for the line.</summary>
    public void AskForLine() => _wantsLine = IsOpen;

    /// <summary>The transfer ends; a message that is not whole is cut.</summary>
    public void Close(CutCause cause, List<LinkAct> acts)
    {
        IsOpen = false;
        _answers = false;
        Deadline = null;
        if (_parts.End() is { } cut)
            acts.Add(new LinkAct.Cut(cut.Message, cut.Pieces, cut.Unsaved, cause));
    }

    private void Take(Instant now, List<LinkAct> acts)
    {
        _parts.Keep();
        _hasTaken = true;
        _expected = Frame.NumberAfter(_expected);
        AnswerTaken(now, acts);
    }

    private void AnswerTaken(Instant now, List<LinkAct> acts) =>
        Answer(_wantsLine ? LinkCharacters.Eot : LinkCharacters.Ack, now, acts);

    private void Refuse(FrameFault fault, Instant now, List<LinkAct> acts)
    {
        acts.Add(new LinkAct.FrameRefused(fault));
        Answer(LinkCharacters.Nak, now, acts);
    }

    private void Answer(byte character, Instant now, List<LinkAct> acts)
    {
        _answers = false;
        Deadline = now + LinkSettings.FrameWithin;
        acts.Add(Said(character));
    }

    internal static LinkAct.Say Said(byte character) => new(new[] { character });
}
