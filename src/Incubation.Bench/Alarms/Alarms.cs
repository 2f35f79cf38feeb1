using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Bench;

/// <summary>
/// The alarms of a bench: those that stand, and those that will stand if nothing is reported until then, so that a
/// screen without its server raises them in time by itself.
/// </summary>
internal static class Alarms
{
    /// <param name="state">The bench.</param>
    /// <param name="dangers">The last useful moments of what is in work.</param>
    /// <param name="now">The present.</param>
    public static ImmutableArray<Alarm> List(BenchState state, Dangers dangers, Instant now) =>
    [
        .. OfPlanning(state)
            .Concat(OfProbes(state))
            .Concat(state.Phase == BatchPhase.Running
                ? state.Cartridges.SelectMany(cartridge => Of(state, dangers, cartridge, now)) : [])
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

    /// <summary>
    /// Known ahead, so that a screen without its server says it too; in the place of the request stands the probe.
    /// </summary>
    private static IEnumerable<Alarm> OfProbes(BenchState state) => state.Probes.Select(probe =>
        Raise(state, new AlarmKey(AlarmKind.ProbeSilent, new RequestId(probe.Probe.Value)), probe.SilentFrom));

    private static IEnumerable<Alarm> Of(BenchState state, Dangers dangers, Cartridge cartridge, Instant now) =>
        cartridge switch
        {
            { Stage: CartridgeStage.Astray astray } =>
                [Raise(state, AlarmKind.CartridgeAstray, cartridge, Instant.Min(astray.Since, now))],
            // A cartridge to be discarded anyway puts no window at risk: its discard is a step like any other.
            { MustGo: not null } => [],
            _ when LotGates.Spoils(state, cartridge) => [],
            { Phase: CartridgePhase.Mixed mixed } => OfMixture(state, dangers, cartridge, mixed, now),
            _ when state.WindowOf(cartridge) is { } window =>
                [.. OfIncubator(state, cartridge, now), .. BenchResources.MustGo(state, cartridge, now) is null
                ? OfWindow(state, dangers, cartridge, window, now) : []],
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

    private static IEnumerable<Alarm> OfWindow(BenchState state, Dangers dangers, Cartridge cartridge,
        ReadWindow window, Instant now)
    {
        var givenUp = state.GivenUpSince(cartridge.Id);
        if (givenUp is { } since && !dangers.MayBeSaved(cartridge, now))
            yield return Raise(state, AlarmKind.CannotBeSaved, cartridge, since,
                until: Instant.Max(since, window.Closes));
        else
        {
            var known = dangers.Of(cartridge);
            var from = Instant.Min(known is null ? DangerFrom(state, cartridge, window, now)
                : InDangerFrom(state, dangers, cartridge, known, window), window.Closes);
            yield return Saving(Raise(state, AlarmKind.WindowInDanger, cartridge,
                givenUp is { } lost && known is not { IsSaved: true } ? Instant.Min(lost, from) : from,
                window.Closes, known?.TooLate ?? window.Closes),
                known);
        }

        yield return Raise(state, AlarmKind.WindowClosed, cartridge, window.Closes);
    }

    private static Alarm Saving(Alarm alarm, CartridgeMoments? known) => known is null ? alarm
        : alarm with { Acts = [.. known.Acts], BeginBy = known.BeginBy, OnlyIfQuick = !known.IsSaved };

    /// <summary>
    /// A read is in danger from the last useful moment of what saves it: clear, card change, move. Where that is not
    /// known any more, as it has passed, by what these take before the guard.
    /// </summary>
    private static Instant InDangerFrom(BenchState state, Dangers dangers, Cartridge cartridge, CartridgeMoments known,
        ReadWindow window)
    {
        var chain = known.Acts.Aggregate(Duration.Zero, (sum, act) => sum + Progress.Allowed(state, act.Action));
        var latest = window.GuardFrom - Duration.Max(chain, cartridge.Wanted.Assay.Move);
        return Instant.Min(dangers.From(known, known.BeginBy ?? latest), LastOf(window, Progress.TimeToTell));
    }

    /// <summary>
    /// No alarm of a window comes later: when the guard begins, though not before the window has been open for long
    /// enough to be told, and where there is no guard just before the close.
    /// </summary>
    private static Instant LastOf(ReadWindow window, Duration toTell) => Instant.Min(
        Instant.Max(window.GuardFrom, window.Opens + Progress.TimeToTell), window.Closes - toTell);

    /// <summary>
    /// Where the move is believed to be the hands' present step, or nothing is planned: from the instant at which it
    /// must begin for the read to start before the guard; begun in time, from when it should have ended, no sooner than
    /// one prompt ahead of that instant and no later than the guard. Where no plan can be made nothing else says that
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
            ? Duration.Min(Progress.TimeToTell, (window.Closes - end) / 2) : Progress.TimeToTell;
        return Instant.Min(LastOf(window, toTell),
            Instant.Max(end + Progress.TimeToTell, latestStart - state.PromptAhead));
    }

    private static IEnumerable<Alarm> OfMixture(BenchState state, Dangers dangers, Cartridge cartridge,
        CartridgePhase.Mixed mixed, Instant now)
    {
        var loadBefore = mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad;
        var row = state.Adopted?.Remaining.FirstOrDefault(remaining => remaining.Step.Action is StepAction.Load load
            && load.Request == cartridge.Id);
        var isNext = row?.Step.Hands is { } hands && state.Adopted?.NextOf(hands) == row
            && Progress.BegunAt(state, row) <= loadBefore;
        var known = dangers.Of(cartridge);
        if (Questions.AsksWhenMixed(state, cartridge))
        {
            // By the answer it may be good; if none comes, it is too old for sure from here on.
            var tooOld = mixed.MixEnd.Latest + cartridge.Wanted.Assay.MixToLoad;
            yield return Raise(state, AlarmKind.MixtureInDanger, cartridge, tooOld - state.Setup.ReadGuard, tooOld,
                tooOld);
            yield return Raise(state, AlarmKind.MixtureTooOld, cartridge, tooOld);
        }
        else if (state.GivenUpSince(cartridge.Id) is { } givenUp && !dangers.MayBeSaved(cartridge, now))
        {
            yield return Raise(state, AlarmKind.CannotBeSaved, cartridge, givenUp,
                until: Instant.Max(givenUp, loadBefore));
            yield return Raise(state, AlarmKind.MixtureTooOld, cartridge, Instant.Max(givenUp, loadBefore));
        }
        else if (UnknownSteps.Of(state, cartridge.Id) is not null)
        {
            // It may be loaded, and the question asks; if it is not, it must be within this.
            yield return Raise(state, AlarmKind.MixtureInDanger, cartridge, loadBefore - state.Setup.ReadGuard,
                loadBefore, loadBefore);
        }
        else if (isNext)
        {
            // Its load counts as begun in time; once the load's allowed length has passed as well, that is doubtful
            // until the step is not known.
            var doubtful = loadBefore + cartridge.Wanted.Assay.Load;
            yield return Saving(Raise(state, AlarmKind.MixtureInDanger, cartridge,
                known is null ? doubtful : Instant.Min(doubtful, MixtureFrom(state, dangers, known, loadBefore)),
                deadline: known?.TooLate), known);
        }
        else
        {
            // Where the hands come to its load at the last instant, that they did needs to be told.
            var until = Progress.LoadUnheardUntil(state, cartridge, mixed);
            var from = until > loadBefore && now >= loadBefore ? until
                : known is null ? loadBefore - state.Setup.ReadGuard
                : MixtureFrom(state, dangers, known, loadBefore);
            yield return Saving(Raise(state, AlarmKind.MixtureInDanger, cartridge, Instant.Min(until, from), until,
                known?.TooLate ?? until), known);
            yield return Raise(state, AlarmKind.MixtureTooOld, cartridge, until);
        }
    }

    /// <summary>
    /// A mixture is in danger from the last useful moment of its load, what must be out of the way before it
    /// counted.
    /// </summary>
    private static Instant MixtureFrom(BenchState state, Dangers dangers, CartridgeMoments known, Instant loadBefore)
    {
        var before = known.Acts.SkipLast(1)
            .Aggregate(Duration.Zero, (sum, act) => sum + Progress.Allowed(state, act.Action));
        return dangers.From(known, known.BeginBy ?? loadBefore - before);
    }

    private static Alarm Raise(BenchState state, AlarmKind kind, Cartridge cartridge, Instant from,
        Instant? until = null, Instant? deadline = null) =>
        Raise(state, new AlarmKey(kind, cartridge.Id), from, until, deadline) with
        { Reason = ReasonOf(kind, cartridge) };

    private static Alarm Raise(BenchState state, AlarmKey key, Instant from, Instant? until = null,
        Instant? deadline = null) => new(key, from, until, deadline,
        Conditions.Of(key.Kind).IsLine || state.Acknowledged.Contains(key));

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
