using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;

namespace Incubation.Service.Text;

/// <summary>What holds a result, in words: the same on a bench and in the record.</summary>
public static class ResultHoldText
{
    /// <summary>What holds a cartridge's result; empty where nothing does.</summary>
    public static string Of(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge.IsHeld
            ? Of(ResultUse.HoldsOf(cartridge), cartridge.Status?.Proposal, cartridge.Status?.Question,
                cartridge.Deviations) : "";
    }

    /// <summary>What will hold a cartridge's result that is entered now, whatever its value; empty where nothing does.
    /// </summary>
    public static string OfNext(BenchState state, Cartridge cartridge) => Of(HoldsOfNext(state, cartridge),
        cartridge.Status?.Proposal, cartridge.Status?.Question, cartridge.Deviations);

    /// <summary>What will hold it, as <see cref="OfNext"/> says it.</summary>
    internal static IEnumerable<ResultHold> HoldsOfNext(BenchState state, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(cartridge);
        IEnumerable<ResultHold> holds = cartridge.IsHeld ? ResultUse.HoldsOf(cartridge) : [];
        return cartridge.Wanted.Request.Kind != RequestKind.Control
            && state.GateOf(cartridge.Wanted.Request.Lot) is not null ? holds.Union([ResultHold.Controls]) : holds;
    }

    /// <summary>What holds a recorded cartridge's result; empty where nothing does.</summary>
    public static string Of(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        IEnumerable<ResultHold> holds = cartridge.Standing == CartridgeStatus.Discarded
            ? !cartridge.AwaitsDecision ? []
            : [cartridge.HoldUnreleased, cartridge.Question is null ? ResultHold.None : ResultHold.ImpossibleValue]
            : cartridge.Question is not null
            ? [cartridge.HoldOtherwise, ResultHold.ImpossibleValue]
            : [cartridge.Proposal is null ? cartridge.Hold : cartridge.HoldUnamended];
        return Of((cartridge.Proposal is null ? holds : holds.Append(ResultHold.AmendmentWaits)).Order(),
            cartridge.Proposal, cartridge.Question, cartridge.Deviations);
    }

    private static string Of(IEnumerable<ResultHold> holds, AmendmentProposal? proposal,
        ValueQuestion? question, ImmutableArray<Deviation> deviations) =>
        Say.Dotted([.. holds.Select(hold => hold switch
        {
            ResultHold.AmendmentWaits => proposal is null
                ? TextWords.HeldAmendmentWaits : Say.Of(TextWords.HeldAmendmentTo, ResultSentence.Of(proposal.After)),
            ResultHold.OtherIdentity => TextWords.HeldOtherIdentity,
            ResultHold.NoIdentity => TextWords.HeldNoIdentity,
            ResultHold.NotChecked => TextWords.HeldNotChecked,
            ResultHold.HeldBefore => TextWords.HeldBefore,
            ResultHold.ImpossibleValue => question is { } asked ? ResultSentence.Of(asked)
                : TextWords.HeldImpossible,
            ResultHold.Controls => TextWords.HeldForControls,
            ResultHold.Deviation => Say.Dotted([.. deviations.Distinct().Select(ResourceText.Mark)]),
            _ => null,
        })]);
}
