using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>When the adopted plan should be made anew although nothing was reported.</summary>
public static class ReplanTimes
{
    /// <summary>
    /// Where a plan that time alone asked for changed nothing, a host asks again no sooner than after this.
    /// </summary>
    public static readonly Duration AskAgainAfter = Duration.FromSeconds(5);

    /// <summary>The least time between two plans that only a step's overrun asks for.</summary>
    private static readonly Duration LeastBetweenOverrunPlans = Duration.FromSeconds(5);

    /// <summary>The least time between two plans that only the silence of hands asks for.</summary>
    private static readonly Duration LeastBetweenSilentPlans = Duration.FromSeconds(10);

    /// <summary>The next instant from <paramref name="now"/> on at which a plan is wanted, or null.</summary>
    internal static Instant? At(BenchState state, Instant now)
    {
        if (state is not { Phase: BatchPhase.Running, Adopted: { } adopted })
            return null;
        var instants = new List<Instant?>();
        foreach (var hands in state.Hands)
            if (adopted.NextOf(hands) is { } row)
                instants.Add(Overrun(state, adopted, row));
        foreach (var cartridge in state.Cartridges)
        {
            instants.Add(LossKnown(state, adopted, cartridge));
            instants.Add(SpoiltFrom(state, adopted, cartridge));
        }

        instants.AddRange(state.OutOfUse.Select(entry => BenchResources.WorthWaitingFrom(entry) is var from
            && adopted.At < from ? from : (Instant?)null));
        // A confirmation or a temperature that grows too old holds back the requests that need it.
        instants.AddRange(state.ReadinessWords.Select(word => word.Since + Readiness.CheckedWithin)
            .Append(state.Temperature?.At + Readiness.MeasuredWithin ?? Instant.MinValue)
            .Select(from => adopted.At < from ? from : (Instant?)null));
        instants.AddRange(state.LotGates.Where(gate => gate.Gate == LotGate.AwaitingControls)
            .Select(gate => LotGates.ExpectedAt(state, gate) is { } expected && adopted.At < expected
                ? expected : (Instant?)null));
        return BenchViews.Earliest(instants) is { } next ? Instant.Max(next, now) : null;
    }

    /// <summary>
    /// A step that outlasts its allowed time, or cannot begin when planned, delays the steps after it. The longer it
    /// lasts the rarer the plans, so that a bench left alone does not fill its log.
    /// </summary>
    private static Instant Overrun(BenchState state, AdoptedPlan adopted, RemainingStep row)
    {
        if (state.SilentSince(row.Step.Hands!.Value) is { } silent)
            return Waiting(adopted, row, silent);
        // A little after its end, since at its very end everything still stands as planned.
        var due = Progress.AllowedUntil(state, row) + Duration.FromSeconds(1);
        return adopted.At < due ? due : adopted.At + Duration.Max(LeastBetweenOverrunPlans, (adopted.At - due) / 2);
    }

    /// <summary>
    /// What silent hands are offered counts as not begun: the plan is made anew as it grows stale, the rarer the longer
    /// nobody is there, and in any case when its first step can begin no later without a loss.
    /// </summary>
    private static Instant Waiting(AdoptedPlan adopted, RemainingStep row, Instant silent)
    {
        var stale = Instant.Max(adopted.At, row.Step.Start)
            + Duration.Max(LeastBetweenSilentPlans, (adopted.At - silent) / 6);
        return row.Spare is { } spare && row.Step.Start + spare + Duration.FromMilliseconds(1) is var last
            && adopted.At < last
            ? Instant.Min(stale, last) : stale;
    }

    /// <summary>When a cartridge will have been too long outside the incubator's tolerance.</summary>
    private static Instant? SpoiltFrom(BenchState state, AdoptedPlan adopted, Cartridge cartridge) =>
        BenchResources.TooLongOutsideFrom(state, cartridge) is { } from && adopted.At < from ? from : null;

    /// <summary>
    /// Just after a window has closed, or a mixture has become too old, with no report: what remains is planned without
    /// it.
    /// </summary>
    private static Instant? LossKnown(BenchState state, AdoptedPlan adopted, Cartridge cartridge)
    {
        if (adopted.Plan.Lost.Any(left => left.Request == cartridge.Id))
            return null;
        var limit = cartridge.Phase is CartridgePhase.Mixed mixed
            ? Progress.LoadUnheardUntil(state, cartridge, mixed)
            : state.WindowOf(cartridge)?.Closes;
        return adopted.At <= limit ? limit + Duration.FromMilliseconds(1) : null;
    }
}
