using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>
/// The bench as it truly stands, as the oracle takes it. <b>Promised</b> is what somebody who looks now can still count
/// on: hands begin within <see cref="Grace"/>, and times that nobody was asked for are known no better than the bench
/// can know them. <b>Left</b> is what is still possible with the last second and with the true times.
/// </summary>
internal static class TrueMoments
{
    /// <summary>Whoever looks begins within so long.</summary>
    public static readonly Duration Grace = Duration.FromSeconds(5);

    /// <summary>Nobody taps a begin: it is known no better than this.</summary>
    private static readonly Duration Known = Duration.FromSeconds(3);

    /// <param name="world">The bench.</param>
    /// <param name="isPromise">Whether what is promised is asked; else what is left.</param>
    /// <param name="at">As it would stand then if nobody did anything until then; by default as it stands now.</param>
    /// <param name="back">A pair of hands that is taken to be there and free although it is not, or null.</param>
    public static Moment Of(LateWorld world, bool isPromise, Instant? at = null, LatePerson? back = null)
    {
        var now = at ?? world.Now;
        var (grace, known) = isPromise ? (Grace, Known) : (Duration.Zero, Duration.Zero);
        var hands = new List<long>();
        var doing = new Dictionary<RequestId, (StepAction Action, Instant Begun, Instant End)>();
        var cards = new Dictionary<int, (LotCode? Lot, Instant From)>();
        foreach (var person in world.People)
        {
            if (person == back)
                hands.Add(Ms(now + grace));
            else if (person.IsAway)
                continue;
            else if (person.Doing is { } step)
            {
                var end = Instant.Max(step.Begun + step.Allowed, now);
                if (step.Action is StepAction.Move && world.Find(step.Action.Subject!.Value) is { Opens: { } opens })
                    end = Instant.Max(end, opens);
                hands.Add(Ms(end));
                if (step.Action.Subject is { } id)
                    doing[id] = (step.Action, step.Begun, end);
                else if (step.Action is StepAction.CardChange change)
                    cards[change.Reader.Value] = (change.Lot, end);
            }
            else
                hands.Add(Ms(now + grace));
        }

        var setup = world.Recipe.Bench;
        var slots = new List<long>();
        for (var number = 1; number <= setup.Slots; number++)
            if (world.At(new CartridgePlace.InSlot(new SlotNumber(number))) is not { } inside)
                slots.Add(Ms(now));
            else if (doing.GetValueOrDefault(inside.Id) is { Action: StepAction.Discard } leaving)
                slots.Add(Ms(leaving.End));
        var readers = new List<ReaderThen>();
        for (var number = 1; number <= setup.Readers; number++)
            readers.Add(OfReader(world, number, now, doing, cards.GetValueOrDefault(number)));
        var works = world.Works.Where(c => !c.IsLost(now) && !c.IsGone && c.ReadStart is null)
            .Select(c => OfWork(c, now, grace, known, isPromise ? setup.ReadGuard : Duration.Zero,
                doing.TryGetValue(c.Id, out var at) ? at : null)).ToList();
        return new Moment
        {
            Hands = [.. hands],
            Readers = [.. readers],
            Slots = [.. slots],
            Works = [.. works.OfType<Work>()],
            Spoilt = [.. world.Works.Where(c => c.IsLost(now) && !c.IsGone && c.Place is CartridgePlace.InSlot
                && c.InHand is null).Select(c => Ms(c.Assay.Clear))],
            CardChange = Ms(setup.CardChange),
            Lost = world.Lost(now) + doing.Values.Where(d => d.Action is StepAction.Move)
                .Select(d => (Step: d, Work: world.Find(d.Action.Subject!.Value)!))
                .Where(d => !d.Work.IsLost(now) && d.Step.End > d.Work.Closes)
                .Aggregate(Loss.None, (sum, d) => sum + d.Work.Weight),
        };
    }

    private static long Ms(Instant at) => at.ToUnixTimeMilliseconds();

    private static long Ms(Duration length) => (long)length.TotalMilliseconds;

    private static ReaderThen OfReader(LateWorld world, int number, Instant now,
        Dictionary<RequestId, (StepAction Action, Instant Begun, Instant End)> doing, (LotCode? Lot, Instant From) card)
    {
        if (card.Lot is { } lot)
            return new ReaderThen(lot.Value, Ms(card.From));
        var known = world.Cards.TryGetValue(number, out var inside) ? inside.Value : null;
        if (world.At(new CartridgePlace.InReader(new ReaderNumber(number))) is not { } c)
            return new ReaderThen(known, Ms(now));
        if (doing.TryGetValue(c.Id, out var step))
            return step.Action switch
            {
                StepAction.Clear => new ReaderThen(known, Ms(step.End)),
                StepAction.Load => new ReaderThen(known, Ms(now),
                    Ms(step.End + c.Assay.Incubation + c.Assay.Read), Ms(c.Assay.Clear)),
                _ => new ReaderThen(known, Ms(now), Ms(step.End + c.Assay.Read), Ms(c.Assay.Clear)),
            };
        return new ReaderThen(known, Ms(now), Ms(c.ReadOver ?? now), Ms(c.Assay.Clear));
    }

    private static Work? OfWork(TrueWork c, Instant now, Duration grace, Duration known, Duration guard,
        (StepAction Action, Instant Begun, Instant End)? at)
    {
        var a = c.Assay;
        var work = new Work(c.Id.Value, c.Wanted.Request.Lot.Value, c.Weight)
        { Move = Ms(a.Move), Read = Ms(a.Read), Clear = Ms(a.Clear) };
        switch (at)
        {
            case { Action: StepAction.Move } or { Action: StepAction.Discard }:
                return null;
            case { Action: StepAction.Load load } loading:
                return load.Place is CartridgePlace.InReader ? null : work with
                {
                    Opens = Ms(loading.End + a.Incubation),
                    Closes = Ms((known > Duration.Zero ? loading.Begun + a.LoadShortest - known : loading.End)
                        + a.Incubation + a.ReadWindow),
                };
            case { Action: StepAction.Mix } mixing:
                return work with
                {
                    Mixture = MixtureOf(a, mixing.End, (known > Duration.Zero
                        ? mixing.Begun + a.MixShortest - known : mixing.End) + a.MixToLoad, guard, known),
                };
        }

        if (c.LoadEnd is { } loaded)
            return c.Place is CartridgePlace.InSlot ? work with
            {
                Opens = Ms(loaded + a.Incubation + Duration.Min(known, Duration.FromSeconds(1))),
                Closes = Ms((known > Duration.Zero ? c.LoadEarliest - known : loaded) + a.Incubation + a.ReadWindow),
            } : null;
        return c.MixEnd is { } mixed ? work with
        {
            Mixture = MixtureOf(a, now, (known > Duration.Zero ? c.MixEarliest - known : mixed) + a.MixToLoad, guard,
                known),
        } : null;
    }

    private static Mixture MixtureOf(Assay a, Instant from, Instant until, Duration guard, Duration known) => new(
        Ms(from), Ms(until), Ms(a.Load), Ms(a.Load + a.Incubation),
        Ms((known > Duration.Zero ? a.LoadShortest - known : a.Load) + a.Incubation + a.ReadWindow - guard),
        a.Place is not IncubationPlace.Reader, a.Place is not IncubationPlace.Incubator);
}
