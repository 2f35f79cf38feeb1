using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Why a reader's card is not known.</summary>
public enum CardDoubtCause
{
    /// <summary>The server was down.</summary>
    Restarted,

    /// <summary>The reader was out of use.</summary>
    ReaderWasOut,

    /// <summary>The report of its last change was corrected.</summary>
    Corrected,

    /// <summary>Nobody knows whether its last change was done.</summary>
    StepNotKnown,
}

/// <summary>A reader's card that nobody has seen since something happened.</summary>
/// <param name="Believed">The card believed to be in until then, or null for none.</param>
/// <param name="Cause">What happened.</param>
public sealed record CardDoubt(LotCode? Believed, CardDoubtCause Cause);

/// <summary>How warm an incubator must be.</summary>
/// <param name="Set">What it is set to.</param>
/// <param name="Tolerance">How far from that it may be, up or down.</param>
/// <param name="Rules">Assays whose cartridges are thrown away beyond some time outside; those of all others are
/// marked.</param>
public sealed record IncubatorRule(Celsius Set, Celsius Tolerance, ImmutableArray<TemperatureRule> Rules)
{
    /// <summary>Whether a temperature is outside the tolerance.</summary>
    public bool IsOutside(Celsius measured) => Math.Abs(measured.Degrees - Set.Degrees) > Tolerance.Degrees;
}

/// <summary>
/// A cartridge of this assay is thrown away when it has reacted outside the tolerance for longer than this in all.
/// </summary>
public sealed record TemperatureRule(AssayCode Assay, Duration DiscardBeyond);

/// <summary>A measurement in the incubator.</summary>
public sealed record TemperatureReading(Celsius Value, Instant At);

/// <summary>A time during which the server was down.</summary>
/// <param name="Since">The last that is known from before.</param>
/// <param name="Until">When it was back.</param>
/// <param name="ClockBelieved">Whether the time can be believed; else nothing is called good or lost by it.</param>
/// <param name="Good">Cartridges in work that can still be read or loaded in time.</param>
/// <param name="Lost">Cartridges in work whose window has closed, or whose mixture has become too old,
/// meanwhile.</param>
public sealed record Outage(Instant Since, Instant Until, bool ClockBelieved, ImmutableArray<RequestId> Good,
    ImmutableArray<RequestId> Lost);

/// <summary>The host's time is in doubt.</summary>
/// <param name="Since">Since when, by the host's time.</param>
/// <param name="Ahead">How far what it was compared with is ahead of it; negative where it is behind.</param>
public sealed record ClockMark(Instant Since, Duration Ahead);

/// <summary>What a bench can use, and what must be thrown away, at an instant.</summary>
internal static class BenchResources
{
    /// <summary>An out-of-use entry without an end is put in the calendar with this length.</summary>
    public static readonly Duration OpenEndedEntryLength = Duration.FromDays(30);

    /// <summary>
    /// A request is not planned around what is out of use for longer than this: it waits, without a time.
    /// </summary>
    private static readonly Duration WorthWaiting = Duration.FromHours(8);

    /// <summary>From when on requests are planned around what is out of use.</summary>
    public static Instant WorthWaitingFrom(CalendarEntry entry) => entry.To - WorthWaiting;

    /// <summary>The entry that keeps something out of use at an instant, or null.</summary>
    public static CalendarEntry? Out(BenchState state, BenchResource resource, Instant at) =>
        state.OutOfUse.FirstOrDefault(entry => entry.From <= at && at < entry.To && entry.Resource.Includes(resource));

    /// <summary>
    /// Whether every one of some resources is out of use at an instant, and stays so for as long as a test says.
    /// </summary>
    public static bool AreAllOut(BenchState state, IEnumerable<BenchResource> resources, Instant at,
        Func<CalendarEntry, bool>? stays = null) =>
        resources.All(resource => Out(state, resource, at) is { } entry && stays?.Invoke(entry) != false);

    /// <summary>The readers of the bench.</summary>
    public static IEnumerable<BenchResource> Readers(BenchState state) =>
        state.Readers.Select(number => new BenchResource.Reader(number));

    /// <summary>The slots of the bench.</summary>
    public static IEnumerable<BenchResource> Slots(BenchState state) =>
        state.Slots.Select(number => new BenchResource.Slot(number));

