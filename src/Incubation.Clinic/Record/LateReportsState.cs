using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic.Record;

/// <summary>A report that came after its batch had been closed.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Report">What was reported.</param>
/// <param name="Provenance">By whom, when, through what.</param>
/// <param name="Decision">What a supervisor has made of it; null while it waits.</param>
public sealed record LateReport(long Sequence, ClinicEvent.ReportedAfterClose Report, Provenance Provenance,
    LateReportAnswer? Decision = null);

/// <summary>A decision on a late report.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Settled">What was decided.</param>
/// <param name="Provenance">By whom, when, through what.</param>
public sealed record LateReportAnswer(long Sequence, ClinicEvent.LateReportSettled Settled, Provenance Provenance);

/// <summary>
/// Reports that came after their batches had been closed, as the clinic's stream tells. Immutable; made from events
/// alone.
/// </summary>
public sealed record LateReportsState
{
    /// <summary>None.</summary>
    public static LateReportsState Empty { get; } = new();

    private ImmutableDictionary<ReportId, LateReport> All { get; init; } =
        ImmutableDictionary<ReportId, LateReport>.Empty;

    /// <summary>Those that wait for a decision, the oldest first.</summary>
    public IReadOnlyList<LateReport> Waiting =>
        [.. All.Values.Where(one => one.Decision is null).OrderBy(one => one.Sequence)];

    /// <summary>A late report; null where there is none of that name.</summary>
    public LateReport? Find(ReportId report) => All.GetValueOrDefault(report);

    /// <summary>Those of a batch, the oldest first.</summary>
    public IReadOnlyList<LateReport> Of(BenchId bench, int batch) =>
        [.. All.Values.Where(one => one.Report.Bench == bench && one.Report.Batch == batch)
            .OrderBy(one => one.Sequence)];

    /// <summary>The rows of the clinic's stream about late reports of these requests of a bench, in order.</summary>
    public IReadOnlyList<long> RowsOf(BenchId bench, IReadOnlySet<string> requests) =>
    [
        .. All.Values.Where(one => one.Report.Bench == bench && requests.Contains(one.Report.Request.Value))
            .SelectMany(one => one.Decision is { } decision ? new[] { one.Sequence, decision.Sequence }
                : [one.Sequence])
            .Order(),
    ];

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its row in the clinic's stream.</param>
    internal LateReportsState Apply(ClinicEntry entry, long sequence) => entry.Event switch
    {
        ClinicEvent.ReportedAfterClose report => this with
        {
            All = All.SetItem(entry.Provenance.Id, new LateReport(sequence, report, entry.Provenance)),
        },
        // The report may have been erased by rule, and its decision not: nothing is left to decide on.
        ClinicEvent.LateReportSettled settled when Find(settled.Report) is { } late => this with
        {
            All = All.SetItem(settled.Report,
                late with { Decision = new LateReportAnswer(sequence, settled, entry.Provenance) }),
        },
        // As a replay of what is left tells it.
        ClinicEvent.RecordErased erased
            when All.Values.Where(one => erased.Covers(one.Sequence)).ToList() is { Count: > 0 } gone => this with
            {
                All = All.RemoveRange(gone.Select(one => one.Provenance.Id)),
            },
        _ => this,
    };

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="benches">The clinic's benches.</param>
    /// <param name="requests">Every request that has come in.</param>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<BenchId> benches,
        ImmutableHashSet<RequestId> requests) => @event switch
        {
            ClinicEvent.ReportedAfterClose report when !benches.Contains(report.Bench) =>
                new(ClinicRefusal.UnknownBench, report.Bench.Value),
            ClinicEvent.ReportedAfterClose report when !requests.Contains(report.Request) =>
                new(ClinicRefusal.UnknownRequest, report.Request.Value),
            ClinicEvent.LateReportSettled settled when string.IsNullOrWhiteSpace(settled.Why) =>
                new(ClinicRefusal.WhyMissing, settled.Request.Value),
            ClinicEvent.LateReportSettled settled when Find(settled.Report) is not { Decision: null } late
                || late.Report.Bench != settled.Bench || late.Report.Request != settled.Request =>
                new(ClinicRefusal.NothingToDecide, settled.Request.Value),
            _ => null,
        };
}
