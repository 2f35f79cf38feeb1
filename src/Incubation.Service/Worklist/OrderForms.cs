using Incubation.Service.Requests;
using NodaTime;

namespace Incubation.Service.Worklist;

/// <summary>An order as another program or a file sends it: assays on one specimen, under one number.</summary>
/// <param name="Number">What it is called where it comes from; the same again with the same content is harmless.
/// </param>
/// <param name="Specimen">What the tube's label says.</param>
/// <param name="Assays">What is wanted: codes or names of assays, names of panels.</param>
/// <param name="Priority">"routine" (usual) or "urgent".</param>
/// <param name="Identifier">A second identifier beside the specimen's, as little as serves.</param>
/// <param name="SpecimenType">The specimen's type; one that an assay does not take is refused.</param>
/// <param name="Collected">When the specimen was collected.</param>
/// <param name="Due">When its results should be there.</param>
/// <param name="Comment">What is to be known besides, at most 500 characters.</param>
public sealed record OrderIn(
    string? Number,
    string? Specimen,
    IReadOnlyList<string>? Assays,
    string? Priority = null,
    string? Identifier = null,
    string? SpecimenType = null,
    Instant? Collected = null,
    Instant? Due = null,
    string? Comment = null);

/// <summary>An order that stands in the clinic, for one assay.</summary>
/// <param name="Order">Its name in the clinic.</param>
/// <param name="Number">What it is called where it comes from.</param>
/// <param name="Assay">Code of the assay.</param>
/// <param name="IsNew">False where the same was there already.</param>
public sealed record OrderTaken(long Order, string Number, string Assay, bool IsNew);

/// <summary>What became of orders that came in; all are taken or none.</summary>
/// <param name="Orders">Each, for each of its assays, in the order in which they came.</param>
/// <param name="Faults">What is wrong.</param>
/// <param name="IsNotNow">Whether nothing is wrong with them, and they may be sent again later.</param>
public sealed record OrdersOutcome(IReadOnlyList<OrderTaken> Orders, IReadOnlyList<IntakeFault> Faults,
    bool IsNotNow = false)
{
    /// <summary>Whether they are in the worklist.</summary>
    public bool Taken => Faults.Count == 0;
}

/// <summary>How far an order has come.</summary>
public enum OrderState
{
    /// <summary>It waits to be put on a bench.</summary>
    Waiting,

    /// <summary>It is on a bench, or goes on in its next batch.</summary>
    OnBench,

    /// <summary>There is a value.</summary>
    Resulted,

    /// <summary>It ended without a value.</summary>
    GivenUp,

    /// <summary>It was cancelled before it was put on a bench.</summary>
    Cancelled,
}

/// <summary>An order, and what became of it.</summary>
/// <param name="Order">Its name in the clinic.</param>
/// <param name="Source">Where it comes from.</param>
/// <param name="Number">What it is called there.</param>
/// <param name="Specimen">The specimen.</param>
/// <param name="Assay">Code of the assay.</param>
/// <param name="AssayName">Its name.</param>
/// <param name="IsUrgent">Whether it goes first.</param>
/// <param name="Identifier">A second identifier, or null.</param>
/// <param name="SpecimenType">The specimen's type, or null.</param>
/// <param name="Collected">When it was collected, or null.</param>
/// <param name="Due">When the result should be there, or null.</param>
/// <param name="Comment">What is to be known besides, or null.</param>
/// <param name="Came">Since when it is here.</param>
/// <param name="State">How far it has come: "waiting", "on-bench", "resulted", "given-up" or "cancelled".</param>
/// <param name="Status">The same in words, with the reason where there is one.</param>
/// <param name="Bench">Id of the bench, or null.</param>
/// <param name="Batch">Number of the batch, or null.</param>
/// <param name="IsClosed">Whether that batch is closed.</param>
/// <param name="Request">The request as which it is run: its result is found by it; or null.</param>
public sealed record OrderLine(long Order, string Source, string Number, string Specimen, string Assay,
    string AssayName, bool IsUrgent, string? Identifier, string? SpecimenType, Instant? Collected, Instant? Due,
    string? Comment, Instant Came, string State, string Status, string? Bench, int? Batch, bool IsClosed,
    string? Request)
{
    /// <summary>Whether it ended without a value, and can wait again.</summary>
    public bool MayReturn { get; init; }
}

/// <summary>Which orders are asked for; what is null is not asked.</summary>
/// <param name="State">Only those that have come so far.</param>
/// <param name="Source">Only those from there.</param>
/// <param name="Number">Only those of this number.</param>
/// <param name="Specimen">Only those of this specimen.</param>
/// <param name="After">Only those that came after this one.</param>
/// <param name="Most">At most so many.</param>
public sealed record OrderQuery(OrderState? State = null, string? Source = null, string? Number = null,
    string? Specimen = null, long After = 0, int Most = OrderQuery.MostAtOnce)
{
    /// <summary>Most orders in one answer.</summary>
    public const int MostAtOnce = 500;
}
