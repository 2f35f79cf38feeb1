using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// What the controls of a kit lot let its patients' cartridges do on a bench, and those of proficiency testing, which
/// run like them. Controls themselves always go.
/// </summary>
public enum LotGate
{
    /// <summary>They run.</summary>
    Open,

    /// <summary>They wait until the controls are accepted.</summary>
    AwaitingControls,

    /// <summary>They run; results entered meanwhile are held until the controls are accepted.</summary>
    ResultsHeld,

    /// <summary>
    /// A control was rejected: none is loaded, and what was in work or not released is held until a person releases it.
    /// </summary>
    Failed,

    /// <summary>
    /// They run; results entered meanwhile are held until the lot's comparison with the one before is accepted.
    /// </summary>
    AwaitingComparison,
}

/// <summary>A kit lot whose gate is not open.</summary>
/// <param name="Lot">The lot.</param>
/// <param name="Gate">Its gate.</param>
/// <param name="Since">Since when.</param>
public sealed record GatedLot(LotCode Lot, LotGate Gate, Instant Since);

/// <summary>What the gates of kit lots keep back, on a bench, at an instant.</summary>
internal static class LotGates
{
    /// <summary>
    /// Expected time from clearing the last control to its result being entered and judged.
    /// </summary>
    public static readonly Duration ExpectedResultEntryTime = Duration.FromMinutes(1);

    /// <summary>The gate of a cartridge's lot, where it is a patient's and the gate is not open; else null.</summary>
    public static GatedLot? GateOf(BenchState state, Cartridge cartridge) =>
        cartridge.Wanted.Request.Kind != RequestKind.Control ? state.GateOf(cartridge.Wanted.Request.Lot) : null;

    /// <summary>Whether a patient's cartridge must not be started now.</summary>
    public static bool KeepsBack(BenchState state, Cartridge cartridge) =>
        GateOf(state, cartridge)?.Gate is LotGate.AwaitingControls or LotGate.Failed;

    /// <summary>
    /// Whether a step must not be offered: a patient's mix before its lot's controls are accepted, a load after they
    /// have failed.
    /// </summary>
    public static bool KeepsBack(BenchState state, StepAction action) => action switch
    {
        StepAction.Mix mix => state.Find(mix.Request) is { } waiting && KeepsBack(state, waiting),
        StepAction.Load load => state.Find(load.Request) is { } mixed && GateOf(state, mixed)?.Gate == LotGate.Failed,
        _ => false,
    };

    /// <summary>Whether a mixture must be thrown away: it may not be loaded, and it does not keep.</summary>
    public static bool Spoils(BenchState state, Cartridge cartridge) =>
        cartridge.Phase is CartridgePhase.Mixed && GateOf(state, cartridge)?.Gate == LotGate.Failed;

    /// <summary>Why a request that is not mixed is not planned at an instant, or null where it is.</summary>
    public static NotPlannedCause? NotPlanned(BenchState state, Cartridge waiting, ImmutableArray<ReadinessItem> ready,
        Instant now) => GateOf(state, waiting) switch
        {
            { Gate: LotGate.Failed } => NotPlannedCause.ControlsFailed,
            { Gate: LotGate.AwaitingControls } gate when !OpenControls(state, gate.Lot, ready, now).Any()
                && !(now < ExpectedAt(state, gate)) => NotPlannedCause.ControlsAwaited,
            _ => null,
        };

    /// <summary>
    /// A request that is not mixed, as it is planned: one that waits for its lot's controls comes after them; when they
    /// are out of the reader, not before they can be expected to be accepted.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="waiting">The request's cartridge.</param>
    /// <param name="wanted">The request as it would be planned without its lot's gate.</param>
    /// <param name="ready">What must be ready before requests are started.</param>
    /// <param name="now">The present.</param>
    public static Request AsPlanned(BenchState state, Cartridge waiting, Request wanted,
        ImmutableArray<ReadinessItem> ready, Instant now)
    {
        if (GateOf(state, waiting) is not { Gate: LotGate.AwaitingControls } gate)
            return wanted;
        var after = wanted.After.Union(OpenControls(state, gate.Lot, ready, now).Select(control => control.Id))
            .ToList();
        return wanted with
        {
            After = after,
            Ready = after.Count == wanted.After.Count && ExpectedAt(state, gate) is { } expected
                ? Instant.Max(wanted.Ready, expected) : wanted.Ready,
        };
    }

