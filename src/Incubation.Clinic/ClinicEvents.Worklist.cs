using System.Collections.Immutable;
using Incubation.Clinic.Worklist;
using Incubation.Model;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>
    /// An order has come from elsewhere; it waits until it is put on a bench. Its row in the clinic's stream is its
    /// name in the clinic.
    /// </summary>
    /// <param name="Source">Where it comes from.</param>
    /// <param name="Number">What it is called there: several assays may be ordered by one number.</param>
    /// <param name="Order">What is wanted.</param>
    public sealed record OrderReceived(OrderSource Source, OrderNumber Number, OrderContent Order) : ClinicEvent;

    /// <summary>An order is run as a request.</summary>
    /// <param name="Order">The order.</param>
    /// <param name="Bench">The bench on which the request is.</param>
    /// <param name="Request">The request, which has come in before.</param>
    public sealed record OrderPlaced(long Order, BenchId Bench, RequestId Request) : ClinicEvent;

    /// <summary>A request ended without a value, and its order waits again.</summary>
    /// <param name="Order">The order.</param>
    /// <param name="Request">The request as which it was run.</param>
    public sealed record OrderReturned(long Order, RequestId Request) : ClinicEvent;

    /// <summary>An order that waited is not run.</summary>
    /// <param name="Order">The order.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record OrderCancelled(long Order, string Why) : ClinicEvent;

    /// <summary>The payloads of rows about cancelled orders were erased: they had been cancelled so many days before.
    /// </summary>
    /// <param name="Orders">The orders.</param>
    /// <param name="Rows">The rows of the clinic's stream about them.</param>
    /// <param name="Days">After so many days.</param>
    public sealed record OrdersErased(ImmutableArray<long> Orders, ImmutableArray<RowRange> Rows, int Days)
        : ClinicEvent;
}
