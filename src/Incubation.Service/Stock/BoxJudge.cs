using Incubation.Bench;
using Incubation.Clinic.Stock;
using Incubation.Exchange.Gs1;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Stock;

/// <summary>What a scanned box means for the cartridge that is due.</summary>
/// <param name="IsRight">Whether it may be used for it.</param>
/// <param name="Sentence">What to say, and to do.</param>
public sealed record BoxAnswer(bool IsRight, string Sentence);

/// <summary>
/// Holds the code on a box of kits, buffer, cards or control material against the cartridge that is due on a bench: an
/// expired or closed lot and one of another kit are stopped before anything is mixed (42 CFR 493.1252(d) and (e)).
/// Changes nothing.
/// </summary>
public sealed class BoxJudge(ClinicHost clinic, BenchRegistry benches, BenchClock clock)
{
    /// <summary>Judges a scan; null where it is no code of a box.</summary>
    /// <param name="bench">The bench.</param>
    /// <param name="due">The request whose cartridge is due, or null.</param>
    /// <param name="scanned">What was scanned.</param>
    public BoxAnswer? Judge(string bench, string? due, string? scanned)
    {
        var today = clock.Now.InZone(clinic.Facts.Zone).Date;
        if (Gs1Reader.Read(scanned, today.Year).Scan is not { } scan)
            return null;
        if (!TextId.IsValid(scan.Lot))
            return new BoxAnswer(false, StockWords.BoxNoLot);
        var lot = new LotCode(scan.Lot!);
        var items = clinic.Log.Stock.Items.Values.Where(item => item.Lot == lot).OrderBy(item => item.Kind).ToList();
        if ((items.Find(item => item.Item is not null && item.Item == scan.Item)
            ?? items.FirstOrDefault()) is not { } box)
            return new BoxAnswer(false, Say.Of(StockWords.StopKitNotIn, lot));
        if (Stop(box, today) is { } stop)
            return new BoxAnswer(false, StockText.Of(stop));
        var cartridge = TextId.IsValid(due) ? benches.Find(bench)?.Present.State.Find(new RequestId(due!)) : null;
        return cartridge is null ? new BoxAnswer(true, Say.Of(StockWords.BoxUsable, StockText.Of(box.Kind), lot))
            : Against(cartridge, box);
    }

    private static BoxAnswer Against(Cartridge cartridge, StockItem box)
    {
        var request = cartridge.Wanted.Request;
        var its = box.Kind == StockKind.Control ? cartridge.Wanted.Facts?.Control?.Lot : request.Lot;
        return its is not { } lot
            ? new BoxAnswer(false, Say.Of(StockWords.BoxNotForIt, StockText.Of(box.Kind), box.Lot, request.Specimen))
            : lot == box.Lot
            ? new BoxAnswer(true, Say.Of(StockWords.BoxRight, StockText.Of(box.Kind), box.Lot, request.Specimen))
            : new BoxAnswer(false, Say.Of(StockWords.BoxOther, StockText.Of(box.Kind), box.Lot, request.Specimen, lot));
    }

    private StockStop? Stop(StockItem box, LocalDate today) => box.Kind == StockKind.Control
        ? StockStop.OfControl(clinic.Log.Stock, box.Lot, box.Assay ?? default, today)
        : StockStop.Of(clinic.Log.Stock, box.Lot, box.Assay ?? default, today);
}
