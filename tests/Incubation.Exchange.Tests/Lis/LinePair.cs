using System.Text;
using Incubation.Exchange.Lis;
using NodaTime;

namespace Incubation.Exchange.Tests.Lis;

/// <summary>How a line and what is behind it fail, as shares.</summary>
internal sealed record LineFaults(double Bit = 0, double LostByte = 0, double LostPiece = 0, double FullDisk = 0,
    double SlowDisk = 0, double Kill = 0, double Cut = 0)
{
    public static LineFaults None { get; } = new();
}

/// <summary>
/// An instrument that sends messages to a computer over a line that fails, on virtual time: the computer may also be
/// killed, between its disk and its answer too.
/// </summary>
internal sealed class LinePair(int seed, LineFaults faults)
{
    private readonly Random _random = new(seed);
    private readonly Link _instrument = new(new LinkSettings(LinkRole.Instrument));
    private readonly List<(int Life, LinkAct.Store Store, Instant At)> _toStore = [];
    private readonly SortedDictionary<(int Life, long Message, int Piece), LinkAct.Store> _disk = [];
    private readonly Queue<byte> _toComputer = [];
    private readonly Queue<byte> _toInstrument = [];
    private readonly Dictionary<long, string> _sending = [];
    private Link _computer = new(new LinkSettings());
    private Instant _now = Instant.FromUtc(2026, 3, 2, 8, 0);
    private int _life;

    /// <summary>Messages that the instrument knows to be taken, each with whether it was on the disk then.</summary>
    public List<(string Message, bool WasStored)> Taken { get; } = [];

    /// <summary>Messages that the instrument sends no more.</summary>
    public List<string> Refused { get; } = [];

    public bool IsQuiet => _instrument.IsNeutral && _computer.IsNeutral
        && Taken.Count + Refused.Count == _sending.Count;

    /// <summary>Whole messages on the disk, in the order of their coming.</summary>
    public List<string> Whole =>
    [
        .. _disk.Values.Zip(_disk.Keys).GroupBy(one => (one.Second.Life, one.Second.Message), one => one.First)
            .Where(pieces => pieces.Last().IsLast)
            .Select(pieces => string.Concat(pieces.Select(piece => Encoding.UTF8.GetString(piece.Bytes.Span)))),
    ];

    public void Run(IReadOnlyList<string> messages, int mostSteps)
    {
        Instrument(_instrument.Connected(_now));
        Computer(_computer.Connected(_now));
        foreach (var message in messages)
        {
            var (number, acts) = _instrument.Send(Encoding.UTF8.GetBytes(message), _now);
            _sending[number!.Value] = message;
            Instrument(acts);
        }

        for (var step = 0; step < mostSteps && !IsQuiet; step++)
            Step();
    }

    private bool Chance(double share) => share > 0 && _random.NextDouble() < share;

    private void Step()
    {
        if (Chance(faults.Kill))
            Kill();
        else if (Chance(faults.Cut))
            Reconnect();
        else if (_toStore.FindIndex(one => one.At <= _now) is var due and >= 0)
            Store(due);
        else if (_toComputer.Count > 0)
            Computer(_computer.Received(Next(_toComputer), _now));
        else if (_toInstrument.Count > 0)
            Instrument(_instrument.Received(Next(_toInstrument), _now));
        else
            Wait();
    }

    private void Wait()
    {
        var next = new[] { _instrument.NextTick, _computer.NextTick }
            .Concat(_toStore.Select(one => (Instant?)one.At)).Min();
        if (next > _now)
            _now = next.Value;
        Instrument(_instrument.Tick(_now));
        Computer(_computer.Tick(_now));
    }

    /// <summary>The process is gone; what lies on the disk stays, also what was not acknowledged.</summary>
    private void Kill()
    {
        foreach (var (life, store, _) in _toStore.Where(_ => _random.Next(2) == 0))
            _disk[(life, store.Message, store.Piece)] = store;
        _toStore.Clear();
        _computer = new Link(new LinkSettings());
        _life++;
        Reconnect();
    }

    private void Reconnect()
    {
        _toComputer.Clear();
        _toInstrument.Clear();
        Computer(_computer.Disconnected());
        Instrument(_instrument.Disconnected());
        Computer(_computer.Connected(_now));
        Instrument(_instrument.Connected(_now));
    }

    private void Store(int due)
    {
        var (life, store, _) = _toStore[due];
        _toStore.RemoveAt(due);
        var isFull = Chance(faults.FullDisk);
        if (!isFull)
            _disk[(life, store.Message, store.Piece)] = store;
        Computer(isFull ? _computer.NotStored(store.Message, store.Piece, _now)
            : _computer.Stored(store.Message, store.Piece, _now));
    }

    private byte[] Next(Queue<byte> line) =>
        [.. Enumerable.Range(0, Math.Min(line.Count, _random.Next(1, 300))).Select(_ => line.Dequeue())];

    private void Computer(IReadOnlyList<LinkAct> acts)
    {
        foreach (var act in acts)
        {
            if (act is LinkAct.Say say)
                Put(say, _toInstrument);
            else if (act is LinkAct.Store store)
                _toStore.Add((_life, store, _now + Duration.FromSeconds(Chance(faults.SlowDisk) ? 40 : 0)));
        }
    }

    private void Instrument(IReadOnlyList<LinkAct> acts)
    {
        foreach (var act in acts)
        {
            if (act is LinkAct.Say say)
                Put(say, _toComputer);
            else if (act is LinkAct.Sent sent)
                Taken.Add((_sending[sent.Message], Whole.Contains(_sending[sent.Message])));
            else if (act is LinkAct.NotSent { Fault: SendFault.Refused } not)
                Refused.Add(_sending[not.Message]);
        }
    }

    /// <summary>What is said may lose a byte or get one bit wrong, or be lost as a whole.</summary>
    private void Put(LinkAct.Say say, Queue<byte> line)
    {
        var bytes = say.Bytes.ToArray().ToList();
        if (Chance(faults.LostPiece))
            return;
        if (Chance(faults.LostByte))
            bytes.RemoveAt(_random.Next(bytes.Count));
        else if (Chance(faults.Bit))
            bytes[_random.Next(bytes.Count)] ^= (byte)(1 << _random.Next(8));
        bytes.ForEach(line.Enqueue);
    }
}
