using System.Collections.Immutable;
using Incubation.Bench;

namespace Incubation.Service.Text;

/// <summary>What holds a result, in words.</summary>
public static class ResultHoldText
{
    /// <summary>What holds it; empty where nothing does, or there is none.</summary>
    /// <param name="hold">What.</param>
    /// <param name="deviations">In what its cartridge differed: named where they hold it.</param>
    public static string Of(ResultHold hold, ImmutableArray<Deviation> deviations) => hold switch
    {
        ResultHold.AmendmentWaits => TextWords.HeldAmendmentWaits,
        ResultHold.OtherIdentity => TextWords.HeldOtherIdentity,
        ResultHold.NoIdentity => TextWords.HeldNoIdentity,
        ResultHold.NotChecked => TextWords.HeldNotChecked,
        ResultHold.ImpossibleValue => TextWords.HeldImpossible,
        ResultHold.Controls => TextWords.HeldForControls,
        ResultHold.Deviation => Say.Dotted([.. deviations.Select(ResourceText.Mark)]),
        _ => "",
    };
}
