using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Connections;

/// <summary>
/// What is to be sent to one destination, in which order, and when. Messages about a request go one after the other, in
/// the order in which they came about; behind one that was refused for good only those about the same request wait.
/// A destination that fails is left alone for longer each time, then tried with one message. Reads no clock and draws
/// no chance. Not for several threads at once.
/// </summary>
public sealed class DeliveryQueue
{
    private readonly Dictionary<RequestId, SortedDictionary<long, Delivery>> chains = [];
    private readonly Dictionary<NoticeId, Delivery> all = [];
    private readonly SortedSet<(Instant At, long Number)> heads = [];
    private readonly SortedDictionary<long, NoticeId> byNumber = [];
    private readonly HashSet<NoticeId> onTheWay = [];
    private readonly SortedSet<long> parked = [];
    private int failures;
    private Instant leftAloneUntil = Instant.MinValue;

    /// <summary>How many messages are in it, those refused for good too.</summary>
    public int Count => all.Count;

    /// <summary>What is in it, in the order in which it came about.</summary>
    public IEnumerable<Delivery> All => byNumber.Values.Select(id => all[id]);

    /// <summary>Those that were refused for good, in the order in which they came about.</summary>
    public IEnumerable<Delivery> Parked => parked.Select(number => all[byNumber[number]]);

    /// <summary>How many were refused for good.</summary>
    public int ParkedCount => parked.Count;

    /// <summary>How many are on their way now.</summary>
    public int OnTheWay => onTheWay.Count;

    /// <summary>How many could be sent, now or later, without anybody's doing.</summary>
    public int Sendable => heads.Count;

    /// <summary>Since how many tries in a row its destination has failed.</summary>
    public int Failures => failures;

    /// <summary>Puts a message in; one that is there already, or over, changes nothing.</summary>
    public void Add(Delivery delivery)
    {
        ArgumentNullException.ThrowIfNull(delivery);
        if (delivery.IsOver || !all.TryAdd(delivery.Id, delivery))
            return;
        byNumber[delivery.Number] = delivery.Id;
        Note(delivery);
        if (delivery.Id.Request is { } request)
        {
            if (!chains.TryGetValue(request, out var chain))
                chains[request] = chain = [];
            if (chain.Count > 0)
                heads.Remove(KeyOf(chain.First().Value));
            chain[delivery.Number] = delivery;
        }

        Show(delivery.Id.Request, delivery);
    }

    /// <summary>
    /// Takes the message that is to be sent now; null where none is. Until it is settled it is on its way.
    /// </summary>
    /// <param name="now">The present.</param>
    public Delivery? Next(Instant now)
    {
        // One message finds out whether a destination is back.
        if (now < leftAloneUntil || (failures > 0 && onTheWay.Count > 0) || heads.Count == 0
            || heads.Min is var first && first.At > now)
            return null;
        heads.Remove(heads.Min);
        var id = byNumber[first.Number];
        onTheWay.Add(id);
        return all[id];
    }

    /// <summary>From when on there may be something to send; null where only a person's doing or news can bring it.
    /// </summary>
    public Instant? DueAt => heads.Count == 0 || (failures > 0 && onTheWay.Count > 0) ? null
        : Instant.Max(heads.Min.At, leftAloneUntil);