    /// <summary>
    /// When the lot's controls can be expected to be accepted, if nothing more is run: after their last clear; null
    /// where none was cleared.
    /// </summary>
    public static Instant? ExpectedAt(BenchState state, GatedLot gate) => state.Cartridges
        .Where(cartridge => IsControlOf(cartridge, gate.Lot))
        .Select(cartridge => cartridge.Stage is CartridgeStage.Cleared cleared && cleared.End >= gate.Since
            ? cleared.End + ExpectedResultEntryTime : (Instant?)null)
        .Max();

    /// <summary>
    /// The deviation of a load from what its lot's gate allows, or none. One that is told once its lot has failed could
    /// not be marked with the others, whenever it was.
    /// </summary>
    public static ImmutableArray<Deviation> DeviationsOfLoad(BenchState state, Cartridge cartridge, Instant at) =>
        KeepsBack(state, cartridge) && GateOf(state, cartridge) is { } gate
            && (gate.Gate == LotGate.Failed || gate.Since <= at) ? [Deviation.ControlsNotAccepted] : [];

    /// <summary>
    /// The event for a gate that is set. Where it is set because a control failed, it names the patients' cartridges to
    /// mark: those in work, and those whose result is not released; also where it was thrown away, for that may be
    /// taken back.
    /// </summary>
    public static BenchEvent.LotGateSet Set(BenchState state, LotCode lot, LotGate gate) =>
        new(lot, gate, gate == LotGate.Failed
        ? [.. state.Cartridges
            .Where(cartridge => cartridge.Wanted.Request.Lot == lot
                && cartridge.Wanted.Request.Kind != RequestKind.Control)
            .Where(cartridge => cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray
                || (cartridge.Stage is CartridgeStage.Cleared or CartridgeStage.Discarded
                    && (cartridge.Result is null || cartridge.Waits)))
            .Select(cartridge => cartridge.Id)]
        : []);

    /// <summary>The state after a gate was set.</summary>
    public static BenchState Apply(BenchState state, BenchEvent.LotGateSet set, Instant at)
    {
        var others = state.LotGates.RemoveAll(gate => gate.Lot == set.Lot);
        var since = state.GateOf(set.Lot) is { } before && before.Gate == set.Gate ? before.Since : at;
        return state
            .InCheckpoint(bench => bench with
            {
                LotGates = set.Gate == LotGate.Open
                ? others : others.Add(new GatedLot(set.Lot, set.Gate, since))
            })
            .InRun(run => run with { Cartridges = [.. run.Cartridges.Select(cartridge => After(cartridge, set))] });
    }

    private static Cartridge After(Cartridge cartridge, BenchEvent.LotGateSet set)
    {
        if (cartridge.Wanted.Request.Lot == set.Lot && set.Gate == LotGate.Open && cartridge.HeldForControls)
            return cartridge with { HeldForControls = false };
        // What still waits for another reason waits for the controls too: whoever releases it is told so.
        if (cartridge.Wanted.Request.Lot == set.Lot && set.Gate != LotGate.Open
            && cartridge is { Wanted.Request.Kind: not RequestKind.Control, Result: not null, Waits: true })
            cartridge = cartridge with { HeldForControls = true };
        return set.Marked.Contains(cartridge.Id) && !cartridge.Deviations.Contains(Deviation.ControlsFailed)
            ? cartridge with { Deviations = cartridge.Deviations.Add(Deviation.ControlsFailed) }
            : cartridge;
    }

    /// <summary>The lot's controls that are still to be done on this bench and can be planned.</summary>
    private static IEnumerable<Cartridge> OpenControls(BenchState state, LotCode lot,
        ImmutableArray<ReadinessItem> ready, Instant now) => state.Cartridges.Where(cartridge =>
        IsControlOf(cartridge, lot) && !cartridge.IsOver && cartridge.Stage is not CartridgeStage.Astray
        && (cartridge.Stage is not CartridgeStage.Waiting
            || BenchResources.NotPlanned(state, cartridge, ready, now) is null));

    private static bool IsControlOf(Cartridge cartridge, LotCode lot) =>
        cartridge.Wanted.Request.Kind == RequestKind.Control && cartridge.Wanted.Request.Lot == lot;
}
