using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// What can be true on a bench, and can be told from where one stands: at an alarm or a question of a cartridge, at a
/// slot, at a reader. What cannot be is not in it; whatever is in it is accepted, and leaves a bench that can be
/// planned.
/// </summary>
public static class Tellings
{
    /// <summary>
    /// What can be true of every cartridge of which anything can be; empty while the batch does not run.
    /// </summary>
    public static ImmutableArray<CartridgeTellings> List(BenchState state, Instant now)
    {
        ArgumentNullException.ThrowIfNull(state);
        state = LiveBench.Readable(state);
        return state.Phase != BatchPhase.Running ? [] :
        [
            .. state.Cartridges.Select(cartridge =>
                new CartridgeTellings(cartridge.Id, cartridge.Phase?.FindPlace(), Of(state, cartridge, now)))
                .Where(tellings => !tellings.Can.IsEmpty),
        ];
    }

    /// <summary>
    /// What can be true at a place: of the cartridge that is believed to lie in it, and which other can lie in it.
    /// </summary>
    public static ImmutableArray<Telling> At(BenchState state, CartridgePlace place, Instant now)
    {
        ArgumentNullException.ThrowIfNull(place);
        var all = List(state, now);
        return
        [
            .. all.Where(cartridge => cartridge.Lies == place).SelectMany(cartridge => cartridge.Can),
            .. all.Where(cartridge => cartridge.Lies != place).SelectMany(cartridge => cartridge.Can)
                .Where(telling => telling.Places.Contains(place)).Select(telling => telling with { Places = [place] }),
        ];
    }

    private static ImmutableArray<Telling> Of(BenchState state, Cartridge cartridge, Instant now)
    {
        var earliest = ReportTimes.Earliest(state, cartridge.Id, now);
        var can = cartridge.Stage switch
        {
            CartridgeStage.Waiting => OfWaiting(state, cartridge, earliest, now),
            CartridgeStage.InWork or CartridgeStage.Astray => cartridge.Reached switch
            {
                CartridgePhase.Mixed mixed => OfMixture(state, cartridge, mixed, earliest, now),
                CartridgePhase.Reacting reacting => OfReacting(state, cartridge, reacting, earliest, now),
                CartridgePhase.Reading reading => OfReading(state, cartridge, reading, now),
                _ => [],
            },
            CartridgeStage.Discarded => PastTellings.OfDiscarded(state, cartridge, now),
            CartridgeStage.Cleared => PastTellings.OfCleared(state, cartridge),
            _ => [],
        };
        return [.. can.OfType<Telling>().Select(telling => telling with
            { Earliest = telling.Earliest is { } from ? Instant.Min(from, now) : null })];
    }

    private static IEnumerable<Telling?> OfWaiting(BenchState state, Cartridge cartridge, Instant earliest,
        Instant now)
    {
        var request = cartridge.Id;
        yield return new Telling(TellingKind.Mixed, request, [], earliest);
        yield return new Telling(TellingKind.Loaded, request, PlacesOf(state, cartridge), earliest)
        { MixedBefore = cartridge.Wanted.Assay.Load };
        if (NotBegun(state, request, TellingKind.NotMixed, now) is not { } notMixed)
            yield break;
        yield return notMixed;
        yield return new Telling(TellingKind.Fell, request, [], earliest);
    }

    private static IEnumerable<Telling?> OfMixture(BenchState state, Cartridge cartridge, CartridgePhase.Mixed mixed,
        Instant earliest, Instant now)
    {
        var (request, since) = (cartridge.Id, mixed.MixEnd.Earliest);
        yield return new Telling(TellingKind.Loaded, request, PlacesOf(state, cartridge), since);
        yield return NotBegun(state, request, TellingKind.StillMixed, now);
        foreach (var end in Ends(state, cartridge, since, now))
            yield return end;
        yield return OtherTime<BenchEvent.Mixed>(state, request, earliest);
        if (Last<BenchEvent.Mixed>(state, request) is { } mix)
            yield return new Telling(TellingKind.NotMixed, request, [], null) { NotSo = mix.Id };
    }

    private static IEnumerable<Telling?> OfReacting(BenchState state, Cartridge cartridge,
        CartridgePhase.Reacting reacting, Instant earliest, Instant now)
    {
        var (request, since) = (cartridge.Id, reacting.LoadEnd.Earliest);
        yield return reacting.Place is CartridgePlace.InSlot
            ? new Telling(TellingKind.ReadStarted, request, ReadersFor(state, cartridge), since)
            { InTimeFrom = state.WindowOf(cartridge, reacting)?.Closes }
            : new Telling(TellingKind.Cleared, request, [reacting.Place], since);
        yield return NotBegun(state, request, TellingKind.StillHere, now);
        if (Questions.LoadOf(state, request) is { } load)
            yield return Placed(TellingKind.Elsewhere, request,
                PlacesOf(state, cartridge).Remove(reacting.Place)) is { } elsewhere
                ? elsewhere with { Of = load.Id, Lies = reacting.Place } : null;
        foreach (var end in Ends(state, cartridge, since, now))
            yield return end;
        yield return OtherTime<BenchEvent.Loaded>(state, request, MixedAt(state, request) ?? earliest);
        if (Last<BenchEvent.Loaded>(state, request) is { } loaded && MixedAt(state, request) is not null)
            yield return new Telling(TellingKind.StillMixed, request, [], null) { NotSo = loaded.Id };
    }

