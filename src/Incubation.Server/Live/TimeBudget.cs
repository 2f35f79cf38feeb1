using System.Diagnostics;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Server.Live;

/// <summary>A budget of real time: a tablet waits for it, however fast the server's own time runs.</summary>
public sealed class TimeBudget(Duration length) : ISearchBudget
{
    private readonly long _started = Stopwatch.GetTimestamp();
    private readonly TimeSpan _length = length.ToTimeSpan();

    /// <inheritdoc/>
    public bool AllowsMore(long iterationsDone) => Stopwatch.GetElapsedTime(_started) < _length;
}
