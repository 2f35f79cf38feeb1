using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Connections;

/// <summary>
/// Destinations, and what they are told beside what the benches' streams say, as the clinic's stream tells. Immutable;
/// made from events alone; reads no clock.
/// </summary>
public sealed record ConnectionsState
{
    /// <summary>The most destinations in use at a time.</summary>
    public const int MaxInUse = 50;

    /// <summary>A day is at most so long: where the clocks are put back on it, 25 hours, in some places more.</summary>
    private static readonly Duration LongestDay = Duration.FromHours(27);

    /// <summary>None.</summary>
    public static ConnectionsState Empty { get; } = new();

    /// <summary>Every destination there ever was; the n-th one is named by n.</summary>
    public ImmutableList<Connection> All { get; private init; } = [];

    /// <summary>Those in use, whether or not they are sent to now.</summary>
    public IEnumerable<Connection> InUse => All.Where(one => !one.HasEnded);

    /// <summary>Results of which destinations were told that they are in doubt, and that nobody has reviewed.</summary>
    public ImmutableHashSet<(BenchId Bench, RequestId Request)> InDoubt { get; private init; } = [];

    private ImmutableDictionary<(BenchId, RequestId), ImmutableList<long>> Rows { get; init; } =
        ImmutableDictionary<(BenchId, RequestId), ImmutableList<long>>.Empty;

    /// <summary>A destination, or null.</summary>
    public Connection? Find(DestinationId id) => All.Find(one => one.Id == id);

