using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Clinic;

/// <summary>The words of lots.</summary>
public static class StockText
{
    /// <summary>What it is: "kit".</summary>
    public static string Of(StockKind kind) => kind switch
    {
        StockKind.Kit => ClinicRefusalWords.KindKit,
        StockKind.Buffer => ClinicRefusalWords.KindBuffer,
        StockKind.ReaderCard => ClinicRefusalWords.KindReaderCard,
        _ => ClinicRefusalWords.KindControl,
    };

    /// <summary>Something that is ordered below a number.</summary>
    public static string Of(ReorderKey key) => key switch
    {
        { Kind: StockKind.Kit } => Say.Of(StockWords.ReorderKit, key.Assay),
        { Assay: { } assay } => Say.Of(StockWords.ReorderControl, assay),
        _ => StockWords.ReorderControlShared,
    };

    /// <summary>Whether it is to be ordered.</summary>
    public static string Of(ReorderLine line)
    {
        ArgumentNullException.ThrowIfNull(line);
        return line.NotCounted > 0
            ? Say.Of(StockWords.ReorderNotCounted, Say.Counted(line.NotCounted, StockWords.LotOne, StockWords.LotMany))
            : line.IsBelow ? StockWords.ReorderOrder : StockWords.ReorderEnough;
    }

    /// <summary>Why a lot must not be used, and what to do.</summary>
    public static string Of(StockStop stop) => stop.Cause switch
    {
        StockStopCause.NotIn when stop.Kind == StockKind.Kit => Say.Of(StockWords.StopKitNotIn, stop.Lot),
        StockStopCause.NotIn => Say.Of(ClinicRefusalWords.StopPartNotIn, Of(stop.Kind), stop.Lot),
        StockStopCause.OtherLot => Say.Of(ClinicRefusalWords.StopOtherLot, Of(stop.Kind), stop.Lot, stop.Detail),
        StockStopCause.OtherAssay => Say.Of(ClinicRefusalWords.StopOtherAssay, Of(stop.Kind), stop.Lot, stop.Detail),
        StockStopCause.Expired => Say.Of(ClinicRefusalWords.StopExpired, Of(stop.Kind), stop.Lot, stop.Detail),
        StockStopCause.Quarantined => Say.Of(ClinicRefusalWords.StopQuarantined, Of(stop.Kind), stop.Lot, stop.Detail),
        _ => Say.Of(ClinicRefusalWords.StopFinished, Of(stop.Kind), stop.Lot),
    };

    /// <summary>Why a kit lot is not offered, in few words: "KX-2509 expired on 2026-10-31".</summary>
    public static string Short(LotCode lot, StockStop stop) => stop.Cause switch
    {
        StockStopCause.Expired => Say.Of(ClinicRefusalWords.ShortExpired, lot, stop.Detail),
        StockStopCause.Quarantined => Say.Of(ClinicRefusalWords.ShortQuarantined, lot),
        StockStopCause.NotIn or StockStopCause.OtherLot =>
            Say.Of(ClinicRefusalWords.ShortPartNotIn, lot, Of(stop.Kind)),
        _ => Say.Of(ClinicRefusalWords.ShortFinished, lot, Of(stop.Kind)),
    };

    /// <summary>Why the clinic's log refused something about a lot; null for what is not about one.</summary>
    public static string? Of(ClinicRefusal why) => why switch
    {
        ClinicRefusal.LotQuarantined => ClinicRefusalWords.RefusedQuarantined,
        ClinicRefusal.LotFinished => ClinicRefusalWords.RefusedFinished,
        ClinicRefusal.PartsOfAnotherLot => ClinicRefusalWords.RefusedParts,
        ClinicRefusal.ExpiryDiffers => ClinicRefusalWords.RefusedExpiryDiffers,
        ClinicRefusal.CountImpossible => ClinicRefusalWords.RefusedCount,
        ClinicRefusal.WhyMissing => StockWords.WhyMissing,
        ClinicRefusal.LotIsSo => ClinicRefusalWords.RefusedIsSo,
        _ => null,
    };

    /// <summary>What happened to a lot, for the clinic's log; null for any other event.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.StockReceived received =>
            Say.Of(ClinicRefusalWords.LogReceived, Of(received.Kind), received.Lot, received.Count,
                Say.Day(received.Expiry)),
        ClinicEvent.StockOpened opened => Say.Of(ClinicRefusalWords.LogOpened, Of(opened.Kind), opened.Lot),
        ClinicEvent.StockCounted counted =>
            Say.Of(ClinicRefusalWords.LogCounted, Of(counted.Kind), counted.Lot, counted.Count, counted.Why),
        ClinicEvent.StockQuarantined shut =>
            Say.Of(ClinicRefusalWords.LogQuarantined, Of(shut.Kind), shut.Lot, shut.Why),
        ClinicEvent.StockLetOut let => Say.Of(ClinicRefusalWords.LogLetOut, Of(let.Kind), let.Lot, let.Why),
        ClinicEvent.ReorderPointSet set => set.Least is { } least
            ? Say.Of(StockWords.LogReorderSet, Of(new ReorderKey(set.Kind, set.Assay)), least)
            : Say.Of(StockWords.LogReorderRemoved, Of(new ReorderKey(set.Kind, set.Assay))),
        ClinicEvent.StockFinished finished => Say.Of(ClinicRefusalWords.LogFinished, Of(finished.Kind), finished.Lot),
        _ => null,
    };
}
