using System.Diagnostics;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Service.Clock;

/// <summary>A budget of real time: a tablet waits for it, however fast the server's own time runs.</summary>
public sealed class TimeBudget(Duration length) : ISearchBudget
{
    private readonly long started = Stopwatch.GetTimestamp();
    private readonly TimeSpan most = length.ToTimeSpan();

    /// <inheritdoc/>
    public bool AllowsMore(long iterationsDone) => Stopwatch.GetElapsedTime(started) < most;
}
