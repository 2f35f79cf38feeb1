using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic.Record;

/// <summary>A result that was amended after its batch had been closed.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Amended">What was said.</param>
/// <param name="Provenance">By whom, when, through what.</param>
public sealed record ClosedAmendment(long Sequence, ClinicEvent.ClosedResultAmended Amended, Provenance Provenance);

/// <summary>A result that was released after its batch had been closed.</summary>
/// <param name="Sequence">Its row in the clinic's stream.</param>
/// <param name="Released">What was said.</param>
/// <param name="Provenance">By whom, when, through what.</param>
public sealed record ClosedRelease(long Sequence, ClinicEvent.ClosedResultReleased Released,
    Provenance Provenance);

/// <summary>
/// Results amended or released after their batches had been closed, as the clinic's stream tells. Immutable; made
/// from events alone.
/// </summary>
public sealed record AmendmentsState
{
    /// <summary>None.</summary>
    public static AmendmentsState Empty { get; } = new();

    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedAmendment>> All { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<ClosedAmendment>>.Empty;

    private ImmutableDictionary<(BenchId, RequestId), ClosedRelease> Releases { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ClosedRelease>.Empty;

    /// <summary>The cartridges whose results were amended or released, each with its batch, in no order.</summary>
    public IEnumerable<(BenchId Bench, int Batch, RequestId Request)> Cartridges =>
        All.Select(pair => (pair.Key.Item1, pair.Value[0].Amended.Batch, pair.Key.Item2))
            .Union(Releases.Select(pair => (pair.Key.Item1, pair.Value.Released.Batch, pair.Key.Item2)));

    /// <summary>That a cartridge's held result was released; null where it was not.</summary>
    public ClosedRelease? ReleaseOf(BenchId bench, RequestId request) => Releases.GetValueOrDefault((bench, request));

    /// <summary>The amendments of a cartridge's result, the first first.</summary>
    public ImmutableList<ClosedAmendment> Of(BenchId bench, RequestId request) =>
        All.GetValueOrDefault((bench, request), []);

    /// <summary>
    /// The rows of the clinic's stream that amend or release results of these requests of a bench, in order.
    /// </summary>
    public IReadOnlyList<long> RowsOf(BenchId bench, IReadOnlySet<string> requests) =>
    [
        .. All.Where(pair => pair.Key.Item1 == bench && requests.Contains(pair.Key.Item2.Value))
            .SelectMany(pair => pair.Value).Select(one => one.Sequence)
            .Concat(Releases.Where(pair => pair.Key.Item1 == bench && requests.Contains(pair.Key.Item2.Value))
                .Select(pair => pair.Value.Sequence)).Order(),
    ];

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its row in the clinic's stream.</param>
    internal AmendmentsState Apply(ClinicEntry entry, long sequence) => entry.Event switch
    {
        ClinicEvent.ClosedResultAmended amended => this with
        {
            All = All.SetItem((amended.Bench, amended.Request), Of(amended.Bench, amended.Request)
                .Add(new ClosedAmendment(sequence, amended, entry.Provenance))),
        },
        ClinicEvent.ClosedResultReleased released => this with
        {
            Releases = Releases.SetItem((released.Bench, released.Request),
                new ClosedRelease(sequence, released, entry.Provenance)),
        },
        _ => this,
    };

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="requests">Every request that has come in.</param>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<RequestId> requests) => @event switch
    {
        ClinicEvent.ClosedResultAmended amended => Against(amended, requests),
        ClinicEvent.ClosedResultReleased released => string.IsNullOrWhiteSpace(released.Why)
            ? new(ClinicRefusal.WhyMissing, released.Request.Value)
            : !requests.Contains(released.Request) ? new(ClinicRefusal.UnknownRequest, released.Request.Value)
            : ReleaseOf(released.Bench, released.Request) is not null
                ? new(ClinicRefusal.ResultChanged, released.Request.Value) : null,
        _ => null,
    };

    private ClinicObjection? Against(ClinicEvent.ClosedResultAmended amended, ImmutableHashSet<RequestId> requests) =>
        string.IsNullOrWhiteSpace(amended.Why) ? new(ClinicRefusal.WhyMissing, amended.Request.Value)
        : !requests.Contains(amended.Request) ? new(ClinicRefusal.UnknownRequest, amended.Request.Value)
        : amended.After == amended.Before
        || (Of(amended.Bench, amended.Request) is [.., var last] && last.Amended.After != amended.Before)
            ? new(ClinicRefusal.ResultChanged, amended.Request.Value)
            : null;
}
