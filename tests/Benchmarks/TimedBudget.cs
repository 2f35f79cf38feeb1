using System.Diagnostics;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Benchmarks;

/// <summary>A budget of time that runs from the moment it is made, the building of the first plan included.</summary>
internal sealed class TimedBudget(Duration limit) : ISearchBudget
{
    private readonly long end = Stopwatch.GetTimestamp() + (long)(limit.TotalSeconds * Stopwatch.Frequency);

    public bool AllowsMore(long iterationsDone) => Stopwatch.GetTimestamp() < end;
}
