using System.Text;
using System.Text.RegularExpressions;
using Incubation.Exchange.Lis;
using NodaTime;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>
/// One end of a line, told and read in words: "[ENQ]", "[1H|\^&amp;]" for a frame that ends a record, "[1H|\^&amp;+]"
/// for one that does not, "[1…!]" for one whose checksum is wrong.
/// </summary>
internal sealed partial class LineEnd
{
    private static readonly Dictionary<string, byte> Names = new()
    {
        ["ENQ"] = LinkCharacters.Enq,
        ["ACK"] = LinkCharacters.Ack,
        ["NAK"] = LinkCharacters.Nak,
        ["EOT"] = LinkCharacters.Eot,
    };

    private readonly List<LinkAct> _acts = [];

    public LineEnd(LinkSettings? settings = null)
    {
        Link = new Link(settings ?? new LinkSettings());
        _acts.AddRange(Link.Connected(Now));
    }

    public Link Link { get; }

    public Instant Now { get; private set; } = Instant.FromUtc(2026, 3, 2, 8, 0);

    /// <summary>Everything that was to be done and has not been asked for since.</summary>
    public List<LinkAct> Acts => _acts;

    public LineEnd Hears(string words)
    {
        _acts.AddRange(Link.Received(Bytes(words), Now));
        return this;
    }

    public LineEnd After(double seconds)
    {
        Now += Duration.FromSeconds(seconds);
        _acts.AddRange(Link.Tick(Now));
        return this;
    }

    public LineEnd Stored(long message, int piece, bool isStored = true)
    {
        _acts.AddRange(isStored ? Link.Stored(message, piece, Now) : Link.NotStored(message, piece, Now));
        return this;
    }

    public LineEnd Sends(string records)
    {
        _acts.AddRange(Link.Send(Encoding.UTF8.GetBytes(records), Now).Acts);
        return this;
    }

    /// <summary>What was said since this was last asked.</summary>
    public string Said()
    {
        var said = string.Concat(_acts.OfType<LinkAct.Say>().Select(say => Words(say.Bytes.ToArray())));
        _acts.RemoveAll(act => act is LinkAct.Say);
        return said;
    }

    /// <summary>What was to be stored since this was last asked: "1.0 text", a full stop after the last.</summary>
    public IEnumerable<string> Pieces()
    {
        var pieces = _acts.OfType<LinkAct.Store>().Select(store =>
            $"{store.Message}.{store.Piece} {Text(store.Bytes)}{(store.IsLast ? "." : "")}").ToList();
        _acts.RemoveAll(act => act is LinkAct.Store);
        return pieces;
    }

    public static string Text(ReadOnlyMemory<byte> bytes) => Encoding.UTF8.GetString(bytes.Span).Replace('\r', '/');

    private static byte[] Bytes(string words) =>
        Wire.Joined(Word().Matches(words).Select(word => BytesOf(word.Groups[1].Value)));

    private static byte[] BytesOf(string word)
    {
        if (Names.TryGetValue(word, out var character))
            return [character];
        if (!char.IsAsciiDigit(word[0]))
            return Encoding.UTF8.GetBytes(word);
        var text = word[1..].TrimEnd('+', '!').Replace('/', '\r');
        var goesOn = word.EndsWith('+');
        var frame = new Frame(word[0] - '0', Encoding.UTF8.GetBytes(text), !goesOn).Encode();
        if (word.EndsWith('!'))
            frame[^3] = frame[^3] == (byte)'0' ? (byte)'1' : (byte)'0';
        return frame;
    }

    private static string Words(byte[] bytes) => bytes is [var one]
        ? $"[{Names.First(name => name.Value == one).Key}]"
        : Wire.Read(bytes) is [LineSign.Whole { Frame: var frame }]
            ? $"[{frame.Number}{Text(frame.Text)}{(frame.EndsRecord ? "" : "+")}]" : "[?]";

    [GeneratedRegex(@"\[([^\]]*)\]")]
    private static partial Regex Word();
}
