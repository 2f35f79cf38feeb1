using System.Collections.Immutable;
using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic.Record;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Instruments;

/// <summary>
/// Links to instruments, the messages that they sent and what became of them, as the clinic's stream tells. Immutable;
/// made from events alone; reads no clock.
/// </summary>
public sealed record InstrumentsState
{
    /// <summary>Messages are kept for so many days where nobody has said otherwise.</summary>
    public const int UsualDays = 90;

    /// <summary>They are kept for a week at least: for so long somebody may still have to look.</summary>
    public const int LeastDays = 7;

    /// <summary>
    /// They never outlast the record of their batch, which may be erased after
    /// <see cref="RetentionRules.LeastMonths"/>: so many months of 28 days.
    /// </summary>
    public const int MostDays = RetentionRules.LeastMonths * 28;

    /// <summary>Messages are kept for at least so many days after the last of them was decided.</summary>
    public int KeptDays { get; private init; } = UsualDays;

    /// <summary>None.</summary>
    public static InstrumentsState Empty { get; } = new();

    /// <summary>Every instrument there ever was; the n-th one is named by n.</summary>
    public ImmutableList<Instrument> All { get; private init; } = [];

    /// <summary>Those in use.</summary>
    public IEnumerable<Instrument> InUse => All.Where(one => !one.HasEnded);

    /// <summary>The messages whose bytes are kept, by number.</summary>
    public ImmutableSortedDictionary<long, WireMessage> Messages { get; private init; } =
        ImmutableSortedDictionary<long, WireMessage>.Empty;

    /// <summary>The number of the last message.</summary>
    public long LastMessage { get; private init; }

    /// <summary>What waits for a person, oldest first.</summary>
    public IEnumerable<WireQuestion> Questions =>
        Open.Select(one => new WireQuestion(Messages[one.Key.Message], one.Value));

    /// <summary>How much waits for a person.</summary>
    public int QuestionCount => Open.Count;

    /// <summary>How much of a bench waits for a person; where since is said, of what came from then on.</summary>
    public int QuestionsOf(BenchId bench, Instant? since = null) => Open.Keys.Select(one => Messages[one.Message])
        .Count(one => Find(one.Instrument)?.Link.Bench == bench && (since is not { } from || one.At >= from));

    /// <summary>The messages of which nothing is decided yet, oldest first.</summary>
    public IEnumerable<WireMessage> Unjudged => Waiting.Select(number => Messages[number]);

    private ImmutableSortedSet<long> Waiting { get; init; } = [];

    private ImmutableSortedDictionary<(long Message, int Result), WireFate> Open { get; init; } =
        ImmutableSortedDictionary<(long, int), WireFate>.Empty;

    /// <summary>The messages of an instrument with the same bytes after their first record, oldest first.</summary>
    private ImmutableDictionary<(InstrumentId, string), ImmutableList<long>> Bodies { get; init; } =
        ImmutableDictionary<(InstrumentId, string), ImmutableList<long>>.Empty;

    private ImmutableDictionary<InstrumentId, ImmutableList<Duration>> Differences { get; init; } =
        ImmutableDictionary<InstrumentId, ImmutableList<Duration>>.Empty;

    /// <summary>An instrument, or null.</summary>
    public Instrument? Find(InstrumentId id) => All.Find(one => one.Id == id);

    /// <summary>The messages of an instrument with the same bytes after their first record, oldest first.</summary>
    public IEnumerable<WireMessage> Alike(InstrumentId id, string body) =>
        Bodies.GetValueOrDefault((id, body), []).Select(number => Messages[number]);

    /// <summary>A question, or null where none of this result is open.</summary>
    public WireQuestion? QuestionOf(long message, int result) => Open.TryGetValue((message, result), out var fate)
        ? new WireQuestion(Messages[message], fate) : null;

    /// <summary>How far an instrument's clock is ahead of the bench's; null where that is not known.</summary>
    public Duration? AheadBy(InstrumentId id) => ReaderClock.AheadBy(Differences.GetValueOrDefault(id, []));

