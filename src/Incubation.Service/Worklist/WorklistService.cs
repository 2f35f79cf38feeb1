using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Record;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;

namespace Incubation.Service.Worklist;

/// <summary>Tells what waits in the worklist and what became of it; cancels, and takes back into it.</summary>
public sealed class WorklistService(ClinicHost clinic, BenchRegistry benches, CartridgeProjection book,
    BenchClock clock)
{
    private readonly Lock gate = new();
    private (long, string) closedOf;
    private Dictionary<RequestId, End> closed = [];

    /// <summary>How many wait to be put on a bench.</summary>
    public int WaitingCount => clinic.Log.Worklist.WaitingCount;

    /// <summary>
    /// Orders that an actor may see, in the order in which they came: all of them who sees specimens by name, those
    /// that it brought itself a program that may add requests.
    /// </summary>
    public IReadOnlyList<OrderLine> List(Actor? actor, OrderQuery query)
    {
        ArgumentNullException.ThrowIfNull(query);
        return [.. Among(query).Where(order => order.Row > query.After && MaySee(actor, order) && Fits(order, query))
            .Select(LineOf).Where(line => query.State is not { } state || line.State == NameOf(state))
            .Take(Math.Clamp(query.Most, 0, OrderQuery.MostAtOnce))];
    }

    /// <summary>What became of the orders that came last, the newest first: for a page.</summary>
    public IReadOnlyList<OrderLine> Newest(Actor? actor, int most) =>
        [.. clinic.Log.Worklist.All.Values.Reverse().Where(order => !order.Waits && MaySee(actor, order)).Take(most)
            .Select(LineOf)];

    /// <summary>An order that waited is not run, for a reason.</summary>
    public Outcome Cancel(Actor? actor, long row, string? why) =>
        !MayChange(actor, row) ? new Outcome(Words.NotAllowed)
        : string.IsNullOrWhiteSpace(why) || !Bounds.IsWords(why.Trim())
        ? new Outcome(Say.Of(WorklistWords.CancelWhyFault, Bounds.MaxWords))
        : clinic.Log.Worklist.Find(row)?.Cancelled is not null ? Outcome.Done()
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.OrderCancelled(row, why.Trim()),
            Provenances.Of(actor!, clock)));

    /// <summary>An order whose request ended without a value waits again.</summary>
    public Outcome Return(Actor? actor, long row) =>
        !MayChange(actor, row) || actor is Actor.Program ? new Outcome(Words.NotAllowed)
        : clinic.Log.Worklist.Find(row) is not { Place: { } place } || !EndOf(place).MayReturn
        ? new Outcome(WorklistWords.NotToReturn)
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.OrderReturned(row, place.Request),
            Provenances.Of(actor!, clock)));

    /// <summary>The name of a state, outside.</summary>
    public static string NameOf(OrderState state) => state switch
    {
        OrderState.Waiting => "waiting",
        OrderState.OnBench => "on-bench",
        OrderState.Resulted => "resulted",
        OrderState.GivenUp => "given-up",
        _ => "cancelled",
    };

    private IEnumerable<Order> Among(OrderQuery query)
    {
        var worklist = clinic.Log.Worklist;
        return query.State == OrderState.Waiting ? worklist.Waiting
            : query is { Source: { } source, Number: { } number } && Bounds.IsIdentifier(source)
                && Bounds.IsIdentifier(number)
            ? worklist.Find(new OrderSource(Bounds.Normal(source)), new OrderNumber(Bounds.Normal(number)))
            : worklist.All.Values;
    }

    private static bool Fits(Order order, OrderQuery query) =>
        (query.Source is not { } source || order.Source.Value == source)
        && (query.Number is not { } number || order.Number.Value == number)
        && (query.Specimen is not { } specimen || order.Content.Specimen.Value == specimen);

    private static bool MaySee(Actor? actor, Order order) =>
        Access.May(actor, Right.SeeNamed, order.Place?.Bench.Value) || IsOwn(actor, order);

    /// <summary>A program that may only add requests knows its own orders, by the key that brought them.</summary>
    private static bool IsOwn(Actor? actor, Order order) =>
        actor is Actor.Program program && Access.May(actor, Right.AddRequests) && order.Device == program.Key.Id;

    /// <summary>Whether an actor may see an order, and it is there.</summary>
    public bool Knows(Actor? actor, long row) => clinic.Log.Worklist.Find(row) is { } order && MaySee(actor, order);

    private bool MayChange(Actor? actor, long row) => Access.May(actor, Right.AddRequests)
        && clinic.Log.Worklist.Find(row) is { } order
        && (actor is Actor.Program ? IsOwn(actor, order) : MaySee(actor, order));

    private OrderLine LineOf(Order order)
    {
        var (content, end) = (order.Content, EndOf(order));
        return new OrderLine(order.Row, order.Source.Value, order.Number.Value, content.Specimen.Value,
            content.Assay.Value, clinic.Catalogue.Assay(content.Assay)?.Assay.Name ?? content.Assay.Value,
            content.Priority == Priority.Urgent, content.Identifier, content.SpecimenType, content.Collected,
            content.Due, content.Comment, order.Came, NameOf(end.State), end.Status, order.Place?.Bench.Value,
            end.Batch, end.IsClosed, end.Request ?? order.Place?.Request.Value)
        {
            MayReturn = end.MayReturn,
        };
    }

    /// <summary>What became of an order.</summary>
    private sealed record End(OrderState State, string Status, int? Batch = null, bool IsClosed = false,
        string? Request = null, bool MayReturn = false);

    private End EndOf(Order order) => order switch
    {
        { Cancelled: { } cancelled } => new End(OrderState.Cancelled, Say.Of(WorklistWords.StateCancelled,
            cancelled.Why, Names.Of(cancelled.By, clinic.Log.People), Say.DateAndTime(cancelled.At,
                clinic.Facts.Zone))),
        { Place: { } place } => EndOf(place),
        _ => new End(OrderState.Waiting, WorklistWords.StateWaiting),
    };

    private End EndOf(OrderPlace place)
    {
        if (benches.Find(place.Bench.Value) is { } runner && Latest(runner.Present.State, place.Request) is { } present)
            return EndOf(runner.Present, present);
        var now = (clinic.Log.Revision, string.Join('/', benches.All.Select(one => one.Present.State.Batch)));
        lock (gate)
        {
            // What is closed changes with a close or an amendment alone, and pages ask at every tap.
            if (closedOf != now)
                (closedOf, closed) = (now, []);
            if (!closed.TryGetValue(place.Request, out var end))
                closed[place.Request] = end = EndOfClosed(place);
            return end;
        }
    }

    private End EndOfClosed(OrderPlace place)
    {
        if (Latest(place) is not { } closed)
            return new End(OrderState.OnBench, WorklistWords.StateOnBench);
        var state = closed.HasValue ? OrderState.Resulted
            : closed is { Fate: RequestFate.CarriedOver } or { Standing: CartridgeStatus.ResultMissing }
            ? OrderState.OnBench : OrderState.GivenUp;
        return new End(state, ResultStatusText.Of(closed), closed.Batch, true, closed.Request.Value,
            state == OrderState.GivenUp);
    }

    private End EndOf(BenchMoment view, Cartridge one)
    {
        var (fate, status) = (Fates.Of(view.State, one), BatchText.Stage(view, one, clinic.Facts.Zone));
        var state = one.HasValue ? OrderState.Resulted
            : fate is RequestFate.GivenUp ? OrderState.GivenUp : OrderState.OnBench;
        return new End(state, status, view.State.Batch, false, one.Id.Value,
            state == OrderState.GivenUp || (one.Stage is CartridgeStage.Withdrawn && fate is null));
    }

    /// <summary>A request as it stands in the present batch, or what repeats it there.</summary>
    private static Cartridge? Latest(BenchState state, RequestId request)
    {
        var found = state.Find(request)
            ?? state.Cartridges.FirstOrDefault(other => other.RepeatOf == request);
        while (found is not null && Fates.Of(state, found) is RequestFate.Repeated repeated
            && state.Find(repeated.By) is { } repeat && repeat.Id != found.Id)
            found = repeat;
        return found;
    }

    /// <summary>A request in the last closed batch that had it, or what repeats it there.</summary>
    private CartridgeRecord? Latest(OrderPlace place)
    {
        const int MostRepeats = 20;
        var found = book.LastClosed(place.Bench, place.Request);
        for (var repeats = 0; repeats < MostRepeats && found is not null && RepeatOf(found) is { } repeat; repeats++)
            found = repeat;
        return found;
    }

    private CartridgeRecord? RepeatOf(CartridgeRecord first) => first.Fate switch
    {
        RequestFate.Repeated repeated => book.LastClosed(first.Bench, repeated.By),
        RequestFate.CarriedOver => book.Find(new CartridgeQuery(first.Specimen.Value, Bench: first.Bench)).Cartridges
            .FirstOrDefault(other => other.RepeatOf == first.Request && other.Batch > first.Batch
                && benches.Find(other.Bench.Value)?.Present.State.Batch != other.Batch),
        _ => null,
    };
}
