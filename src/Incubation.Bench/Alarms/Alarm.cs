using System.Collections.Immutable;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Bench;

/// <summary>A window or a machine at risk.</summary>
public enum AlarmKind
{
    /// <summary>What saves a cartridge from its window's close must begin now, or is overdue.</summary>
    WindowInDanger,

    /// <summary>A read window has closed and no read was reported.</summary>
    WindowClosed,

    /// <summary>The adopted plan gives this cartridge up, and not even the quickest hands could save it.</summary>
    CannotBeSaved,

    /// <summary>A mixture must be loaded now, or becomes too old.</summary>
    MixtureInDanger,

    /// <summary>A mixture is too old to load.</summary>
    MixtureTooOld,

    /// <summary>Reports contradict each other about where this cartridge is.</summary>
    CartridgeAstray,

    /// <summary>The incubator is outside its tolerance while this cartridge reacts in it.</summary>
    IncubatorOutside,

    /// <summary>The same, and its assay's rule will have the cartridge thrown away.</summary>
    IncubatorSpoils,

    /// <summary>No plan can be made while cartridges are in work.</summary>
    CannotPlan,

    /// <summary>No plan can be made; nothing is in work.</summary>
    CannotPlanAtRest,

    /// <summary>A request is left out of the plan, so that the rest can be planned.</summary>
    SetAside,

    /// <summary>A probe that is expected to send what it measures does not.</summary>
    ProbeSilent,

    /// <summary>The server's time disagrees with something; raised by the host.</summary>
    ClockInDoubt,

    /// <summary>Clocks run at a bench of which no screen can be seen and heard; raised by the host.</summary>
    NoScreen,

    /// <summary>An alarm could not be sent on to where it should go; raised by the host.</summary>
    NotSentOn,
}

/// <summary>
/// How urgent an alarm is; modelled on the three priorities of IEC 60601-1-8:2006 + A1:2012 + A2:2020.
/// </summary>
public enum AlarmPriority
{
    Low,
    Medium,
    High,
}

/// <summary>
/// Names an alarm: one of a kind for each cartridge. Those that the host raises, and that nothing can be planned, are
/// no cartridge's: in the place of the request stands what tells one occurrence from the next.
/// </summary>
public sealed record AlarmKey(AlarmKind Kind, RequestId Request);

/// <summary>
/// An alarm that stands, or that will stand from <see cref="From"/> if nothing is reported until then.
/// </summary>
/// <param name="Key">Names it.</param>
/// <param name="From">Since, or from, when it stands.</param>
/// <param name="Until">When it gives way to another alarm, or null.</param>
/// <param name="Deadline">Until when its cartridge can still be saved, or null when it cannot.</param>
/// <param name="Acknowledged">Whether a person has seen it: no sound then.</param>
public sealed record Alarm(AlarmKey Key, Instant From, Instant? Until, Instant? Deadline, bool Acknowledged)
{
    /// <summary>
    /// Where its cartridge can only be thrown away: the reason for it that is chosen at first; else null.
    /// </summary>
    public DiscardReason? Reason { get; init; }

    /// <summary>
    /// What saves its cartridge, in order: clear or discard what is in the way, change the card, move or load; empty
    /// where nothing is known that does.
    /// </summary>
    public ImmutableArray<SavingAct> Acts { get; init; } = [];

    /// <summary>When the first of these must begin for all to be saved that can be; null where unknown.</summary>
    public Instant? BeginBy { get; init; }

    /// <summary>
    /// Whether no order of steps saves its cartridge within their allowed lengths, so that only quicker hands can.
    /// </summary>
    public bool OnlyIfQuick { get; init; }

    /// <summary>How urgent.</summary>
    public AlarmPriority Priority => Conditions.Of(Key.Kind).Priority;

    /// <summary>From when it goes to others, unless somebody has acknowledged it.</summary>
    public Instant EscalatesAt => Conditions.Of(Key.Kind).GoesOnAtOnce ? From : Escalation.At(From, Deadline);

    /// <summary>Whether it stands at an instant.</summary>
    public bool StandsAt(Instant now) => From <= now && (Until is not { } until || now < until);
}
