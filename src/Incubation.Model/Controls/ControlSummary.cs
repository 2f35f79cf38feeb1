using System.Collections.Immutable;

namespace Incubation.Model.Controls;

/// <summary>Controls of one material on one bench over some time.</summary>
/// <param name="Assay">The assay.</param>
/// <param name="Control">The control material.</param>
/// <param name="Bench">The bench.</param>
/// <param name="Runs">How many were run.</param>
/// <param name="Accepted">Those accepted: count, mean, standard deviation.</param>
/// <param name="Rejected">How many were rejected.</param>
/// <param name="NotJudged">How many gave no value or had no target.</param>
/// <param name="ByRule">How often each rule was broken, in the order of the rules; those that were not are left
/// out.</param>
public sealed record ControlSummary(
    AssayCode Assay, ControlMaterial Control, BenchId Bench, int Runs, SampleStatistics Accepted, int Rejected,
        int NotJudged,
    ImmutableArray<(ControlRule Rule, int Count)> ByRule)
{
    /// <summary>
    /// Summaries of controls, by assay, control material and bench. Mean and standard deviation are of accepted values
    /// alone.
    /// </summary>
    public static IReadOnlyList<ControlSummary> Of(IEnumerable<ControlRun> runs)
    {
        ArgumentNullException.ThrowIfNull(runs);
        return
        [
            .. runs.GroupBy(run => (run.Assay, run.Control, run.Bench))
                .OrderBy(group => group.Key.Assay.Value, StringComparer.Ordinal)
                .ThenBy(group => group.Key.Control.Lot.Value, StringComparer.Ordinal)
                .ThenBy(group => group.Key.Control.Level).ThenBy(group => group.Key.Bench.Value, StringComparer.Ordinal)
                .Select(group => Of(group.Key.Assay, group.Key.Control, group.Key.Bench, [.. group])),
        ];
    }

    private static ControlSummary Of(AssayCode assay, ControlMaterial control, BenchId bench, List<ControlRun> runs) =>
        new(
        assay, control, bench, runs.Count,
        SampleStatistics.Of(runs.Where(run => run.Verdict == ControlVerdict.Accepted)
            .Select(run => (double)run.Value!.Value)),
        runs.Count(run => run.Verdict == ControlVerdict.Rejected),
        runs.Count(run => run.Verdict == ControlVerdict.NotJudged),
        [.. runs.SelectMany(run => run.Violations).GroupBy(violation => violation.Rule).OrderBy(group => group.Key)
            .Select(group => (group.Key, group.Count()))]);
}
