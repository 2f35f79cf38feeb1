using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Assays;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;

namespace Incubation.Records.Amendments;

/// <summary>A result that was amended after its batch had been closed.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Amended">What was said.</param>
/// <param name="Touch">By whom, when, through what.</param>
public sealed record ClosedAmendment(long Sequence, ClinicEvent.ClosedResultAmended Amended, Touch Touch);

/// <summary>Results amended after their batches had been closed, as the clinic's stream tells. Immutable; made from events alone.</summary>
public sealed record AmendmentsState
{
    /// <summary>None.</summary>
    public static AmendmentsState Empty { get; } = new();

    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedAmendment>> All { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedAmendment>>.Empty;

    /// <summary>The amendments of a cartridge's result, the first first.</summary>
    public ImmutableList<ClosedAmendment> Of(BenchId bench, RequestId request) => All.GetValueOrDefault((bench, request), []);

    /// <summary>A cartridge of a closed batch with its result as it stands after these amendments; the first one is kept.</summary>
    /// <param name="closed">The cartridge as its batch's own rows tell of it.</param>
    /// <param name="assays">Where the rule stands by which a result is reported.</param>
    public CartridgeRecord Amended(CartridgeRecord closed, AssaysState assays)
    {
        ArgumentNullException.ThrowIfNull(closed);
        ArgumentNullException.ThrowIfNull(assays);
        if (Of(closed.Bench, closed.Request) is not [.., var last])
            return closed;
        var rule = assays.Versions.GetValueOrDefault(closed.Assay, []).ElementAtOrDefault(closed.AssayVersion - 1)?.Sheet.Results ?? ResultRule.AsDisplayed;
        return closed with
        {
            Result = last.Amended.After,
            First = closed.First ?? closed.Result,
            Marked = last.Amended.After is ReadResult.Measured measured ? MarkedResult.Of(rule, measured.Value) : null,
        };
    }

    /// <summary>The rows of the clinic's stream that amend results of these requests of a bench, in order.</summary>
    internal IReadOnlyList<long> RowsOf(BenchId bench, IReadOnlySet<string> requests) =>
    [
        .. All.Where(pair => pair.Key.Item1 == bench && requests.Contains(pair.Key.Item2.Value)).SelectMany(pair => pair.Value).Select(one => one.Sequence).Order(),
    ];

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its row in the clinic's stream.</param>
    internal AmendmentsState Apply(ClinicEntry entry, long sequence) => entry.Event is ClinicEvent.ClosedResultAmended amended
        ? this with { All = All.SetItem((amended.Bench, amended.Request), Of(amended.Bench, amended.Request).Add(new ClosedAmendment(sequence, amended, entry.Touch))) }
        : this;

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="requests">Every request that has come in.</param>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<RequestId> requests) => @event is not ClinicEvent.ClosedResultAmended amended ? null
        : string.IsNullOrWhiteSpace(amended.Why) ? new(ClinicRefusal.WhyMissing, amended.Request.Value)
        : !requests.Contains(amended.Request) ? new(ClinicRefusal.UnknownRequest, amended.Request.Value)
        : amended.After == amended.Before || (Of(amended.Bench, amended.Request) is [.., var last] && last.Amended.After != amended.Before)
            ? new(ClinicRefusal.ResultChanged, amended.Request.Value)
            : null;
}

/// <summary>The names of the events about amendments in the log.</summary>
internal static class AmendmentEvents
{
    /// <summary>Every event with its name and version.</summary>
    public static IReadOnlyList<Events.EventForm> Forms { get; } = [new("closed-result-amended", 1, typeof(ClinicEvent.ClosedResultAmended))];
}