    private static IEnumerable<Telling?> OfReading(BenchState state, Cartridge cartridge,
        CartridgePhase.Reading reading, Instant now)
    {
        var (request, since) = (cartridge.Id, reading.Start);
        CartridgePlace inside = new CartridgePlace.InReader(reading.Reader);
        yield return new Telling(TellingKind.Cleared, request, [inside], since);
        yield return NotBegun(state, request, TellingKind.StillHere, now);
        var load = Questions.LoadOf(state, request);
        if (Last<BenchEvent.ReadStarted>(state, request) is { } read)
        {
            if (Placed(TellingKind.Elsewhere, request, [.. ReadersFor(state, cartridge).Remove(inside)]) is { } other)
                yield return other with { Of = read.Id, Lies = inside };
            // It was not moved: it lies in a slot, unread.
            if (load is { Place: CartridgePlace.InSlot lies }
                && Placed(TellingKind.Elsewhere, request, [lies, .. SlotsFor(state, cartridge).Remove(lies)]) is
                { } unread)
                yield return unread with { NotSo = read.Id, Of = load.Id, Lies = lies };
        }

        foreach (var end in Ends(state, cartridge, since, now))
            yield return end;
        if (load?.Event is BenchEvent.Loaded loaded)
            yield return OtherTime<BenchEvent.ReadStarted>(state, request, loaded.End.Earliest);
    }

    /// <summary>How any cartridge in work can have ended.</summary>
    private static IEnumerable<Telling> Ends(BenchState state, Cartridge cartridge, Instant since, Instant now)
    {
        yield return new Telling(TellingKind.Fell, cartridge.Id, [], since);
        if (UsedUp(state, cartridge, now) is { } reason)
            yield return new Telling(TellingKind.ThrownAway, cartridge.Id, [], since) { Reason = reason };
        yield return new Telling(TellingKind.Gone, cartridge.Id, [], null);
    }

    /// <summary>Why a cartridge cannot be used any more at an instant, or null.</summary>
    private static DiscardReason? UsedUp(BenchState state, Cartridge cartridge, Instant now) =>
        BenchResources.MustGo(state, cartridge, now) ?? cartridge.Reached switch
        {
            CartridgePhase.Mixed mixed when now > mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad =>
                DiscardReason.MixtureTooOld,
            CartridgePhase.Reacting reacting when now > state.WindowOf(cartridge, reacting)?.Closes =>
                DiscardReason.WindowClosed,
            _ => null,
        };

    /// <summary>
    /// That hands which count as at a step of a cartridge have not begun it; null where none do.
    /// </summary>
    private static Telling? NotBegun(BenchState state, RequestId request, TellingKind what, Instant now) =>
        state.Hands.Select(hands => state.Adopted?.NextOf(hands)).OfType<RemainingStep>()
            .FirstOrDefault(row => row.Step.Action.Subject == request && Progress.HasBegun(state, row, now)) is { } row
            ? new Telling(what, request, [], null) { Hands = row.Step.Hands } : null;

    private static Telling? OtherTime<T>(BenchState state, RequestId request, Instant earliest)
        where T : BenchEvent.StoryEvent => Sole<T>(state, request) is { } told
            ? new Telling(TellingKind.OtherTime, request, [], earliest) { Of = told.Id } : null;

    /// <summary>The places in which a cartridge can have been loaded: the planned one first, then those free.</summary>
    private static ImmutableArray<CartridgePlace> PlacesOf(BenchState state, Cartridge cartridge)
    {
        ImmutableArray<CartridgePlace> all =
        [
            .. SlotsFor(state, cartridge),
            .. cartridge.Wanted.Assay.Place == IncubationPlace.Incubator ? [] : ReadersFor(state, cartridge),
        ];
        var planned = state.Adopted?.Plan.Steps.Select(step => step.Action).OfType<StepAction.Load>()
            .FirstOrDefault(load => load.Request == cartridge.Id)?.Place;
        return [.. all.OrderByDescending(place => place == planned)];
    }

    internal static ImmutableArray<CartridgePlace> SlotsFor(BenchState state, Cartridge cartridge) =>
        cartridge.Wanted.Assay.Place == IncubationPlace.Reader ? [] :
        [
            .. state.Slots.OrderBy(slot => state.InSlot(slot) is not null)
                .Select(slot => new CartridgePlace.InSlot(slot)),
        ];

    private static ImmutableArray<CartridgePlace> ReadersFor(BenchState state, Cartridge cartridge)
    {
        var planned = state.Adopted?.MoveOf(cartridge.Id)?.Step.Action.NeedsReader;
        return [.. state.Readers.OrderByDescending(reader => reader == planned)
            .ThenBy(reader => state.InReader(reader) is not null)
            .Select(reader => new CartridgePlace.InReader(reader))];
    }

    internal static Telling? Placed(TellingKind what, RequestId request, ImmutableArray<CartridgePlace> places) =>
        places.IsEmpty ? null : new Telling(what, request, places, null);

    private static Instant? MixedAt(BenchState state, RequestId request) =>
        (Last<BenchEvent.Mixed>(state, request)?.Event as BenchEvent.Mixed)?.End.Earliest;

    /// <summary>
    /// The one report of this step of a cartridge, which can be otherwise: null where there is none or another.
    /// </summary>
    internal static ReportedStep? Sole<T>(BenchState state, RequestId request) where T : BenchEvent.StoryEvent =>
        state.Story.FindAll(told => told.Event is T && told.Subject == request) is [var sole] ? sole : null;

    /// <summary>The last report of this step of a cartridge, or null.</summary>
    internal static ReportedStep? Last<T>(BenchState state, RequestId request) where T : BenchEvent.StoryEvent =>
        state.Story.FindLast(told => told.Event is T && told.Subject == request);
}
