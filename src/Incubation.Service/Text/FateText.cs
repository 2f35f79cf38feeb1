using Incubation.Bench;

namespace Incubation.Service.Text;

/// <summary>What becomes of a request without a value, in words.</summary>
public static class FateText
{
    /// <summary>What becomes of a request of the present batch; null where it waits or is in work as planned.</summary>
    /// <param name="state">The bench.</param>
    /// <param name="one">The request.</param>
    public static string? Of(BenchState state, WithoutValue one)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(one);
        return one switch
        {
            { Fate: null, Cartridge.IsOver: true } => TextWords.FateNone,
            { Fate: RequestFate.Repeated repeated } => Say.Of(
                state.Find(repeated.By)?.Stage is CartridgeStage.Waiting
                    ? TextWords.FateRepeated : TextWords.FateRepeatedBegun, repeated.By),
            { Fate: { } fate } => Of(fate, one.Cartridge.Stage is not CartridgeStage.Withdrawn),
            _ => null,
        };
    }

    /// <summary>What was said to become of a request.</summary>
    /// <param name="fate">What.</param>
    /// <param name="isUsed">Whether a cartridge was used for it.</param>
    public static string Of(RequestFate fate, bool isUsed) => fate switch
    {
        RequestFate.Repeated repeated => Say.Of(TextWords.FateRepeatedBegun, repeated.By),
        RequestFate.CarriedOver => isUsed ? TextWords.FateRepeatInNext : TextWords.FateCarriedOver,
        RequestFate.GivenUp given => Say.Of(TextWords.FateGivenUp, given.Why),
        _ => throw new InvalidOperationException($"The fate {fate.GetType().Name} is not known."),
    };

    /// <summary>Where a request comes from: another batch, a request that it repeats; "" where neither.</summary>
    public static string From(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return From(cartridge.FromBatch, cartridge.RepeatOf);
    }

    /// <summary>Where a request comes from: another batch, a request that it repeats; "" where neither.</summary>
    /// <param name="batch">The batch, or null.</param>
    /// <param name="repeatOf">The request that it repeats, or null.</param>
    public static string From(int? batch, Incubation.Model.RequestId? repeatOf) => Say.Dotted(
        repeatOf is { } of ? Say.Of(TextWords.RepeatOf, of) : null,
        batch is { } from ? Say.Of(TextWords.FromBatch, from) : null);
}
