using Incubation.Planning;

namespace Incubation.Cli;

/// <summary>Lets a search go on until so much time has passed by the host's monotonic clock.</summary>
internal sealed class TimeBudget(TimeProvider time, TimeSpan length) : ISearchBudget
{
    private readonly long _begin = time.GetTimestamp();

    /// <inheritdoc/>
    public bool AllowsMore(long iterationsDone) => time.GetElapsedTime(_begin) < length;
}
