using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Service.Text;

namespace Incubation.Service.Clinic;

/// <summary>The words of lots.</summary>
public static class StockTalk
{
    /// <summary>What it is: "kit".</summary>
    public static string Of(StockKind kind) => kind switch
    {
        StockKind.Kit => StockWords.KindKit,
        StockKind.Buffer => StockWords.KindBuffer,
        StockKind.ReaderCard => StockWords.KindReaderCard,
        _ => StockWords.KindControl,
    };

    /// <summary>Why a lot must not be used, and what to do.</summary>
    public static string Of(StockStop stop) => stop.Cause switch
    {
        StockStopCause.NotIn when stop.Kind == StockKind.Kit => Say.Of(StockWords.StopKitNotIn, stop.Lot),
        StockStopCause.NotIn => Say.Of(StockWords.StopPartNotIn, Of(stop.Kind), stop.Lot),
        StockStopCause.OtherLot => Say.Of(StockWords.StopOtherLot, Of(stop.Kind), stop.Lot, stop.Detail),
        StockStopCause.OtherAssay => Say.Of(StockWords.StopOtherAssay, Of(stop.Kind), stop.Lot, stop.Detail),
        StockStopCause.Expired => Say.Of(StockWords.StopExpired, Of(stop.Kind), stop.Lot, stop.Detail),
        StockStopCause.Quarantined => Say.Of(StockWords.StopQuarantined, Of(stop.Kind), stop.Lot, stop.Detail),
        _ => Say.Of(StockWords.StopFinished, Of(stop.Kind), stop.Lot),
    };

    /// <summary>Why a kit lot is not offered, in few words: "KX-2509 expired on 2026-10-31".</summary>
    public static string Short(LotCode lot, StockStop stop) => stop.Cause switch
    {
        StockStopCause.Expired => Say.Of(StockWords.ShortExpired, lot, stop.Detail),
        StockStopCause.Quarantined => Say.Of(StockWords.ShortQuarantined, lot),
        StockStopCause.NotIn or StockStopCause.OtherLot => Say.Of(StockWords.ShortPartNotIn, lot, Of(stop.Kind)),
        _ => Say.Of(StockWords.ShortFinished, lot, Of(stop.Kind)),
    };

    /// <summary>Why the clinic's log refused something about a lot; null for what is not about one.</summary>
    public static string? Of(ClinicRefusal why) => why switch
    {
        ClinicRefusal.LotQuarantined => StockWords.RefusedQuarantined,
        ClinicRefusal.LotFinished => StockWords.RefusedFinished,
        ClinicRefusal.PartsOfAnotherLot => StockWords.RefusedParts,
        ClinicRefusal.ExpiryDiffers => StockWords.RefusedExpiryDiffers,
        ClinicRefusal.CountImpossible => StockWords.RefusedCount,
        ClinicRefusal.WhyMissing => StockWords.WhyMissing,
        ClinicRefusal.LotIsSo => StockWords.RefusedIsSo,
        _ => null,
    };

    /// <summary>What happened to a lot, for the clinic's log; null for any other event.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.StockReceived received => Say.Of(StockWords.LogReceived, Of(received.Kind), received.Lot, received.Count, Say.Day(received.Expiry)),
        ClinicEvent.StockOpened opened => Say.Of(StockWords.LogOpened, Of(opened.Kind), opened.Lot),
        ClinicEvent.StockCounted counted => Say.Of(StockWords.LogCounted, Of(counted.Kind), counted.Lot, counted.Count, counted.Why),
        ClinicEvent.StockQuarantined shut => Say.Of(StockWords.LogQuarantined, Of(shut.Kind), shut.Lot, shut.Why),
        ClinicEvent.StockLetOut let => Say.Of(StockWords.LogLetOut, Of(let.Kind), let.Lot, let.Why),
        ClinicEvent.StockFinished finished => Say.Of(StockWords.LogFinished, Of(finished.Kind), finished.Lot),
        _ => null,
    };
}
