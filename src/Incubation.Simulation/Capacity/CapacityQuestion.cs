using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>A bench and what is wanted of it.</summary>
/// <param name="Bench">What the bench has, and how it is planned.</param>
/// <param name="Assays">The assays that it runs; every assay of the demand is among them.</param>
/// <param name="Demand">What is wanted of it on a day.</param>
public sealed record CapacityQuestion(BenchSetup Bench, ImmutableArray<Assay> Assays, Demand Demand)
{
    /// <summary>How long steps of hands take.</summary>
    public RandomStepLengths Times { get; init; } = new();

    /// <summary>The same with another bench.</summary>
    public CapacityQuestion With(int slots = 0, int readers = 0, int hands = 0) => this with
    {
        Bench = Bench with
        { Slots = Bench.Slots + slots, Readers = Bench.Readers + readers, Hands = Bench.Hands + hands },
    };
}

/// <summary>One request of a played day.</summary>
/// <param name="Arrived">When it came in, counted from midnight.</param>
/// <param name="Priority">Whether it was urgent.</param>
/// <param name="End">How it ended.</param>
/// <param name="Left">When it was cleared, thrown away or given up, counted from midnight.</param>
public sealed record PlayedRequest(Duration Arrived, Priority Priority, CartridgeEnd End, Duration Left)
{
    /// <summary>From coming in to leaving, with a result or without.</summary>
    public Duration Stayed => Left - Arrived;
}

/// <summary>How long each kind of resource was taken, in all.</summary>
/// <param name="Hands">Hands, holding included.</param>
/// <param name="Slots">Slots, from a load's start to the move's.</param>
/// <param name="Readers">Readers, from the move's start to the clear's end, card changes too.</param>
public sealed record Taken(Duration Hands, Duration Slots, Duration Readers)
{
    /// <summary>Nothing.</summary>
    public static Taken Nothing { get; } = new(Duration.Zero, Duration.Zero, Duration.Zero);
}

/// <summary>A day as it was played.</summary>
/// <param name="Requests">Every request, in the order in which they came.</param>
/// <param name="InSystem">The number of requests waiting or in work, summed over time: in request-hours, by the bench's
/// own record.</param>
/// <param name="From">When it begins, counted from midnight.</param>
/// <param name="Until">When the last request left, or the bench closed if that was later.</param>
/// <param name="Taken">How long resources were taken between the opening and the closing time.</param>
public sealed record PlayedDay(ImmutableArray<PlayedRequest> Requests, double InSystem, Duration From, Duration Until,
    Taken Taken);
