using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Worklist;

/// <summary>
/// Orders that come from elsewhere, as the clinic's stream tells. No start and no batch moves them. Immutable; made
/// from events alone; reads no clock.
/// </summary>
public sealed record WorklistState
{
    /// <summary>More orders than wait in a clinic at one time.</summary>
    public const int MostWaiting = 10_000;

    /// <summary>What was cancelled is kept for at least so many days; what was run is kept with its batch.</summary>
    public const int KeptDays = 90;

    /// <summary>No order.</summary>
    public static WorklistState Empty { get; } = new();

    /// <summary>Every order that is kept, by its row.</summary>
    public ImmutableSortedDictionary<long, Order> All { get; private init; } =
        ImmutableSortedDictionary<long, Order>.Empty;

    /// <summary>How many wait to be put on a bench.</summary>
    public int WaitingCount => Open.Count;

    /// <summary>The orders that wait to be put on a bench, the oldest first.</summary>
    public IEnumerable<Order> Waiting => Open.Select(row => All[row]);

    private ImmutableSortedSet<long> Open { get; init; } = [];

    private ImmutableDictionary<(OrderSource, OrderNumber), ImmutableArray<long>> Named { get; init; } =
        ImmutableDictionary<(OrderSource, OrderNumber), ImmutableArray<long>>.Empty;

    private ImmutableDictionary<SpecimenId, ImmutableArray<long>> OfTubes { get; init; } =
        ImmutableDictionary<SpecimenId, ImmutableArray<long>>.Empty;

    private ImmutableDictionary<SpecimenId, ImmutableArray<long>> Ended { get; init; } =
        ImmutableDictionary<SpecimenId, ImmutableArray<long>>.Empty;

    private ImmutableDictionary<RequestId, ImmutableArray<long>> Run { get; init; } =
        ImmutableDictionary<RequestId, ImmutableArray<long>>.Empty;

    /// <summary>An order; null where it is not known, or was erased.</summary>
    public Order? Find(long row) => All.GetValueOrDefault(row);

    /// <summary>The orders of one number, in the order in which they came.</summary>
    public IReadOnlyList<Order> Find(OrderSource source, OrderNumber number) =>
        [.. Named.GetValueOrDefault((source, number), []).Select(row => All[row])];

    /// <summary>What waits for a specimen, the oldest first.</summary>
    public IReadOnlyList<Order> WaitingFor(SpecimenId specimen) =>
        [.. OfTubes.GetValueOrDefault(specimen, []).Select(row => All[row])];

    /// <summary>What was cancelled of a specimen, in the order in which it came.</summary>
    public IReadOnlyList<Order> CancelledFor(SpecimenId specimen) =>
        [.. Ended.GetValueOrDefault(specimen, []).Select(row => All[row])];

    /// <summary>The specimens for which something waits.</summary>
    public IEnumerable<SpecimenId> WaitingSpecimens => OfTubes.Keys;

    /// <summary>The orders that are run as a request: none, one, or where the same was ordered twice several.</summary>
    public IReadOnlyList<Order> RunAs(RequestId request) =>
        [.. Run.GetValueOrDefault(request, []).Select(row => All[row])];

    /// <summary>
    /// What is to be recorded of the worklist where patients' requests come to a bench: what waits for the same
    /// specimen and assay is run as the first request for them, by whatever way it came, so that nobody runs it twice.
    /// </summary>
    public IEnumerable<ClinicEvent.OrderPlaced> PlacedBy(BenchId bench, IEnumerable<Request> requests) =>
        requests.Where(request => request.Kind == RequestKind.Patient)
            .Select(request => (Specimen: new SpecimenId(Bounds.Normal(request.Specimen.Value)), Request: request))
            .DistinctBy(one => (one.Specimen, one.Request.Assay))
            .SelectMany(one => WaitingFor(one.Specimen).Where(order => order.Content.Assay == one.Request.Assay)
                .Select(order => new ClinicEvent.OrderPlaced(order.Row, bench, one.Request.Id)));

