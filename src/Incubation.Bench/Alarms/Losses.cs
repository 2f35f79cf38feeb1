using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Why a cartridge is given up; hosts have the words.</summary>
public enum LossCause
{
    /// <summary>Its read window has closed without a report.</summary>
    WindowClosed,

    /// <summary>Its mixture is too old to be loaded.</summary>
    MixtureTooOld,

    /// <summary>The hands are away when it would need them.</summary>
    HandsAway,

    /// <summary>The reader is out of use.</summary>
    ReaderOutOfUse,

    /// <summary>The slots are out of use.</summary>
    SlotOutOfUse,

    /// <summary>
    /// A step of another cartridge, or a card change, has outlasted its allowed time and holds the hands.
    /// </summary>
    HandsHeld,

    /// <summary>Another cartridge is in the reader.</summary>
    ReaderHeld,

    /// <summary>The steps it needs do not fit before its window closes.</summary>
    NoTime,

    /// <summary>Its request was withdrawn.</summary>
    Withdrawn,

    /// <summary>It was outside the incubator's tolerance for longer than its assay allows.</summary>
    Temperature,

    /// <summary>A control of its kit lot was rejected before it was loaded.</summary>
    ControlsFailed,
}

/// <summary>A cartridge that is given up.</summary>
/// <param name="Request">Which.</param>
/// <param name="Cause">Why.</param>
/// <param name="By">The other cartridge that holds what it needs, or null.</param>
/// <param name="Since">Since when that is known.</param>
/// <param name="Reason">The reason with which it is thrown away.</param>
/// <param name="RepeatLeft">Whether specimen is left for a repeat.</param>
public sealed record Loss(RequestId Request, LossCause Cause, RequestId? By, Instant Since, DiscardReason Reason,
    bool RepeatLeft);

/// <summary>Which cartridges are given up, and why, as the adopted plan and the state say.</summary>
internal static class Losses
{
    public static ImmutableArray<Loss> List(BenchState state, Instant now) =>
    [
        .. state.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.InWork)
            .Select(cartridge => Of(state, cartridge, now)).OfType<Loss>(),
    ];

    /// <summary>The reason with which a cartridge is thrown away at an instant, where it is to be.</summary>
    public static DiscardReason ReasonFor(BenchState state, Cartridge cartridge, Instant now) =>
        BenchResources.MustGo(state, cartridge, now)
        ?? (cartridge.Phase is CartridgePhase.Mixed ? DiscardReason.MixtureTooOld : DiscardReason.WindowClosed);

    private static Loss? Of(BenchState state, Cartridge cartridge, Instant now)
    {
        var repeat = cartridge.Wanted.Request.RepeatLeft && cartridge.MustGo != DiscardReason.Withdrawn;
        if (BenchResources.MustGo(state, cartridge, now) is { } reason)
        {
            var cause = reason switch
            {
                DiscardReason.Withdrawn => LossCause.Withdrawn,
                DiscardReason.ControlsFailed => LossCause.ControlsFailed,
                _ => LossCause.Temperature,
            };
            return new Loss(cartridge.Id, cause, null, Since(state, cartridge, now), reason, repeat);
        }

        if (state.Adopted is not { } adopted || !adopted.Plan.Lost.Any(left => left.Request == cartridge.Id))
            return null;
        var (why, by) = Why(state, cartridge, adopted, now);
        return new Loss(cartridge.Id, why, by, Since(state, cartridge, adopted.At), ReasonFor(state, cartridge, now),
            repeat);
    }

    private static Instant Since(BenchState state, Cartridge cartridge, Instant otherwise) =>
        state.GivenUpSince(cartridge.Id) ?? otherwise;

    private static (LossCause Cause, RequestId? By) Why(BenchState state, Cartridge cartridge, AdoptedPlan adopted,
        Instant now)
    {
        if (state.WindowOf(cartridge) is { } window && window.Closes < now)
            return (LossCause.WindowClosed, null);
        if (cartridge.Phase is CartridgePhase.Mixed mixed
            && mixed.MixEnd.Earliest + cartridge.Wanted.Assay.MixToLoad < now)
            return (LossCause.MixtureTooOld, null);
        if (BenchResources.AreAllOut(state, BenchResources.Readers(state), now))
            return (LossCause.ReaderOutOfUse, null);
        if (cartridge.Phase is CartridgePhase.Mixed && state.Setup.Slots > 0
            && BenchResources.AreAllOut(state, BenchResources.Slots(state), now))
            return (LossCause.SlotOutOfUse, null);
        if (BenchResources.AreAllOut(state, BenchResources.Hands(state), now))
            return (LossCause.HandsAway, null);
        if (Overrunning(state, adopted, now) is { } held && held.Subject != cartridge.Id)
            return (LossCause.HandsHeld, held.Subject);
        var inside = state.Readers.Select(state.InReader).OfType<Cartridge>().FirstOrDefault();
        return inside is null ? (LossCause.NoTime, null) : (LossCause.ReaderHeld, inside.Id);
    }

    /// <summary>The step that has outlasted its allowed time, or null.</summary>
    private static StepAction? Overrunning(BenchState state, AdoptedPlan adopted, Instant now) =>
        state.Hands
            .Select(adopted.NextOf)
            .OfType<RemainingStep>()
            .FirstOrDefault(row => Progress.HasBegun(state, row, now)
                && Progress.BegunAt(state, row) + Progress.Allowed(state, row.Step.Action) < now)
            ?.Step.Action;
}