    /// <summary>
    /// The rows of the clinic's stream about results of these requests of a bench, in order: they go with them.
    /// </summary>
    public IReadOnlyList<long> RowsOf(BenchId bench, IReadOnlySet<string> requests) =>
    [
        .. Rows.Where(pair => pair.Key.Item1 == bench && requests.Contains(pair.Key.Item2.Value))
            .SelectMany(pair => pair.Value).Order(),
    ];

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its row in the clinic's stream.</param>
    internal ConnectionsState Apply(ClinicEntry entry, long sequence)
    {
        var (by, at) = (entry.Provenance.Person, entry.Provenance.At);
        return entry.Event switch
        {
            ClinicEvent.DestinationAdded added => this with
            {
                All = All.Add(new Connection(added.Destination, added.What, added.After, sequence, by, at)),
            },
            ClinicEvent.DestinationChanged changed => With(changed.Destination, one =>
                one with { Destination = changed.What, By = by, At = at }),
            ClinicEvent.DestinationSecretReplaced replaced => With(replaced.Destination, one =>
                one with { By = by, At = at }),
            ClinicEvent.DestinationSwitched switched => With(switched.Destination, one =>
                one with { WhyOff = switched.IsOn ? null : switched.Why, By = by, At = at }),
            ClinicEvent.DestinationEnded ended => With(ended.Destination, one =>
                one with { HasEnded = true, By = by, At = at }),
            ClinicEvent.DayResent resent => With(resent.Destination, one =>
                one.ToldAgain(new Interval(resent.From, resent.Until), sequence)),
            ClinicEvent.ResultNoticed noticed => this with
            {
                InDoubt = noticed.Kind == NoticeKind.InDoubt ? InDoubt.Add((noticed.Bench, noticed.Request)) : InDoubt,
                Rows = Rows.SetItem((noticed.Bench, noticed.Request),
                    Rows.GetValueOrDefault((noticed.Bench, noticed.Request), []).Add(sequence)),
            },
            ClinicEvent.ReleasedReviewed reviewed => this with
            {
                InDoubt = InDoubt.Except(reviewed.Results.Select(one => (one.Bench, one.Request))),
            },
            ClinicEvent.RecordErased erased => Without([.. Rows.Where(pair => pair.Value.Exists(erased.Covers))
                .Select(pair => pair.Key)]),
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    internal ClinicObjection? Against(ClinicEvent @event, ImmutableHashSet<BenchId> benches,
        ImmutableHashSet<RequestId> requests) => @event switch
        {
            ClinicEvent.DestinationAdded added => Against(added, benches),
            ClinicEvent.DestinationChanged changed => Against(changed),
            ClinicEvent.DestinationSecretReplaced replaced => NotInUse(replaced.Destination),
            ClinicEvent.DestinationSwitched switched => NotInUse(switched.Destination)
                ?? Unexplained(switched.Why, switched.Destination)
                ?? ((Find(switched.Destination)!.WhyOff is null) == switched.IsOn
                    ? new(ClinicRefusal.DestinationIsSo, switched.Destination.Value) : null),
            ClinicEvent.DestinationEnded ended => NotInUse(ended.Destination)
                ?? Unexplained(ended.Why, ended.Destination),
            ClinicEvent.DeliveryResent resent => NotInUse(resent.Destination),
            ClinicEvent.DayResent resent => NotInUse(resent.Destination)
                ?? (resent.From >= resent.Until || resent.Until - resent.From > LongestDay
                    || !Find(resent.Destination)!.Destination.Topics.Contains(NoticeTopic.Results)
                    ? new(ClinicRefusal.DestinationImpossible, resent.Destination.Value) : null),
            ClinicEvent.DeliveryGivenUp given => NotInUse(given.Destination)
                ?? Unexplained(given.Why, given.Destination),
            ClinicEvent.ResultNoticed { Kind: NoticeKind.Alarm } noticed =>
                new(ClinicRefusal.DestinationIsSo, noticed.Request.Value),
            ClinicEvent.ResultNoticed noticed => !requests.Contains(noticed.Request)
                ? new(ClinicRefusal.UnknownRequest, noticed.Request.Value) : null,
            ClinicEvent.AlarmNoticed noticed => !benches.Contains(noticed.Bench)
                ? new(ClinicRefusal.UnknownBench, noticed.Bench.Value) : null,
            _ => null,
        };

    private ClinicObjection? Against(ClinicEvent.DestinationAdded added, ImmutableHashSet<BenchId> benches) =>
        added.Destination != Connection.IdOf(All.Count + 1)
            ? new(ClinicRefusal.UnknownDestination, added.Destination.Value)
            : !added.What.IsPossible || added.After.IsDefault
                || added.After.Any(end => end.Sequence < 0 || !benches.Contains(end.Bench))
                || added.After.DistinctBy(end => end.Bench).Count() != added.After.Length
            ? new(ClinicRefusal.DestinationImpossible, added.What.Name)
            : InUse.Count() >= MaxInUse ? new(ClinicRefusal.DestinationsFull, added.What.Name) : null;

    private ClinicObjection? Against(ClinicEvent.DestinationChanged changed) => NotInUse(changed.Destination)
        ?? (!changed.What.IsPossible
            || Find(changed.Destination)!.Destination is var before
                && (before.Way.GetType() != changed.What.Way.GetType()
                    || !before.Topics.ToHashSet().SetEquals(changed.What.Topics))
            ? new(ClinicRefusal.DestinationImpossible, changed.What.Name) : null);

    private ClinicObjection? NotInUse(DestinationId id) => Find(id) is { HasEnded: false } ? null
        : new(ClinicRefusal.UnknownDestination, id.Value);

    private static ClinicObjection? Unexplained(string why, DestinationId id) => string.IsNullOrWhiteSpace(why)
        ? new(ClinicRefusal.WhyMissing, id.Value) : null;

    private ConnectionsState With(DestinationId id, Func<Connection, Connection> change)
    {
        var at = All.FindIndex(one => one.Id == id);
        return at < 0 ? this : this with { All = All.SetItem(at, change(All[at])) };
    }

    private ConnectionsState Without(IReadOnlyCollection<(BenchId, RequestId)> erased) => erased.Count == 0 ? this
        : this with { Rows = Rows.RemoveRange(erased), InDoubt = InDoubt.Except(erased) };
}