    /// <summary>Messages that may be erased at an instant, oldest first.</summary>
    public IEnumerable<WireMessage> Over(Instant now) => Messages.Values
        .Where(one => one.DoneAt is { } done && done <= now - Duration.FromDays(KeptDays));

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    internal InstrumentsState Apply(ClinicEntry entry)
    {
        var (by, at) = (entry.Provenance.Person, entry.Provenance.At);
        return entry.Event switch
        {
            ClinicEvent.InstrumentSet set => Set(new Instrument(set.Instrument, set.Link, by, at)),
            ClinicEvent.InstrumentEnded ended => Find(ended.Instrument) is { } one
                ? Set(one with { HasEnded = true, By = by, At = at }) : this,
            ClinicEvent.WireMessageTaken taken => this with
            {
                LastMessage = taken.Message,
                Waiting = Waiting.Add(taken.Message),
                Bodies = Bodies.SetItem((taken.Instrument, taken.Body),
                    Bodies.GetValueOrDefault((taken.Instrument, taken.Body), []).Add(taken.Message)),
                Messages = Messages.SetItem(taken.Message, new WireMessage(taken.Message, taken.Instrument,
                    taken.Fingerprint, taken.Body, taken.Length, taken.IsWhole, entry.Provenance.Arrived)),
            },
            ClinicEvent.WireMessageJudged judged => Judged(judged, entry.Provenance.Arrived),
            ClinicEvent.WireQuestionSettled settled => Settled(settled, by, at, entry.Provenance.Arrived),
            ClinicEvent.WireMessagesErased erased => Without(erased.Messages),
            ClinicEvent.WireMessagesKept kept => this with { KeptDays = kept.Days },
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<BenchId> benches, Instant arrived) =>
        @event switch
        {
            ClinicEvent.InstrumentSet set => Against(set, benches),
            ClinicEvent.InstrumentEnded ended => Find(ended.Instrument) is not { HasEnded: false }
                ? new(ClinicRefusal.UnknownInstrument, ended.Instrument.Value)
                : string.IsNullOrWhiteSpace(ended.Why) ? new(ClinicRefusal.WhyMissing, ended.Instrument.Value) : null,
            ClinicEvent.WireMessageTaken taken => Find(taken.Instrument) is null
                ? new(ClinicRefusal.UnknownInstrument, taken.Instrument.Value)
                : taken.Message != LastMessage + 1 ? new(ClinicRefusal.WireMessageIsSo, Number(taken.Message)) : null,
            ClinicEvent.WireMessageJudged judged => Waiting.Contains(judged.Message) && !judged.Fates.IsDefault
                && judged.Fates.DistinctBy(fate => fate.Result).Count() == judged.Fates.Length ? null
                : new(ClinicRefusal.WireMessageIsSo, Number(judged.Message)),
            ClinicEvent.WireQuestionSettled settled => QuestionOf(settled.Message, settled.Result) is null
                ? new(ClinicRefusal.WireMessageIsSo, Number(settled.Message))
                : settled.Settling != WireSettling.Matched && string.IsNullOrWhiteSpace(settled.Why)
                ? new(ClinicRefusal.WhyMissing, Number(settled.Message)) : null,
            ClinicEvent.WireMessagesKept { Days: < LeastDays or > MostDays } kept =>
                new(ClinicRefusal.WireDaysOutOfRange, Number(kept.Days)),
            ClinicEvent.WireMessagesErased erased => Over(arrived).Select(one => one.Number).ToHashSet() is var over
                && (erased.Messages.IsDefaultOrEmpty || erased.Days < KeptDays || !erased.Messages.All(over.Contains))
                ? new(ClinicRefusal.RetentionNotOver, Number(erased.Messages.IsDefaultOrEmpty ? 0 : erased.Messages[0]))
                : null,
            _ => null,
        };

    private ClinicObjection? Against(ClinicEvent.InstrumentSet set, ImmutableHashSet<BenchId> benches) =>
        Find(set.Instrument) is { HasEnded: true }
            || (Find(set.Instrument) is null && set.Instrument != Instrument.IdOf(All.Count + 1))
            ? new(ClinicRefusal.UnknownInstrument, set.Instrument.Value)
            : !set.Link.IsPossible ? new(ClinicRefusal.InstrumentImpossible, set.Link.Name)
            : !benches.Contains(set.Link.Bench) ? new(ClinicRefusal.UnknownBench, set.Link.Bench.Value)
            : InUse.FirstOrDefault(one => one.Id != set.Instrument && one.Link.Collides(set.Link)) is { } other
            ? new(ClinicRefusal.LineTaken, other.Link.Name) : null;

    private InstrumentsState Set(Instrument instrument)
    {
        var at = All.FindIndex(one => one.Id == instrument.Id);
        return this with { All = at < 0 ? All.Add(instrument) : All.SetItem(at, instrument) };
    }

    private InstrumentsState Judged(ClinicEvent.WireMessageJudged judged, Instant at)
    {
        if (!Messages.TryGetValue(judged.Message, out var message))
            return this;
        var open = Open.SetItems(judged.Fates.Where(fate => fate.Verdict == WireVerdict.Asked)
            .Select(fate => KeyValuePair.Create((judged.Message, fate.Result), fate)));
        var learnt = judged.Fates.Select(fate => fate.Ahead).OfType<Duration>().ToList();
        var differences = Differences.GetValueOrDefault(message.Instrument, []).AddRange(learnt);
        var next = this with
        {
            Waiting = Waiting.Remove(judged.Message),
            Messages = Messages.SetItem(judged.Message, message with { Fates = judged.Fates }),
            Differences = learnt.Count == 0 ? Differences : Differences.SetItem(message.Instrument,
                differences.RemoveRange(0, Math.Max(0, differences.Count - ReaderClock.Needed))),
        };
        return next.Done(judged.Message, at, open);
    }

    private InstrumentsState Settled(ClinicEvent.WireQuestionSettled settled, PersonId by, Instant at,
        Instant arrived) =>
        !Messages.TryGetValue(settled.Message, out var message) ? this : (this with
        {
            Messages = Messages.SetItem(settled.Message, message with
            {
                Settled = message.Settled.SetItem(settled.Result,
                    new WireSettled(settled.Settling, settled.Request, settled.Why, by, at)),
            }),
        }).Done(settled.Message, arrived, Open.Remove((settled.Message, settled.Result)));

    /// <summary>Whether all of a message is decided follows from what is still open.</summary>
    private InstrumentsState Done(long message, Instant at,
        ImmutableSortedDictionary<(long Message, int Result), WireFate> open) =>
        !Messages.TryGetValue(message, out var one) ? this : this with
        {
            Open = open,
            Messages = open.Keys.Any(key => key.Message == message) ? Messages
                : Messages.SetItem(message, one with { DoneAt = at }),
        };

    private InstrumentsState Without(ImmutableArray<long> erased)
    {
        var bodies = Bodies;
        foreach (var one in erased.Select(number => Messages.GetValueOrDefault(number)).OfType<WireMessage>())
        {
            var key = (one.Instrument, one.Body);
            var left = bodies.GetValueOrDefault(key, []).Remove(one.Number);
            bodies = left.IsEmpty ? bodies.Remove(key) : bodies.SetItem(key, left);
        }

        return this with { Messages = Messages.RemoveRange(erased), Bodies = bodies };
    }

    private static string Number(long number) => number.ToString(CultureInfo.InvariantCulture);
}
