using Incubation.Bench;
using Incubation.Clinic.Assays;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.Controls;

/// <summary>
/// What the controls of kit lots let a bench do: worked out from the clinic's stream at the question, never from what
/// was set once.
/// </summary>
/// <param name="Assays">The catalogue.</param>
/// <param name="Stock">Every lot.</param>
/// <param name="Controls">Controls as they were judged.</param>
/// <param name="Zone">The clinic's zone: its day is the day of use.</param>
public sealed record KitGates(AssaysState Assays, StockState Stock, ControlsState Controls, DateTimeZone Zone)
{
    /// <summary>Comparisons of kit lots.</summary>
    public ComparisonsState Comparisons { get; init; } = ComparisonsState.Empty;

    /// <summary>How an assay is controlled, by its latest version.</summary>
    public ControlPolicy PolicyOf(AssayCode assay) => Assays.Latest(assay)?.Sheet.Controls ?? ControlPolicy.None;

    /// <summary>Where a kit lot of an assay stands on a bench.</summary>
    public LotStatus StandingOf(BenchId bench, AssayCode assay, LotCode lot, Instant now) => Controls.Of(lot).On(
        PolicyOf(assay), bench, new ControlOccasions(Stock.CameIn(lot), Controls.Serviced(bench)), now, Zone);

    /// <summary>
    /// What a kit lot lets patients' cartridges do on a bench: its controls first, and then its comparison.
    /// </summary>
    public LotGate GateOn(BenchId bench, AssayCode assay, LotCode lot, Instant now) =>
        GateOf(StandingOf(bench, assay, lot, now), PolicyOf(assay).Gate) is not LotGate.Open and var gate ? gate
        : Comparisons.HoldsBack(Stock, assay, lot) ? LotGate.AwaitingComparison : LotGate.Open;

    /// <summary>What a lot's standing lets patients' cartridges do.</summary>
    public static LotGate GateOf(LotStatus standing, ControlGate gate) => standing switch
    {
        LotStatus.Failed => LotGate.Failed,
        LotStatus.Due => gate switch
        {
            ControlGate.Wait => LotGate.AwaitingControls,
            ControlGate.HoldResults => LotGate.ResultsHeld,
            _ => LotGate.Open,
        },
        _ => LotGate.Open,
    };

    /// <summary>
    /// The gates that stand otherwise on a bench than they should, each as it should stand: of every lot in its batch,
    /// for a result that is out already may be entered once more.
    /// </summary>
    /// <param name="state">The bench.</param>
    /// <param name="coming">Lots of which something is about to come.</param>
    /// <param name="now">The present.</param>
    public IEnumerable<(LotCode Lot, LotGate Gate)> ToSet(BenchState state, IEnumerable<LotCode> coming, Instant now)
    {
        ArgumentNullException.ThrowIfNull(state);
        var assays = state.Cartridges
            .Where(cartridge => cartridge.Stage is not (CartridgeStage.Withdrawn or CartridgeStage.Discarded))
            .Select(cartridge => (cartridge.Wanted.Request.Lot, Assay: cartridge.Wanted.Assay.Code)).ToList();
        foreach (var lot in assays.Select(pair => pair.Lot).Concat(coming)
            .Concat(state.LotGates.Select(gate => gate.Lot)).ToHashSet())
        {
            if ((Stock.Find(StockKind.Kit, lot)?.Assay ?? assays.Where(pair => pair.Lot == lot)
                .Select(pair => (AssayCode?)pair.Assay).FirstOrDefault()) is not { } assay)
                continue;
            var gate = GateOn(state.Id, assay, lot, now);
            if (gate != (state.GateOf(lot)?.Gate ?? LotGate.Open))
                yield return (lot, gate);
        }
    }
}
