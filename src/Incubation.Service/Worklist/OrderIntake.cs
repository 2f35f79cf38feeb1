using System.Collections.Immutable;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Panels;
using Incubation.Service.People;
using Incubation.Service.Requests;
using Incubation.Service.Text;

namespace Incubation.Service.Worklist;

/// <summary>
/// Takes orders from elsewhere into the worklist: once however often they are sent, all of them or none, never refused
/// for stock.
/// </summary>
public sealed class OrderIntake(ClinicHost clinic, BenchClock clock, PanelService panels)
{
    /// <summary>More orders than are sent at once.</summary>
    public const int MostAtOnce = 500;

    /// <summary>More rows than are written at once: an order has one for each assay.</summary>
    private const int MostRows = 2_000;

    private readonly Lock oneAtATime = new();

    /// <summary>Takes orders.</summary>
    /// <param name="actor">Who brings them.</param>
    /// <param name="source">Where they come from; null for who brings them.</param>
    /// <param name="orders">The orders.</param>
    public OrdersOutcome Receive(Actor? actor, string? source, IReadOnlyList<OrderIn>? orders)
    {
        if (!Access.May(actor, Right.AddRequests))
            return Fault("orders", Words.NotAllowed);
        if (orders is not { Count: > 0 })
            return Fault("orders", WorklistWords.OrdersEmpty);
        if (orders.Count > MostAtOnce)
            return Fault("orders", Say.Of(WorklistWords.TooManyOrders, MostAtOnce));
        var from = string.IsNullOrWhiteSpace(source) ? SourceOf(actor!) : source.Trim();
        if (!Bounds.IsIdentifier(from))
            return Fault("source", Words.IntakeTextFault);
        var reading = new OrderReading(new AssayNames(clinic, panels), clock.Now);
        var read = orders.Select(reading.Read).ToList();
        if (reading.Faults.Count > 0)
            return new OrdersOutcome([], reading.Faults);
        if (read.Sum(one => one!.Value.Wanted.Length) > MostRows)
            return Fault("orders", Say.Of(WorklistWords.TooManyOrders, MostAtOnce));
        lock (oneAtATime)
        {
            return Record(actor!, new OrderSource(Bounds.Normal(from)), [.. read.Select(one => one!.Value)]);
        }
    }

    private OrdersOutcome Record(Actor actor, OrderSource source,
        List<(OrderNumber Number, ImmutableArray<OrderContent> Wanted)> read)
    {
        var worklist = clinic.Log.Worklist;
        var known = new Dictionary<OrderNumber, ImmutableArray<OrderContent>>();
        var (fresh, faults) = (new List<ClinicEvent>(), new List<IntakeFault>());
        for (var at = 0; at < read.Count; at++)
        {
            var (number, wanted) = read[at];
            if (!known.TryGetValue(number, out var there))
                there = [.. worklist.Find(source, number).Select(order => order.Content)];
            if (there.IsEmpty)
                fresh.AddRange(wanted.Select(one => new ClinicEvent.OrderReceived(source, number, one)));
            // The same again, with its assays in another order, is the same.
            else if (!there.ToHashSet().SetEquals(wanted))
                faults.Add(new IntakeFault($"orders[{at}].number", Say.Of(WorklistWords.OrderDiffers, number)));
            known[number] = there.IsEmpty ? wanted : there;
        }

        if (faults.Count > 0)
            return new OrdersOutcome([], faults);
        try
        {
            if (fresh.Count > 0
                && clinic.Log.Record(fresh, Provenances.Of(actor, clock)) is ClinicOutcome.Refused refused)
                return Fault("orders", ClinicText.Say(refused)) with
                {
                    IsNotNow = refused.Why == ClinicRefusal.WorklistFull,
                };
        }
        catch (AppendException)
        {
            return Fault("orders", Words.LogUnwritable) with { IsNotNow = true };
        }

        var isNew = fresh.Cast<ClinicEvent.OrderReceived>().Select(one => one.Number).ToHashSet();
        return new OrdersOutcome([.. read.Select(one => one.Number).Distinct()
            .SelectMany(number => clinic.Log.Worklist.Find(source, number))
            .Select(order => new OrderTaken(order.Row, order.Number.Value, order.Content.Assay.Value,
                isNew.Contains(order.Number)))], []);
    }

    private static string SourceOf(Actor actor) => actor switch
    {
        Actor.Program program when Bounds.IsIdentifier(program.Key.Name.Trim()) => program.Key.Name.Trim(),
        Actor.Program program => program.Key.Id.Value,
        _ => WorklistWords.SourceOfPerson,
    };

    private static OrdersOutcome Fault(string member, string sentence) =>
        new([], [new IntakeFault(member, sentence)]);
}