    /// <summary>The rows of the clinic's stream about orders that are run as these requests of a bench, in order.
    /// </summary>
    public IReadOnlyList<long> RowsOf(BenchId bench, IReadOnlySet<string> requests)
    {
        ArgumentNullException.ThrowIfNull(requests);
        return [.. requests.Where(TextId.IsValid).SelectMany(request => RunAs(new RequestId(request)))
            .Where(order => order.Place!.Bench == bench).SelectMany(order => order.Rows).Order()];
    }

    /// <summary>The rows of the clinic's stream about some orders.</summary>
    public ImmutableArray<RowRange> RowsOf(IEnumerable<long> orders) =>
        RowRange.Of(orders.Select(Find).OfType<Order>().SelectMany(order => order.Rows));

    /// <summary>Cancelled orders that may be erased at an instant, the oldest first.</summary>
    public IEnumerable<Order> Over(Instant now) => All.Values
        .Where(order => order.Cancelled is { } end && end.At <= now - Duration.FromDays(KeptDays));

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    /// <param name="entry">The entry.</param>
    /// <param name="sequence">Its row in the clinic's stream.</param>
    internal WorklistState Apply(ClinicEntry entry, long sequence)
    {
        var (by, at) = (entry.Provenance.Person, entry.Provenance.Arrived);
        return entry.Event switch
        {
            ClinicEvent.OrderReceived received => Received(new Order(sequence, received.Source, received.Number,
                received.Order, at, by, entry.Provenance.Device)),
            // The order may have been erased by rule, and what was said of it not.
            ClinicEvent.OrderPlaced placed when Find(placed.Order) is { } order =>
                Set(order, order with { Place = new OrderPlace(placed.Bench, placed.Request, at) }, sequence),
            ClinicEvent.OrderReturned returned when Find(returned.Order) is { } order =>
                Set(order, order with { Place = null }, sequence),
            ClinicEvent.OrderCancelled cancelled when Find(cancelled.Order) is { } order =>
                Set(order, order with { Cancelled = new OrderEnd(cancelled.Why, by, at) }, sequence),
            ClinicEvent.OrdersErased erased => Without(erased.Orders.IsDefault ? [] : erased.Orders),
            // As a replay of what is left tells it.
            ClinicEvent.RecordErased erased => Without([.. All.Keys.Where(erased.Covers)]),
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null. Events about something else: null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="isApproved">Whether an assay may be run.</param>
    /// <param name="benches">The clinic's benches.</param>
    /// <param name="requests">Every request that has come in.</param>
    /// <param name="arrived">When it arrives.</param>
    internal ClinicObjection? Against(ClinicEvent @event, Func<AssayCode, bool> isApproved,
        ImmutableHashSet<BenchId> benches, ImmutableHashSet<RequestId> requests, Instant arrived) => @event switch
        {
            ClinicEvent.OrderReceived received => Against(received, isApproved),
            ClinicEvent.OrderPlaced placed => !benches.Contains(placed.Bench)
                ? new(ClinicRefusal.UnknownBench, placed.Bench.Value)
                : !requests.Contains(placed.Request) ? new(ClinicRefusal.UnknownRequest, placed.Request.Value)
                : Find(placed.Order) is { Waits: true } ? null : IsSo(placed.Order),
            ClinicEvent.OrderReturned returned => Find(returned.Order)?.Place?.Request == returned.Request ? null
                : IsSo(returned.Order),
            ClinicEvent.OrderCancelled cancelled => Find(cancelled.Order) is not { Waits: true }
                ? IsSo(cancelled.Order)
                : string.IsNullOrWhiteSpace(cancelled.Why) || cancelled.Why.Length > Bounds.MaxWords
                ? new(ClinicRefusal.WhyMissing, Name(cancelled.Order)) : null,
            ClinicEvent.OrdersErased erased => Against(erased, arrived),
            _ => null,
        };

    private ClinicObjection? Against(ClinicEvent.OrderReceived received, Func<AssayCode, bool> isApproved) =>
        !isApproved(received.Order.Assay) ? new(ClinicRefusal.UnknownAssay, received.Order.Assay.Value)
        : Find(received.Source, received.Number).Any(order => order.Content.Assay == received.Order.Assay)
        ? new(ClinicRefusal.OrderIsSo, received.Number.Value)
        : WaitingCount >= MostWaiting
        ? new(ClinicRefusal.WorklistFull, MostWaiting.ToString(CultureInfo.InvariantCulture)) : null;

    private ClinicObjection? Against(ClinicEvent.OrdersErased erased, Instant arrived)
    {
        var over = Over(arrived).Select(order => order.Row).ToHashSet();
        return erased.Orders.IsDefaultOrEmpty || erased.Rows.IsDefault || erased.Days < KeptDays
            || erased.Orders.Distinct().Count() < erased.Orders.Length || !erased.Orders.All(over.Contains)
            || !erased.Rows.SequenceEqual(RowsOf(erased.Orders))
            ? new(ClinicRefusal.RetentionNotOver, Name(erased.Orders.IsDefaultOrEmpty ? 0 : erased.Orders[0]))
            : null;
    }

    private WorklistState Received(Order order) => this with
    {
        All = All.SetItem(order.Row, order),
        Open = Open.Add(order.Row),
        Named = Added(Named, (order.Source, order.Number), order.Row),
        OfTubes = Added(OfTubes, order.Content.Specimen, order.Row),
    };

    /// <summary>Another state of an order, by a row, in every index.</summary>
    private WorklistState Set(Order before, Order after, long sequence)
    {
        var (row, specimen) = (before.Row, before.Content.Specimen);
        var run = before.Place is { } old ? Taken(Run, old.Request, row) : Run;
        var (tubes, ended) = (Taken(OfTubes, specimen, row), Taken(Ended, specimen, row));
        return this with
        {
            All = All.SetItem(row, after with { Rows = before.Rows.Add(sequence) }),
            Open = after.Waits ? Open.Add(row) : Open.Remove(row),
            OfTubes = after.Waits ? Added(tubes, specimen, row) : tubes,
            Ended = after.Cancelled is null ? ended : Added(ended, specimen, row),
            Run = after.Place is { } place ? Added(run, place.Request, row) : run,
        };
    }

    private WorklistState Without(ImmutableArray<long> gone)
    {
        var next = this;
        foreach (var order in gone.Select(Find).OfType<Order>())
            next = next with
            {
                All = next.All.Remove(order.Row),
                Open = next.Open.Remove(order.Row),
                Named = Taken(next.Named, (order.Source, order.Number), order.Row),
                OfTubes = Taken(next.OfTubes, order.Content.Specimen, order.Row),
                Ended = Taken(next.Ended, order.Content.Specimen, order.Row),
                Run = order.Place is { } place ? Taken(next.Run, place.Request, order.Row) : next.Run,
            };
        return next;
    }

    private static ImmutableDictionary<TKey, ImmutableArray<long>> Added<TKey>(
        ImmutableDictionary<TKey, ImmutableArray<long>> index, TKey key, long row)
        where TKey : notnull =>
        index.SetItem(key, [.. index.GetValueOrDefault(key, []).Append(row).Order()]);

    private static ImmutableDictionary<TKey, ImmutableArray<long>> Taken<TKey>(
        ImmutableDictionary<TKey, ImmutableArray<long>> index, TKey key, long row)
        where TKey : notnull =>
        index.GetValueOrDefault(key, []).Remove(row) is { IsEmpty: false } left ? index.SetItem(key, left)
            : index.Remove(key);

    private static ClinicObjection IsSo(long order) => new(ClinicRefusal.OrderIsSo, Name(order));

    private static string Name(long order) => order.ToString(CultureInfo.InvariantCulture);
}
