using NodaTime;

namespace Incubation.Bench;

/// <summary>When a search is made beside pulling the adopted plan earlier.</summary>
public enum SearchWhen
{
    /// <summary>Only where the adopted plan's own order no longer serves: the cheap way.</summary>
    Needed,

    /// <summary>After every change: for a host that has time to spare between reports.</summary>
    Always,
}

/// <summary>
/// When another plan is searched for, and what plans keep in reserve. The same for the live bench and simulated days.
/// </summary>
/// <param name="Search">When a search is made.</param>
/// <param name="Margin">
/// The length of each read window, and of the time from mix to load, that plans keep in reserve for cartridges still
/// ahead of those steps, so that a step outlasting its allowed time costs no cartridge. Where room is short it is at
/// most half of the room; where a cartridge would be lost for its sake it is given up.
/// </param>
public sealed record SearchPolicy(SearchWhen Search, Duration Margin)
{
    /// <summary>
    /// The usual margin, found on simulated days: of 0, 10, 20, 30 and 45 s the least with which the demo's day misses
    /// no window in 4,800 cartridges; on random days it leaves a fifth of the losses that there are without one, at no
    /// less throughput.
    /// </summary>
    public static readonly Duration UsualMargin = Duration.FromSeconds(30);

    /// <summary>For a bench that waits for hands: a search after every change, the usual margin.</summary>
    public static SearchPolicy Live { get; } = new(SearchWhen.Always, UsualMargin);

    /// <summary>For many days in little time: a search only where it is needed, the usual margin.</summary>
    public static SearchPolicy Frugal { get; } = new(SearchWhen.Needed, UsualMargin);
}
