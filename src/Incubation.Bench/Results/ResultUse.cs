using Incubation.Model;

namespace Incubation.Bench;

/// <summary>Why a result may not be used yet; in the order in which it is asked.</summary>
public enum ResultHold
{
    /// <summary>Nothing holds it.</summary>
    None,

    /// <summary>There is none, or its cartridge was not read and taken out.</summary>
    NoResult,

    /// <summary>
    /// An amendment of it waits for a second person: which of the two values is right, nobody knows yet.
    /// </summary>
    AmendmentWaits,

    /// <summary>The reader showed another specimen's identity.</summary>
    OtherIdentity,

    /// <summary>The reader showed no identity.</summary>
    NoIdentity,

    /// <summary>It was entered under a name that nobody checked.</summary>
    NotChecked,

    /// <summary>
    /// An entry before it waited for a supervisor, and was taken back or entered anew before one had decided.
    /// </summary>
    HeldBefore,

    /// <summary>Its value cannot be, by its assay's measuring range, or is open to doubt.</summary>
    ImpossibleValue,

    /// <summary>
    /// What held it was said to be otherwise after it was entered, and no supervisor has said that it may go out.
    /// </summary>
    Corrected,

    /// <summary>
    /// Its cartridge was loaded or read outside its times, at another place, too warm or too cold, while the time was
    /// in doubt, or otherwise than a rule allows.
    /// </summary>
    Deviation,

    /// <summary>Its lot's controls were not accepted when it was entered, and have not been since.</summary>
    Controls,
}

/// <summary>
/// What a result may be used for: the one rule, asked by gates, charts, exports and pages alike. A result that waits is
/// used for nothing; released by a supervisor, it is used like any other, but for one of which an amendment waits. One
/// of proficiency testing is told its programme alone: it never goes out as a patient's, and is in no mean of patients.
/// </summary>
/// <param name="Hold">Why it may not be used; <see cref="ResultHold.None"/> where it may.</param>
/// <param name="IsReported">Whether it may go out, as a patient's.</param>
/// <param name="IsJudged">Whether it may be judged, as a control's: only what is judged is charted, counts in a mean
/// and opens a gate.</param>
/// <remarks>ISO 15189:2022, 7.4.1.2 (results are reviewed and authorized before they are released) and 7.3.7.2 (quality
/// control is judged before results are released); from memory.</remarks>
public sealed record ResultUse(ResultHold Hold, bool IsReported, bool IsJudged)
{
    /// <summary>The rule, for a cartridge as its bench knows it.</summary>
    public static ResultUse Of(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Of(cartridge.Wanted.Request.Kind, HoldOf(cartridge));
    }

    /// <summary>The rule, for a result of which it is known what holds it.</summary>
    public static ResultUse Of(RequestKind kind, ResultHold hold) => new(hold,
        IsReported: hold == ResultHold.None && kind == RequestKind.Patient,
        IsJudged: hold == ResultHold.None && kind == RequestKind.Control);

    /// <summary>
    /// What holds a cartridge's result: the first that does, in the order of <see cref="ResultHold"/>.
    /// </summary>
    private static ResultHold HoldOf(Cartridge cartridge) => cartridge switch
    {
        { Result: null } or { Stage: not CartridgeStage.Cleared } => ResultHold.NoResult,
        { Status.Proposal: not null } => ResultHold.AmendmentWaits,
        { Status.Released: not null } => ResultHold.None,
        _ => HoldOfEntered(cartridge),
    };

    /// <summary>What holds a result that was entered and that nobody has released: the first that does.</summary>
    internal static ResultHold HoldOfEntered(Cartridge cartridge) => HoldsOf(cartridge).FirstOrDefault();

    /// <summary>
    /// All that will hold a cartridge's result that is entered now, whatever its value; empty where nothing does.
    /// </summary>
    public static IEnumerable<ResultHold> HoldsOfNext(BenchState state, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(cartridge);
        IEnumerable<ResultHold> holds = cartridge.IsHeld ? HoldsOf(cartridge) : [];
        return cartridge.Wanted.Request.Kind != RequestKind.Control
            && state.GateOf(cartridge.Wanted.Request.Lot) is not null ? holds.Union([ResultHold.Controls]) : holds;
    }

    /// <summary>
    /// All that holds a result that was entered, whether or not it was released, in the order of
    /// <see cref="ResultHold"/>; empty where nothing does.
    /// </summary>
    public static IEnumerable<ResultHold> HoldsOf(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        if (cartridge.Status is { Proposal: not null })
            yield return ResultHold.AmendmentWaits;
        if (cartridge.Status is { Identity: ResultIdentity.Different })
            yield return ResultHold.OtherIdentity;
        if (cartridge.Status is { Identity: ResultIdentity.Missing })
            yield return ResultHold.NoIdentity;
        if (cartridge.Status is { NotChecked: true })
            yield return ResultHold.NotChecked;
        if (cartridge.HeldBefore)
            yield return ResultHold.HeldBefore;
        if (cartridge.Status is { Question: not null })
            yield return ResultHold.ImpossibleValue;
        if (cartridge.Status is { Kept: not null })
            yield return ResultHold.Corrected;
        if (!cartridge.Deviations.IsEmpty)
            yield return ResultHold.Deviation;
        if (cartridge.HeldForControls)
            yield return ResultHold.Controls;
    }
}
