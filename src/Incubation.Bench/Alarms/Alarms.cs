using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Bench;

/// <summary>
/// The alarms of a bench: those that stand, and those that will stand if nothing is reported until then, so that a
/// screen without its server raises them in time by itself.
/// </summary>
internal static class Alarms
{
    /// <summary>
    /// The alarm of a window about to close starts at least this long before, where that would not be a false alarm.
    /// </summary>
    private static readonly Duration LeastWarning = Duration.FromSeconds(10);

    /// <summary>What ends in time needs so long to be told and heard.</summary>
    private static readonly Duration TimeToTell = Duration.FromSeconds(1);

    public static ImmutableArray<Alarm> List(BenchState state, Instant now) =>
    [
        .. OfPlanning(state)
            .Concat(state.Phase == BatchPhase.Running
                ? state.Cartridges.SelectMany(cartridge => Of(state, cartridge, now)) : [])
            .Where(alarm => alarm.Until is not { } until || alarm.From < until).OrderBy(alarm => alarm.From)
            .ThenByDescending(alarm => alarm.Priority),
    ];

    /// <summary>That no plan can be made, or only without some requests; before the batch starts too.</summary>
    private static IEnumerable<Alarm> OfPlanning(BenchState state)
    {
        if (state.Run.Trouble is not { } trouble)
            yield break;
        if (!trouble.Works)
            yield return Raise(state, new AlarmKey(
                state.Cartridges.Any(cartridge => cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray)
                    ? AlarmKind.CannotPlan : AlarmKind.CannotPlanAtRest,
                new RequestId(InstantPattern.ExtendedIso.Format(trouble.Since))), trouble.Since);
        foreach (var aside in trouble.SetAside)
            if (state.Find(aside.Request) is { HeldBack: false } cartridge && state.IsSetAside(cartridge))
                yield return Raise(state, new AlarmKey(AlarmKind.SetAside, aside.Request), aside.Since);
    }

    private static IEnumerable<Alarm> Of(BenchState state, Cartridge cartridge, Instant now) => cartridge switch
    {
        { Stage: CartridgeStage.Astray astray } =>
            [Raise(state, AlarmKind.CartridgeAstray, cartridge, Instant.Min(astray.Since, now))],
        // A cartridge to be discarded anyway puts no window at risk: its discard is a step like any other.
        { MustGo: not null } => [],
        _ when LotGates.Spoils(state, cartridge) => [],
        { Phase: CartridgePhase.Mixed mixed } => OfMixture(state, cartridge, mixed, now),
        _ when state.WindowOf(cartridge) is { } window =>
            [.. OfIncubator(state, cartridge, now), .. BenchResources.MustGo(state, cartridge, now) is null
                ? OfWindow(state, cartridge, window, now) : []],
        _ => [],
    };

    /// <summary>
    /// While the incubator is outside its tolerance: another alarm where a rule will have the cartridge thrown away,
    /// with the instant from which.
    /// </summary>
    private static IEnumerable<Alarm> OfIncubator(BenchState state, Cartridge cartridge, Instant now)
    {
        var spoiltFrom = BenchResources.TooLongOutsideFrom(state, cartridge);
        if (state.OutsideSince is not null || spoiltFrom <= now)
            yield return Raise(state, spoiltFrom is null ? AlarmKind.IncubatorOutside : AlarmKind.IncubatorSpoils,
                cartridge,
                Instant.Min(state.OutsideSince ?? state.Temperature?.At ?? now, now),
                deadline: spoiltFrom > now ? spoiltFrom : null);
    }

    private static IEnumerable<Alarm> OfWindow(BenchState state, Cartridge cartridge, ReadWindow window, Instant now)
    {
        if (state.GivenUpSince(cartridge.Id) is { } givenUp)
            yield return Raise(state, AlarmKind.CannotBeSaved, cartridge, givenUp,
                until: Instant.Max(givenUp, window.Closes));
        else
            yield return Raise(state, AlarmKind.WindowInDanger, cartridge,
                Instant.Min(DangerFrom(state, cartridge, window, now), window.Closes), window.Closes, window.Closes);
        yield return Raise(state, AlarmKind.WindowClosed, cartridge, window.Closes);
    }