    /// <summary>Takes in what came of a message on its way, and gives the message as it stands then.</summary>
    /// <param name="id">Which.</param>
    /// <param name="outcome">What came of it.</param>
    /// <param name="now">The present.</param>
    /// <param name="chance">From 0 to 1.</param>
    public Delivery Settle(NoticeId id, DeliveryOutcome outcome, Instant now, double chance)
    {
        ArgumentNullException.ThrowIfNull(outcome);
        if (!onTheWay.Remove(id))
            throw new InvalidOperationException("This message is not on its way.");
        var tried = all[id] with { Tries = all[id].Tries + 1, LastTry = now };
        switch (outcome)
        {
            case DeliveryOutcome.Taken taken:
                Recover(now);
                return Leave(tried with { Status = DeliveryStatus.Sent, Answer = taken.Answer });
            case DeliveryOutcome.Refused refused:
                // It answers: others may well be taken.
                Recover(now);
                return Replace(tried with { Status = DeliveryStatus.Parked, Answer = refused.Answer });
            case DeliveryOutcome.NotNow not:
                failures++;
                var asked = Duration.Min(not.NotBefore ?? Duration.Zero, RetryWaits.Longest);
                leftAloneUntil = now + Duration.Max(asked,
                    Duration.Min(RetryWaits.After(failures, chance), RetryWaits.LongestOfDestination));
                return Replace(tried with
                {
                    NextTry = now + Duration.Max(asked, RetryWaits.After(tried.Tries, chance)),
                    Answer = not.Answer,
                });
            default:
                return Replace(tried with { NextTry = now, Answer = ((DeliveryOutcome.Gone)outcome).Answer });
        }
    }

    /// <summary>Puts back a message of which nobody knows what came of it, as it was.</summary>
    public void PutBack(NoticeId id)
    {
        if (onTheWay.Remove(id))
            Replace(all[id]);
    }

    /// <summary>What waits because something failed need wait no more: its destination is back, or a person says so.
    /// </summary>
    public void TryNow(Instant now)
    {
        (failures, leftAloneUntil) = (0, Instant.MinValue);
        foreach (var (_, number) in heads.Where(head => head.At > now).ToList())
        {
            var delivery = all[byNumber[number]];
            heads.Remove(KeyOf(delivery));
            Replace(delivery with { NextTry = now });
        }
    }

    /// <summary>A person wants a message sent now; null where it is not in here, or on its way.</summary>
    public Delivery? Resend(NoticeId id, Instant now)
    {
        if (!all.TryGetValue(id, out var delivery) || onTheWay.Contains(id))
            return null;
        (failures, leftAloneUntil) = (0, Instant.MinValue);
        heads.Remove(KeyOf(delivery));
        return Replace(delivery with { Status = DeliveryStatus.Waiting, NextTry = now });
    }

    /// <summary>A person has given a message up; null where it is not in here, or on its way.</summary>
    public Delivery? GiveUp(NoticeId id)
    {
        if (!all.TryGetValue(id, out var delivery) || onTheWay.Contains(id))
            return null;
        heads.Remove(KeyOf(delivery));
        return Leave(delivery with { Status = DeliveryStatus.GivenUp });
    }

    private void Recover(Instant now)
    {
        if (failures > 0)
            TryNow(now);
    }

    private Delivery Replace(Delivery delivery)
    {
        all[delivery.Id] = delivery;
        Note(delivery);
        if (delivery.Id.Request is { } request)
            chains[request][delivery.Number] = delivery;
        Show(delivery.Id.Request, delivery);
        return delivery;
    }

    private Delivery Leave(Delivery delivery)
    {
        all.Remove(delivery.Id);
        byNumber.Remove(delivery.Number);
        parked.Remove(delivery.Number);
        if (delivery.Id.Request is { } request && chains[request] is var chain)
        {
            chain.Remove(delivery.Number);
            if (chain.Count == 0)
                chains.Remove(request);
            else
                Show(request, chain.First().Value);
        }

        return delivery;
    }

    private void Note(Delivery delivery)
    {
        if (delivery.Status == DeliveryStatus.Parked)
            parked.Add(delivery.Number);
        else
            parked.Remove(delivery.Number);
    }

    /// <summary>The first of its chain may be sent, where it waits and is not on its way.</summary>
    private void Show(RequestId? request, Delivery delivery)
    {
        var head = request is { } of ? chains[of].First().Value : delivery;
        if (head.Status == DeliveryStatus.Waiting && !onTheWay.Contains(head.Id))
            heads.Add(KeyOf(head));
    }

    private static (Instant, long) KeyOf(Delivery delivery) => (delivery.NextTry, delivery.Number);
}
