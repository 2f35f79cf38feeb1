using System.Collections.Concurrent;
using Incubation.Bench;
using Incubation.Clinic.Controls;
using Incubation.Clinic.Record;
using Incubation.Clinic;
using Incubation.Model.Controls;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;

namespace Incubation.Service.Gates;

/// <summary>
/// Controls of closed batches whose judgement is not borne out: their batch was closed before they could be judged,
/// they were amended or released since, or judged by an earlier version of this program that took another rule.
/// </summary>
public sealed class ClosedControls(ClinicHost clinic, CartridgeProjection book, BenchClock clock)
{
    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId ThisServer = new("server");

    /// <summary>The last closed batch of each bench whose controls were looked at.</summary>
    private readonly ConcurrentDictionary<BenchId, int> closed = new();
    private AmendmentsState? seen;

    /// <summary>Whether a bench has closed a batch whose controls were not looked at since.</summary>
    public bool HasNew(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Batch > 1 && closed.GetValueOrDefault(state.Id) < state.Batch - 1;
    }

    /// <summary>Has every judgement recorded that is not borne out, while they can be.</summary>
    /// <param name="benches">Every bench as it stands.</param>
    /// <param name="record">Records a judgement; whether it stands in the log.</param>
    public void Judge(IEnumerable<BenchState> benches, Func<ControlRun, bool> record)
    {
        ArgumentNullException.ThrowIfNull(benches);
        ArgumentNullException.ThrowIfNull(record);
        foreach (var state in benches)
            JudgeClosed(state, record);
        var amendments = clinic.Log.Amendments;
        if (ReferenceEquals(amendments, seen))
            return;
        // As on the bench, what was taken out first is judged first: it says to which set each belongs.
        if (amendments.Cartridges.Where(one => !ControlJudgements.IsBorneOut(
                clinic.Log.Controls, amendments, one.Bench, one.Request))
            .Select(one => (one.Batch, Closed: book.LastClosed(one.Bench, one.Request)))
            .Where(one => one.Closed is not null)
            .OrderBy(one => one.Batch).ThenBy(one => one.Closed!.Clear.To)
            .ThenBy(one => one.Closed!.Request.Value, StringComparer.Ordinal).ToList()
            .TrueForAll(one => Judge(one.Closed!, null, record)))
            seen = amendments;
    }

    /// <summary>
    /// The batches that a bench has closed since it was looked at, or the last one after a start: what came in just
    /// before a close may not have been judged on the bench.
    /// </summary>
    private void JudgeClosed(BenchState state, Func<ControlRun, bool> record)
    {
        var last = state.Batch - 1;
        for (var batch = closed.GetValueOrDefault(state.Id, last - 1) + 1; batch <= last; batch++)
        {
            var controls = book.Batch(state.Id, batch)?.Cartridges.Where(one => one.Kind == RequestKind.Control)
                .OrderBy(one => one.Clear.To).Select(one => one.Request).ToList() ?? [];
            if (!controls.TrueForAll(request => Judge(state.Id, request, null, record)))
                return;
            closed[state.Id] = batch;
        }
    }

    /// <summary>
    /// Holds every judgement of an earlier version of this program against the rule of this one, once.
    /// </summary>
    /// <param name="record">Records a judgement; whether it stands in the log.</param>
    public void JudgeByTheRule(Func<ControlRun, bool> record)
    {
        if (clinic.Log.Controls.JudgedByRule >= ControlJudgements.Rule)
            return;
        var earlier = clinic.Log.Controls.AllLatest.OrderBy(run => run.JudgedAt)
            .ThenBy(run => run.Request.Value, StringComparer.Ordinal).ToList();
        if (earlier.TrueForAll(run => Judge(run.Bench, run.Request, JudgementCause.RuleChanged, record))
            && earlier.Count > 0)
            clinic.Log.Record(new ClinicEvent.JudgementRuleTaken(ControlJudgements.Rule),
                Provenances.Of(Itself, ThisServer, clock));
    }

    /// <summary>
    /// Judges a control as it stands in its last closed batch; there is none while its batch is open, which is judged
    /// on its bench, and of an erased one nothing is known any more.
    /// </summary>
    private bool Judge(BenchId bench, RequestId request, JudgementCause? because, Func<ControlRun, bool> record) =>
        book.LastClosed(bench, request) is not { } one || Judge(one, because, record);

    private bool Judge(CartridgeRecord one, JudgementCause? because, Func<ControlRun, bool> record) =>
        ResultOf(one) is not { } result
        || ControlJudgements.Of(clinic.Log.Controls, result, clock.Now) is not { } run
        || record(run with { Cause = because ?? run.Cause });

    private static ControlResult? ResultOf(CartridgeRecord one) =>
        one is { Control: { } control, Result: { } result, Clear.To: { } cleared }
            ? new ControlResult(one.Request, one.Bench, one.Batch, one.Assay, one.Lot, control, cleared, result,
                one.Use, one.First is not null, one.Released is not null)
            : null;
}