    /// <summary>The hands of the bench.</summary>
    public static IEnumerable<BenchResource> Hands(BenchState state) =>
        state.Hands.Select(number => new BenchResource.Hands(number));

    /// <summary>The calendar that binds a plan from an instant on.</summary>
    public static IReadOnlyList<CalendarEntry> Calendar(BenchState state, Instant now) =>
        [.. state.OutOfUse.Where(entry => entry.To > now && Exists(state, entry.Resource))
            .Select(entry => state.Run.Trouble?.WithoutEnd.Contains(entry.Resource) == true
                ? entry with { To = now + OpenEndedEntryLength } : entry)];

    /// <summary>Whether the bench has something.</summary>
    public static bool Exists(BenchState state, BenchResource resource) => resource switch
    {
        BenchResource.Hands hands => hands.Number.Value <= state.Setup.Hands,
        BenchResource.Slot slot => slot.Number.Value <= state.Setup.Slots,
        BenchResource.Reader reader => reader.Number.Value <= state.Setup.Readers,
        _ => true,
    };

    /// <summary>Why a request that is not mixed is not planned at an instant, or null where it is.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="waiting">The request's cartridge.</param>
    /// <param name="ready">What must be so before requests are started, as <see cref="Readiness.List"/> says at that
    /// instant.</param>
    /// <param name="now">The instant.</param>
    public static NotPlannedCause? NotPlanned(BenchState state, Cartridge waiting, ImmutableArray<ReadinessItem> ready,
        Instant now)
    {
        if (waiting.HeldBack)
            return NotPlannedCause.HeldBack;
        if (state.IsSetAside(waiting))
            return NotPlannedCause.SetAside;
        if (LotGates.NotPlanned(state, waiting, ready, now) is { } gated)
            return gated;
        if (Readiness.IsAside(state, waiting))
            return NotPlannedCause.OtherTemperature;
        // Before the start the plan is a preview of what follows once everything is ready.
        if (state.Phase == BatchPhase.Running && Readiness.IsMissing(ready, waiting))
            return NotPlannedCause.NotReady;
        bool AreGone(IEnumerable<BenchResource> resources) =>
            AreAllOut(state, resources, now, entry => now < WorthWaitingFrom(entry));
        if (AreGone(Readers(state)))
            return NotPlannedCause.NoReader;
        if (waiting.Wanted.Assay.Place == IncubationPlace.Incubator && state.Setup.Slots > 0 && AreGone(Slots(state)))
            return NotPlannedCause.NoSlot;
        return AreGone(Hands(state)) ? NotPlannedCause.NoHands : null;
    }

    /// <summary>Why a cartridge must be thrown away at an instant, or null.</summary>
    public static DiscardReason? MustGo(BenchState state, Cartridge cartridge, Instant now) =>
        cartridge.MustGo
        ?? (TooLongOutsideFrom(state, cartridge) <= now ? DiscardReason.Temperature
        : LotGates.Spoils(state, cartridge) ? DiscardReason.ControlsFailed
        : null);

    /// <summary>
    /// From when a cartridge has reacted too long outside the incubator's tolerance, if nothing changes; null where
    /// that is never.
    /// </summary>
    public static Instant? TooLongOutsideFrom(BenchState state, Cartridge cartridge)
    {
        if (cartridge.Phase is not CartridgePhase.Reacting { Place: CartridgePlace.InSlot } reacting
            || Readiness.RuleOf(state)?.Rules.FirstOrDefault(rule =>
                rule.Assay == cartridge.Wanted.Assay.Code) is not { } rule)
            return null;
        var left = rule.DiscardBeyond - cartridge.OutsideFor;
        if (left < Duration.Zero)
            return Instant.MinValue;
        return state.OutsideSince is { } since
            ? Instant.Max(since, reacting.LoadEnd.Earliest) + left + Duration.FromMilliseconds(1) : null;
    }

    /// <summary>For how long a cartridge has reacted outside the tolerance in all at an instant.</summary>
    public static Duration OutsideFor(BenchState state, Cartridge cartridge, Instant now) =>
        cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot } reacting
            && state.OutsideSince is { } since
            ? cartridge.OutsideFor + Duration.Max(Duration.Zero, now - Instant.Max(since, reacting.LoadEnd.Earliest))
            : cartridge.OutsideFor;
}
