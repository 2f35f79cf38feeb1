using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using NodaTime;

namespace Incubation.Service.Text;

/// <summary>What holds a result, in words: the same on a bench and in the record.</summary>
public static class ResultHoldText
{
    /// <summary>What holds a cartridge's result; empty where nothing does.</summary>
    public static string Of(Cartridge cartridge, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return !cartridge.IsHeld ? "" : Say.Dotted(
            Of(ResultUse.HoldsOf(cartridge), cartridge.Status?.Released is not null, cartridge.Status?.Question,
                cartridge.Status?.Proposal, cartridge.Deviations, Corrected(cartridge.Status?.Kept, zone),
                cartridge.Status?.Shown),
            WasOut(cartridge.Status?.EndedRelease, cartridge.Status?.Out, cartridge.Status?.Released is not null,
                zone));
    }

    /// <summary>What holds a cartridge's result beside an amendment that waits; empty where nothing does.</summary>
    public static string BesideAmendment(Cartridge cartridge, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Of(cartridge.Status is { } status
            ? cartridge with { Status = status with { Proposal = null } } : cartridge, zone);
    }

    /// <summary>
    /// What will hold a cartridge's result that is entered now, whatever its value; empty where nothing does.
    /// </summary>
    public static string OfNext(BenchState state, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Of(ResultUse.HoldsOfNext(state, cartridge), isReleased: false, cartridge.Status?.Question,
            cartridge.Status?.Proposal, cartridge.Deviations, TextWords.HeldCorrected, cartridge.Status?.Shown);
    }

    /// <summary>What holds a recorded cartridge's result; empty where nothing does.</summary>
    public static string Of(CartridgeRecord cartridge, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return !cartridge.AwaitsDecision ? "" : Say.Dotted(
            Of(cartridge.HoldsUnreleased, cartridge.Released is not null, cartridge.Question, cartridge.Proposal,
                cartridge.Deviations, Corrected(cartridge.Kept, zone), cartridge.ShownIdentity),
            WasOut(cartridge.EndedRelease, cartridge.OutBefore, cartridge.Released is not null, zone));
    }

    /// <summary>
    /// What holds it, but for what its identity, its deviations, its value's question and its amendment say beside.
    /// </summary>
    public static string BesideMarks(CartridgeRecord cartridge, DateTimeZone zone)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return !cartridge.AwaitsDecision ? ""
            : Of(cartridge.HoldsUnreleased.Where(hold => hold is not (ResultHold.OtherIdentity
                or ResultHold.NoIdentity)), cartridge.Released is not null, null, null, [],
                Corrected(cartridge.Kept, zone), null);
    }

    /// <summary>
    /// In what a result's identity differed, whether or not it was released since; null where in nothing.
    /// </summary>
    public static string? Identity(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge.HoldsUnreleased.Contains(ResultHold.OtherIdentity) ? Other(cartridge.ShownIdentity)
            : cartridge.HoldsUnreleased.Contains(ResultHold.NoIdentity) ? TextWords.HeldNoIdentity : null;
    }

    private static string Other(string? shown) => shown is null
        ? TextWords.HeldOtherIdentity : Say.Of(TextWords.HeldOtherIdentityOf, shown);

    /// <summary>
    /// Every reason that stands: what was entered is held by nothing once it was released, but for an amendment.
    /// </summary>
    private static string Of(IEnumerable<ResultHold> holds, bool isReleased, ValueQuestion? question,
        AmendmentProposal? proposal, ImmutableArray<Deviation> deviations, string corrected, string? shown)
    {
        var standing = isReleased ? [] : holds.Append(question is null ? ResultHold.None : ResultHold.ImpossibleValue);
        if (proposal is not null)
            standing = standing.Append(ResultHold.AmendmentWaits);
        return Say.Dotted([.. standing.Distinct().Order().Select(hold => hold switch
        {
            ResultHold.AmendmentWaits => proposal is null
                ? TextWords.HeldAmendmentWaits : Say.Of(TextWords.HeldAmendmentTo, ResultSentence.Of(proposal.After)),
            ResultHold.OtherIdentity => Other(shown),
            ResultHold.NoIdentity => TextWords.HeldNoIdentity,
            ResultHold.NotChecked => TextWords.HeldNotChecked,
            ResultHold.HeldBefore => TextWords.HeldBefore,
            ResultHold.ImpossibleValue => question is { } asked ? ResultSentence.Of(asked) : TextWords.HeldImpossible,
            ResultHold.Corrected => corrected,
            ResultHold.Controls => TextWords.HeldForControls,
            ResultHold.Deviation => Say.Dotted([.. deviations.Distinct().Select(ResourceText.Mark)]),
            _ => null,
        })]);
    }

    /// <summary>That it was out before what holds it was known; null where it was not.</summary>
    private static string? WasOut(ResultRelease? ended, Instant? since, bool isReleased, DateTimeZone zone) =>
        isReleased ? null
        : ended is not null ? Say.Of(TextWords.HeldSinceRelease, Say.DateAndTime(ended.At, zone))
        : since is { } from ? Say.Of(TextWords.HeldSinceOut, Say.DateAndTime(from, zone)) : null;

    private static string Corrected(KeptHold? kept, DateTimeZone zone) => kept is { From: { } from, To: { } to }
        ? Say.Of(TextWords.HeldTimeCorrected, Say.ClockWithSeconds(from, zone), Say.ClockWithSeconds(to, zone))
        : TextWords.HeldCorrected;
}
