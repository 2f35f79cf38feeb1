using System.Collections.Immutable;
using Incubation.Bench;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>How a cartridge of a played day ended.</summary>
public enum CartridgeEnd
{
    /// <summary>Its read started inside its window, and it was taken out: there is a result.</summary>
    ReadInWindow,

    /// <summary>Mixed, and no result: read outside its window, or thrown away.</summary>
    Missed,

    /// <summary>Never mixed: it could no longer be loaded by its last time.</summary>
    NotRun,
}

/// <summary>One cartridge of a played day.</summary>
/// <param name="End">How it ended.</param>
/// <param name="ToResult">From the later of its ready time and the day's start to the end of its clear; null where
/// there is no result.</param>
public sealed record CartridgeOutcome(CartridgeEnd End, Duration? ToResult);

/// <summary>A day as it was played.</summary>
/// <param name="Cartridges">Every request of the day, in the day's order.</param>
/// <param name="Steps">What was done, reads too, in the order in which it ended.</param>
/// <param name="Finish">From the day's start to the end of the last step.</param>
public sealed record DayOutcome(ImmutableArray<CartridgeOutcome> Cartridges, ImmutableArray<DoneStep> Steps,
    Duration Finish);
