using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Controls;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.Service.People;

namespace Incubation.Service.Gates;

/// <summary>
/// Judges controls whose results have come in, and tells each bench what the controls of its kit lots let it do.
/// Everything is worked out anew from the records each time, so that a start after a crash, a new day or a second try
/// end where they should.
/// </summary>
public sealed class LotGateService(ClinicHost clinic, BenchRegistry benches, ClosedControls closed, DoubtNotices doubts,
    BenchClock clock, ILogger<LotGateService> logger) : IDisposable
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId ThisServer = new("server");
    private readonly SemaphoreSlim one = new(1, 1);

    /// <summary>Where a kit lot of an assay stands on a bench now.</summary>
    public LotStatus StandingOf(BenchId bench, AssayCode assay, LotCode lot) =>
        Present.StandingOf(bench, assay, lot, clock.Now);

    /// <summary>
    /// What a kit lot of an assay lets patients' cartridges do on a bench now, whatever was set on the bench, and also
    /// where none of them is on it any more.
    /// </summary>
    public LotGate GateOn(BenchId bench, AssayCode assay, LotCode lot) => Present.GateOn(bench, assay, lot, clock.Now);

    private KitGates Present => new(clinic.Log.Assays, clinic.Log.Stock, clinic.Log.Controls, clinic.Facts.Zone)
    {
        Comparisons = clinic.Log.Comparisons,
    };

    /// <summary>
    /// Whether a judgement of a control on a bench is not borne out by its result, or it has closed a batch of which
    /// that is not known yet.
    /// </summary>
    public bool HasUnjudged(BenchState state) => closed.HasNew(state)
        || ControlJudgements.Next(clinic.Log.Controls, state, clock.Now) is not null;

    /// <summary>
    /// What a start owes: judgements of an earlier version are held against this one's rule, once, and everything is
    /// settled.
    /// </summary>
    public async Task OpenAsync()
    {
        await one.WaitAsync();
        try
        {
            closed.JudgeByTheRule(Record);
        }
        finally
        {
            one.Release();
        }

        await SettleAsync();
    }

    /// <summary>Judges what has come in, and sets every gate that stands otherwise than it should.</summary>
    public async Task SettleAsync()
    {
        await one.WaitAsync();
        try
        {
            JudgeAll();
            foreach (var runner in benches.All)
                await SetGatesAsync(runner, []);
            doubts.Put();
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
            JudgeAll();
            await SetGatesAsync(runner, lots);
        }
        finally
        {
            one.Release();
        }
    }

    /// <inheritdoc/>
    public void Dispose() => one.Dispose();

    private void JudgeAll()
    {
        // As they stood before the tables are read: what is closed meanwhile is looked at the next time.
        var states = benches.All.Select(runner => runner.Present.State).ToList();
        foreach (var state in states)
            Judge(state);
        closed.Judge(states, Record);
    }

    private void Judge(BenchState state)
    {
        while (ControlJudgements.Next(clinic.Log.Controls, state, clock.Now) is { } run && Record(run))
        {
        }
    }

    /// <summary>Whether a judgement stands in the log; where not, the next look tries again.</summary>
    private bool Record(ControlRun run)
    {
        try
        {
            if (clinic.Log.Record(new ClinicEvent.ControlJudged(run), Provenances.Of(Itself, ThisServer, clock))
                is not ClinicOutcome.Refused refused)
                return true;
            logger.LogError("A control could not be judged: {Why}.", refused.Why);
        }
        catch (AppendException fault)
        {
            logger.LogError(fault, "A judged control could not be written.");
        }

        return false;
    }

    private async Task SetGatesAsync(BenchRunner runner, IEnumerable<LotCode> coming)
    {
        foreach (var (lot, gate) in Present.ToSet(runner.Present.State, coming, clock.Now).ToList())
        {
            var answer = await runner.SendAsync(new BenchCommand.SetLotGate(lot, gate),
                Provenances.Of(Itself, ThisServer, clock));
            if (!answer.Recorded)
                logger.LogError("Bench {Bench} did not take the gate of a lot.", runner.Id);
        }
    }
}
