using Incubation.Clinic.Controls;
using Incubation.Model;
using Incubation.Model.Controls;
using Incubation.Records.Batches;
using Incubation.Records.Export;
using Incubation.Service.Clinic;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Controls;

/// <summary>
/// Controls as files: every number of their charts and tables, and what it takes to judge them again.
/// </summary>
public sealed class ControlFiles(ClinicHost clinic, CartridgeProjection book)
{
    private static readonly string[] OfJudgement =
    [
        "assay", "bench", "kitLot", "controlLot", "controlLevel", "batch", "request", "order", "actionsBefore", "run",
        "entered", "takenOut", "judged", "revision", "superseded", "cause", "shown", "value", "mean", "deviation", "z",
        "verdict", "rules", "with", "rulesOn", "chartMean", "chartDeviation", "unit",
    ];

    /// <summary>
    /// A line for each judgement of a control, by kit lot, in the order in which they were made; one that was judged
    /// again has a line for each time.
    /// </summary>
    /// <param name="assay">Only by this assay; null for all.</param>
    /// <param name="bench">Only on this bench; null for all.</param>
    public IEnumerable<string> Judgements(string? assay, string? bench)
    {
        var state = clinic.Log.Controls;
        var batches = new Dictionary<(BenchId, int), IReadOnlyDictionary<RequestId, Instant?>>();
        yield return Csv.Line(OfJudgement);
        foreach (var (kit, history) in state.Lots.OrderBy(pair => pair.Key.Value, StringComparer.Ordinal))
        {
            var first = new Dictionary<RequestId, int>();
            for (var at = 0; at < history.Runs.Count; at++)
            {
                var run = history.Runs[at];
                first.TryAdd(run.Request, at);
                if ((assay is not null && run.Assay.Value != assay) || (bench is not null && run.Bench.Value != bench))
                    continue;
                var actions = history.Actions.Count(action => action.AfterRuns <= first[run.Request]);
                yield return Csv.Line([run.Assay.Value, run.Bench.Value, kit.Value, run.Control.Lot.Value,
                    run.Control.Level, run.Batch, run.Request.Value, at + 1, actions, run.Run,
                    Text(EnteredOf(run, batches)), .. Judged(run, state, history.IsSuperseded(run))]);
            }
        }
    }

    /// <summary>A line for each target of a control, with what the benches' own runs say of it.</summary>
    public IEnumerable<string> Targets()
    {
        var state = clinic.Log.Controls;
        yield return Csv.Line(["assay", "controlLot", "controlLevel", "mean", "deviation", "unit", "source", "setBy",
            "setAt", "lastDay", "ownRuns", "ownMean", "ownDeviation"]);
        foreach (var target in state.Targets)
        {
            var runs = state.OwnRuns(target.Assay, target.Control);
            var own = ControlTarget.FromOwn(runs.Select(run => run.Value!.Value));
            yield return Csv.Line([target.Assay.Value, target.Control.Lot.Value, target.Control.Level,
                target.Target.Mean, target.Target.StandardDeviation, UnitText.Of(clinic.Log.Assays, target.Assay),
                KebabCase.Of(target.Source), target.By.Value, Text(target.At),
                target.LastDay is { } day ? Say.Day(day) : null, runs.Count, own?.Mean, own?.StandardDeviation]);
        }
    }

    private object?[] Judged(ControlRun run, ControlsState state, bool isSuperseded)
    {
        var chart = state.Target(run.Assay, run.Control)?.Target;
        return [Text(run.At), Text(run.JudgedAt), run.Revision, isSuperseded ? "yes" : "no", KebabCase.Of(run.Cause),
            run.Shown, run.Value, run.Target?.Mean, run.Target?.StandardDeviation,
            run.Z is { } z ? Math.Round(z, 9) : null, KebabCase.Of(run.Verdict),
            string.Join(' ', run.Violations.Select(broken => KebabCase.Of(broken.Rule))),
            string.Join(' ', run.Violations.Where(broken => !broken.With.IsEmpty)
                .Select(broken => $"{KebabCase.Of(broken.Rule)}:{string.Join('+', broken.With)}")),
            string.Join(' ', state.RulesAt(run.Assay, run.JudgedAt).On.Select(KebabCase.Of)), chart?.Mean,
            chart?.StandardDeviation, UnitText.Of(clinic.Log.Assays, run.Assay)];
    }

    /// <summary>When a control's first result was entered; null where the record does not say.</summary>
    private Instant? EnteredOf(ControlRun run,
        Dictionary<(BenchId, int), IReadOnlyDictionary<RequestId, Instant?>> batches)
    {
        if (!batches.TryGetValue((run.Bench, run.Batch), out var batch))
            batches[(run.Bench, run.Batch)] = batch = book.Batch(run.Bench, run.Batch)?.Cartridges
                .ToDictionary(one => one.Request, one => one.ResultEntered.To) ?? [];
        return batch.GetValueOrDefault(run.Request);
    }

    private static string? Text(Instant? at) => at is { } known ? InstantPattern.ExtendedIso.Format(known) : null;
}
