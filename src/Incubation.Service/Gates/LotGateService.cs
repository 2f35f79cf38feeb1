using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using NodaTime;

namespace Incubation.Service.Gates;

/// <summary>
/// Judges controls whose results have come in, and tells each bench what the controls of its kit lots let it do.
/// Everything is worked out anew from the records each time, so that a start after a crash, a new day or a second try
/// end where they should.
/// </summary>
public sealed class LotGateService(ClinicHost clinic, BenchRegistry benches, BenchClock clock,
    ILogger<LotGateService> logger) : IDisposable
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId ThisServer = new("server");
    private readonly SemaphoreSlim one = new(1, 1);

    /// <summary>Where a kit lot of an assay stands on a bench now.</summary>
    public LotStatus StandingOf(BenchId bench, AssayCode assay, LotCode lot) => clinic.Log.Controls.Of(lot).On(
        PolicyOf(assay),
        bench,
        new ControlOccasions(clinic.Log.Stock.CameIn(lot), clinic.Log.Controls.Serviced(bench)),
        clock.Now,
        clinic.Facts.Zone);

    /// <summary>How an assay is controlled, by its latest version.</summary>
    public ControlPolicy PolicyOf(AssayCode assay) => clinic.Log.Assays.Latest(assay)?.Sheet.Controls
        ?? ControlPolicy.None;

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

    /// <summary>Whether a bench has a control whose result has come in and has not been judged.</summary>
    public bool HasUnjudged(BenchState state) => state.Cartridges.Any(IsUnjudged);

    /// <summary>Judges what has come in, and sets every gate that stands otherwise than it should.</summary>
    public async Task SettleAsync()
    {
        await one.WaitAsync();
        try
        {
            foreach (var runner in benches.All)
                Judge(runner.Present.State);
            foreach (var runner in benches.All)
                await SetGatesAsync(runner, []);
        }
        finally
        {
            one.Release();
        }
    }

    /// <summary>
    /// Sets a bench's gates for lots of which something is about to come: before it comes, so that nothing is offered
    /// meanwhile.
    /// </summary>
    public async Task PrepareAsync(BenchRunner runner, IEnumerable<LotCode> lots)
    {
        await one.WaitAsync();
        try
        {
            await SetGatesAsync(runner, lots);
        }
        finally
        {
            one.Release();
        }
    }

    /// <inheritdoc/>
    public void Dispose() => one.Dispose();

    private bool IsUnjudged(Cartridge cartridge) =>
        cartridge is
        {
            Result: not null, Stage: CartridgeStage.Cleared,
            Wanted: { Facts.Control: not null, Request.Kind: RequestKind.Control }
        }
        && !clinic.Log.Controls.IsJudged(cartridge.Id);

    private void Judge(BenchState state)
    {
        foreach (var cartridge in state.Cartridges.Where(IsUnjudged)
            .OrderBy(cartridge => ((CartridgeStage.Cleared)cartridge.Stage).End))
        {
            var now = clock.Now;
            var run = Judged(state, cartridge, now);
            var provenance = Provenances.Of(Itself, ThisServer, clock);
            try
            {
                if (clinic.Log.Record(new ClinicEvent.ControlJudged(run), provenance) is ClinicOutcome.Refused refused)
                    logger.LogError("A control could not be judged: {Why}.", refused.Why);
            }
            catch (AppendException fault)
            {
                // The next look tries again.
                logger.LogError(fault, "A judged control could not be written.");
                return;
            }
        }
    }

    private ControlRun Judged(BenchState state, Cartridge cartridge, Instant now)
    {
        var (wanted, controls) = (cartridge.Wanted, clinic.Log.Controls);
        var control = wanted.Facts!.Control!;
        var (shown, value) = Shown(cartridge.Result!);
        var run = new ControlRun(
            cartridge.Id, state.Id, state.Batch, wanted.Assay.Code, wanted.Request.Lot, control, Run: 0,
            ((CartridgeStage.Cleared)cartridge.Stage).End, now, shown, value,
                controls.Target(wanted.Assay.Code, control)?.Target, [], ControlVerdict.NotJudged);
        return controls.Of(run.Lot).Judged(run, controls.RulesOf(run.Assay));
    }

    private static (string Shown, decimal? Value) Shown(ReadResult result) => result switch
    {
        ReadResult.Measured measured =>
            (measured.Value,
                decimal.TryParse(measured.Value, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture,
                    out var value)
            && value <= ControlTarget.Largest ? value : null),
        ReadResult.NoValue none => ($"({none.Code})", null),
        _ => ("", null),
    };

    private async Task SetGatesAsync(BenchRunner runner, IEnumerable<LotCode> coming)
    {
        var state = runner.Present.State;
        var assays = state.Cartridges.Where(cartridge => !cartridge.IsOver || cartridge.ResultMissing)
            .Select(cartridge => (cartridge.Wanted.Request.Lot, Assay: cartridge.Wanted.Assay.Code)).ToList();
        var lots = assays.Select(pair => pair.Lot).Concat(coming).Concat(state.LotGates.Select(gate => gate.Lot))
            .ToHashSet();
        foreach (var lot in lots)
        {
            if ((clinic.Log.Stock.Find(StockKind.Kit, lot)?.Assay ?? assays.Where(pair => pair.Lot == lot)
                .Select(pair => (AssayCode?)pair.Assay).FirstOrDefault()) is not { } assay)
                continue;
            var gate = GateOf(StandingOf(runner.Id, assay, lot), PolicyOf(assay).Gate);
            if (gate == (state.GateOf(lot)?.Gate ?? LotGate.Open))
                continue;
            var answer = await runner.SendAsync(new BenchCommand.SetLotGate(lot, gate),
                Provenances.Of(Itself, ThisServer, clock));
            if (!answer.Recorded)
                logger.LogError("Bench {Bench} did not take the gate of a lot.", runner.Id);
        }
    }
}
