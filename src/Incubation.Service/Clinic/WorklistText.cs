using Incubation.Clinic;
using Incubation.Service.Text;

namespace Incubation.Service.Clinic;

/// <summary>The words of what the clinic's log says of orders.</summary>
public static class WorklistText
{
    /// <summary>Why the clinic's log refused something about an order; null for what is not about one.</summary>
    public static string? Of(ClinicRefusal why) => why switch
    {
        ClinicRefusal.OrderIsSo => WorklistWords.RefusedOrderIsSo,
        ClinicRefusal.WorklistFull => WorklistWords.RefusedWorklistFull,
        _ => null,
    };

    /// <summary>What happened, in a sentence that names no specimen; null for what is not about an order.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.OrderReceived received => Say.Of(WorklistWords.LogOrderReceived, received.Source,
            received.Order.Assay),
        ClinicEvent.OrderPlaced placed => Say.Of(WorklistWords.LogOrderPlaced, placed.Order, placed.Request,
            placed.Bench),
        ClinicEvent.OrderReturned returned => Say.Of(WorklistWords.LogOrderReturned, returned.Order, returned.Request),
        ClinicEvent.OrderCancelled cancelled => Say.Of(WorklistWords.LogOrderCancelled, cancelled.Order,
            cancelled.Why),
        ClinicEvent.OrdersErased erased => Say.Of(WorklistWords.LogOrdersErased, erased.Orders.Length, erased.Days),
        _ => null,
    };
}