    /// <summary>
    /// A read is in danger from the instant at which its move must begin for the read to start before the guard; where
    /// that move is the hands' present step, begun in time, only from the guard itself, and not before the window has
    /// been open for long enough to be told. If the guard is too short to act in, the alarm starts earlier, when the
    /// move should have ended, so every closing window is announced. Where no plan can be made nothing else says that
    /// the window has opened: then it starts there.
    /// </summary>
    private static Instant DangerFrom(BenchState state, Cartridge cartridge, ReadWindow window, Instant now)
    {
        var latestStart = window.GuardFrom - cartridge.Wanted.Assay.Move;
        var row = state.Adopted?.MoveOf(cartridge.Id);
        if (row?.Step.Hands is not { } hands || state.Adopted?.NextOf(hands) != row)
            return state.Run.Trouble is { Works: false } ? Instant.Min(latestStart, window.Opens) : latestStart;
        var begun = Progress.BegunAt(state, row);
        if (begun > latestStart || (now >= latestStart && !Progress.HasBegun(state, row, now)))
            return latestStart;
        var end = Instant.Max(begun + cartridge.Wanted.Assay.Move, window.Opens);
        // A move that ends in time, however little before the close, has half of what is left to be told.
        var toTell = end < window.Closes
            ? Duration.Min(TimeToTell, (window.Closes - end) / 2) : TimeToTell;
        var guard = Instant.Max(window.GuardFrom, window.Opens + TimeToTell);
        var last = window.Closes - LeastWarning;
        return Instant.Min(guard, Instant.Min(Instant.Max(end + TimeToTell, last), window.Closes - toTell));
    }

    private static IEnumerable<Alarm> OfMixture(BenchState state, Cartridge cartridge, CartridgePhase.Mixed mixed,
        Instant now)
    {
        var loadBefore = mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad;
        var row = state.Adopted?.Remaining.FirstOrDefault(remaining => remaining.Step.Action is StepAction.Load load
            && load.Request == cartridge.Id);
        var isNext = row?.Step.Hands is { } hands && state.Adopted?.NextOf(hands) == row
            && Progress.BegunAt(state, row) <= loadBefore;
        if (state.GivenUpSince(cartridge.Id) is { } givenUp)
        {
            yield return Raise(state, AlarmKind.CannotBeSaved, cartridge, givenUp,
                until: Instant.Max(givenUp, loadBefore));
            yield return Raise(state, AlarmKind.MixtureTooOld, cartridge, Instant.Max(givenUp, loadBefore));
        }
        else if (isNext)
        {
            // Its load counts as begun in time; once the load's allowed length has passed as well, that is doubtful.
            var believedUntil = Progress.LoadBelievedUntil(cartridge, mixed);
            yield return Raise(state, AlarmKind.MixtureInDanger, cartridge, loadBefore + cartridge.Wanted.Assay.Load,
                believedUntil, believedUntil);
            yield return Raise(state, AlarmKind.MixtureTooOld, cartridge, believedUntil);
        }
        else
        {
            yield return Raise(state, AlarmKind.MixtureInDanger, cartridge, MixtureDangerFrom(state, row, loadBefore),
                loadBefore, loadBefore);
            yield return Raise(state, AlarmKind.MixtureTooOld, cartridge, loadBefore);
        }
    }

    /// <summary>
    /// A mixture is in danger from one read guard before its limit; while the hands that are to load it are still in
    /// time with the step before, only from when that step should have ended.
    /// </summary>
    private static Instant MixtureDangerFrom(BenchState state, RemainingStep? row, Instant loadBefore)
    {
        var from = loadBefore - state.Setup.ReadGuard;
        if (row?.Step.Hands is not { } hands || state.Adopted?.NextOf(hands) is not { } present)
            return from;
        var overdue = Progress.BegunAt(state, present) + Progress.Allowed(state, present.Step.Action)
            + TimeToTell;
        return Instant.Max(from, Instant.Min(overdue, loadBefore - TimeToTell));
    }

    private static Alarm Raise(BenchState state, AlarmKind kind, Cartridge cartridge, Instant from,
        Instant? until = null, Instant? deadline = null) =>
        Raise(state, new AlarmKey(kind, cartridge.Id), from, until, deadline) with
        { Reason = ReasonOf(kind, cartridge) };

    private static Alarm Raise(BenchState state, AlarmKey key, Instant from, Instant? until = null,
        Instant? deadline = null) => new(key, from, until, deadline, state.Acknowledged.Contains(key));

    private static DiscardReason? ReasonOf(AlarmKind kind, Cartridge cartridge) => kind switch
    {
        AlarmKind.WindowClosed => DiscardReason.WindowClosed,
        AlarmKind.MixtureTooOld => DiscardReason.MixtureTooOld,
        AlarmKind.CannotBeSaved => cartridge.Phase is CartridgePhase.Mixed
            ? DiscardReason.MixtureTooOld : DiscardReason.WindowClosed,
        AlarmKind.IncubatorSpoils => DiscardReason.Temperature,
        _ => null,
    };
}
