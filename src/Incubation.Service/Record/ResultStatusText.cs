using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>The words of what became of a cartridge.</summary>
public static class ResultStatusText
{
    /// <summary>What became of it, with the reason where it was thrown away.</summary>
    public static string Of(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        if (cartridge is { Standing: CartridgeStatus.Withdrawn, Fate: { } fate })
            return FateText.Of(fate, isUsed: false);
        return cartridge is { Standing: CartridgeStatus.Discarded, Reason: { } reason }
            ? Say.Of(RecordWords.StandingDiscardedWhy, cartridge.ReasonInWords ?? BatchText.Reason(reason))
            : Of(cartridge.Standing);
    }

    /// <summary>What became of one.</summary>
    public static string Of(CartridgeStatus standing) => standing switch
    {
        CartridgeStatus.Waiting => RecordWords.StandingWaiting,
        CartridgeStatus.InWork => RecordWords.StandingInWork,
        CartridgeStatus.InDoubt => RecordWords.StandingInDoubt,
        CartridgeStatus.ResultMissing => RecordWords.StandingResultMissing,
        CartridgeStatus.ResultHeld => RecordWords.StandingResultHeld,
        CartridgeStatus.Done => RecordWords.StandingDone,
        CartridgeStatus.Discarded => RecordWords.StandingDiscarded,
        _ => RecordWords.StandingWithdrawn,
    };

    /// <summary>The result as it is reported; empty where there is none.</summary>
    public static string Result(CartridgeRecord cartridge) => cartridge switch
    {
        { Question: not null, Result: ReadResult.Measured shown } => UnitText.Of(shown),
        { Marked: { } marked, Result: ReadResult.Measured measured } => UnitText.Of(marked.Reported, measured.Unit),
        { Result: { } result } => ResultSentence.Of(result),
        _ => "",
    };

    /// <summary>
    /// Where a patient's result lies against its assay's intervals, and what it was before it was amended; "" where
    /// there is nothing to say.
    /// </summary>
    public static string ResultMarks(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return Say.Dotted(
            cartridge is { Kind: RequestKind.Patient, Marked: { } marked } ? ResultSentence.Flags(marked) : null,
            cartridge.Question is { } question ? ResultSentence.Of(question) : null,
            ResultHoldText.Identity(cartridge),
            cartridge.Values is { } values ? ResultSentence.Told(values.Values) : null,
            cartridge.Telling is { } duty ? ResultSentence.ToTell(duty) : null,
            ResultSentence.Amended(cartridge switch
            {
                { First: null } => [],
                { Values.Values: [.. var former, _] } => [.. former.Select(value => value.Value)],
                { First: { } first } => [first],
            }),
            cartridge.Proposal is { } proposal
                ? Say.Of(TextWords.HeldAmendmentTo, ResultSentence.Of(proposal.After)) : null,
            ResultSentence.Declined(cartridge.Declined));
    }

    /// <summary>In what it differed, and how often its reports were corrected.</summary>
    public static string Marks(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        var corrected = cartridge.Corrections == 0
            ? null : Say.Counted(cartridge.Corrections, RecordWords.CorrectedOne, RecordWords.CorrectedMany);
        return Say.Dotted([.. cartridge.Deviations.Select(ResourceText.Mark), corrected]);
    }
}
