using Incubation.Planning;

namespace Incubation.Service.Clock;

/// <summary>A search's budget that ends at once when the bench stops.</summary>
internal sealed class StoppableBudget(ISearchBudget budget, CancellationToken stopping) : ISearchBudget
{
    /// <inheritdoc/>
    public bool AllowsMore(long iterationsDone) => !stopping.IsCancellationRequested
        && budget.AllowsMore(iterationsDone);
}
