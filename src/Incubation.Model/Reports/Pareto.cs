namespace Incubation.Model.Reports;

/// <summary>One cause of a Pareto chart.</summary>
/// <param name="Of">The cause.</param>
/// <param name="Count">How often.</param>
/// <param name="UpTo">Which part of all it and the more frequent ones make up, up to 1.</param>
public sealed record ParetoBar<T>(T Of, int Count, double UpTo);

/// <summary>
/// Causes in the order of how often they came (after J. M. Juran, Quality Control Handbook 1951; from memory).
/// </summary>
public static class Pareto
{
    /// <summary>The most frequent cause first; those alike in the order in which they came.</summary>
    public static IReadOnlyList<ParetoBar<T>> Of<T>(IEnumerable<T> causes)
        where T : notnull
    {
        ArgumentNullException.ThrowIfNull(causes);
        // Groups come in the order of their first member, and the sort keeps it among equals.
        var counted = causes.GroupBy(cause => cause).Select(group => (group.Key, Count: group.Count()))
            .OrderByDescending(one => one.Count).ToList();
        var all = counted.Sum(one => one.Count);
        var bars = new List<ParetoBar<T>>();
        var sum = 0;
        foreach (var (cause, count) in counted)
            bars.Add(new ParetoBar<T>(cause, count, (double)(sum += count) / all));
        return bars;
    }
}
