using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;

namespace Incubation.Service.Requests;

/// <summary>What the clinic does for requests that go on in the next batch: their lots, and their repeats.</summary>
public sealed class CarriedOver(ClinicHost clinic, BenchClock clock, LotGateService gates)
{
    /// <summary>
    /// The command to close a batch, with another lot for each request that is carried over and whose own lot must not
    /// be used any more: the usable one that expires first. Where there is none the lot stays, and the batch page says
    /// that it must not be used. What has just come in of controls is judged first: when their batch is gone nobody
    /// looks at them any more.
    /// </summary>
    /// <param name="runner">The bench.</param>
    public async Task<BenchCommand.CloseBatch> WithLotsAsync(BenchRunner runner)
    {
        await gates.SettleAsync();
        var stock = clinic.Log.Stock;
        var zone = clinic.Facts.Zone;
        var today = clock.Now.InZone(zone).Date;
        var lots = new List<OtherLot>();
        foreach (var (request, control) in runner.Present.State.Cartridges
            .Where(cartridge => cartridge.Fate is RequestFate.CarriedOver)
            .Select(cartridge => (cartridge.Wanted.Request, cartridge.Wanted.Facts?.Control)))
            if (StockStop.Of(stock, request.Lot, request.Assay, today) is not null
                && stock.Usable(request.Assay, today) is [var usable, ..])
                lots.Add(new OtherLot(request.Id, usable.Lot, stock.LastDayOf(usable.Lot, control?.Lot)
                    .PlusDays(1).AtStartOfDayInZone(zone).ToInstant()));
        if (lots.Count > 0)
            await gates.PrepareAsync(runner, lots.Select(other => other.Lot));
        return new BenchCommand.CloseBatch(lots);
    }

    /// <summary>Records with the clinic the repeats that a bench has taken over from a closed batch.</summary>
    /// <param name="runner">The bench.</param>
    /// <param name="provenance">Who closed the batch.</param>
    public void Note(BenchRunner runner, Provenance provenance)
    {
        var state = runner.Present.State;
        List<ClinicEvent> repeats = [.. state.Cartridges
            .Where(cartridge => cartridge.FromBatch == state.Batch - 1 && cartridge.RepeatOf is not null
                && !clinic.Log.Requests.Contains(cartridge.Id))
            .Select(cartridge => new ClinicEvent.RequestReceived(runner.Id, cartridge.Wanted.Request,
                cartridge.Wanted.AssayVersion, Intake.ParticularsOf(cartridge.Wanted)))];
        if (repeats.Count > 0)
            clinic.Log.Record(repeats, provenance);
    }
}
