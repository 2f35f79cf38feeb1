using NodaTime;

namespace Incubation.Benchmarks.Lines;

/// <summary>What a line of the table is measured with.</summary>
/// <param name="Seeds">How many days of each family.</param>
/// <param name="Wanted">Names of the families wanted; empty for all.</param>
/// <param name="Solver">How long the solver has.</param>
/// <param name="Long">How long the long searches have that find the best plans of large days.</param>
/// <param name="Cache">Results of long searches.</param>
/// <param name="Runs">The planner's runs.</param>
internal sealed record Measuring(int Seeds, IReadOnlyList<string> Wanted, Duration Solver, Duration Long,
    SolverCache Cache, Runs Runs)
{
    public IEnumerable<Family> Of(IEnumerable<Family> families) => families.Where(family => Wants(family.Name));

    public bool Wants(string name) => Wanted.Count == 0 || Wanted.Contains(name);

    public static void Says(string text) => Console.Error.WriteLine(text);
}
