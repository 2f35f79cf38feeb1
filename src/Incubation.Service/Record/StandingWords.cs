using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>The words of what became of a cartridge.</summary>
public static class StandingWords
{
    /// <summary>What became of it, with the reason where it was thrown away.</summary>
    public static string Of(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge is { Standing: CartridgeStanding.Discarded, Reason: { } reason }
            ? Say.Of(RecordWords.StandingDiscardedWhy, cartridge.ReasonInWords ?? BatchWords.Reason(reason))
            : Of(cartridge.Standing);
    }

    /// <summary>What became of one.</summary>
    public static string Of(CartridgeStanding standing) => standing switch
    {
        CartridgeStanding.Waiting => RecordWords.StandingWaiting,
        CartridgeStanding.InWork => RecordWords.StandingInWork,
        CartridgeStanding.InDoubt => RecordWords.StandingInDoubt,
        CartridgeStanding.ResultMissing => RecordWords.StandingResultMissing,
        CartridgeStanding.ResultHeld => RecordWords.StandingResultHeld,
        CartridgeStanding.Done => RecordWords.StandingDone,
        CartridgeStanding.Discarded => RecordWords.StandingDiscarded,
        _ => RecordWords.StandingWithdrawn,
    };

    /// <summary>The result as it is reported; empty where there is none.</summary>
    public static string Result(CartridgeRecord cartridge) => cartridge switch
    {
        { Marked: { } marked, Result: ReadResult.Measured measured } => UnitText.Of(marked.Reported, measured.Unit),
        { Result: { } result } => ResultSay.Of(result),
        _ => "",
    };

    /// <summary>Where a patient's result lies against its assay's intervals, and what it was before it was amended; "" where there is nothing to say.</summary>
    public static string ResultMarks(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Say.Dotted(
            cartridge is { Kind: RequestKind.Patient, Marked: { } marked } ? ResultSay.Flags(marked) : null,
            cartridge.First is { } first ? Say.Of(BatchesWords.Amended, ResultSay.Of(first)) : null);
    }

    /// <summary>In what it differed, and how often its reports were corrected.</summary>
    public static string Marks(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        var corrected = cartridge.Corrections == 0 ? null : Say.Counted(cartridge.Corrections, RecordWords.CorrectedOne, RecordWords.CorrectedMany);
        return Say.Dotted([.. cartridge.Deviations.Select(MeansWords.Mark), corrected]);
    }
}
