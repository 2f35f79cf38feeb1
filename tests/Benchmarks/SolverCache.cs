using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Incubation.Exchange;
using Incubation.Model;
using Incubation.Oracle;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Benchmarks;

/// <summary>What a long search gave, kept.</summary>
/// <param name="Cost">The best plan's cost in seconds; null where no plan was found.</param>
/// <param name="Bound">No plan costs less.</param>
/// <param name="Proved">Whether the plan was proved best.</param>
/// <param name="FoundAfter">When the best plan was found, in seconds.</param>
/// <param name="Took">How long the search took, in seconds.</param>
internal sealed record KeptResult(double? Cost, double Bound, bool Proved, double FoundAfter, double Took);

/// <summary>
/// Results of long searches in files, by the hash of the day and by machine. A change to the oracle's model must raise
/// <see cref="ModelVersion"/>, a change to the planner its own version: older results are then made anew.
/// </summary>
internal sealed class SolverCache(string directory, bool anew, bool onlyKept, string parameters)
{
    private const int ModelVersion = 1;
    private static readonly JsonSerializerOptions Format = new()
    {
        WriteIndented = true,
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase
    };

    /// <summary>Results under special parameters have files of their own.</summary>
    private string Special => parameters.Length == 0 ? "" : "-p" + HashOf(parameters)[..6];

    /// <summary>
    /// What the solver finds with two workers in a time; null where only kept results are wanted and there is none.
    /// </summary>
    public KeptResult? Solver(BenchDay day, Duration limit) =>
        Keep(day, $"solver-m{ModelVersion}{Special}-2w-{limit.TotalSeconds}s",
            () => Solve(day, new OracleOptions(limit, Workers: 2, Parameters: parameters)));

    /// <summary>What the solver finds in a time, started from a plan of ours.</summary>
    public KeptResult? SolverFrom(BenchDay day, Duration limit, Func<Plan> hint) =>
        Keep(day, $"solver-from-plan-m{ModelVersion}{Special}-2w-{limit.TotalSeconds}s",
            () => Solve(day, new OracleOptions(limit, Workers: 2, Hint: hint(), Parameters: parameters)));

    /// <summary>What the planner finds in a long time.</summary>
    public KeptResult? Planner(BenchDay day, Duration limit) =>
        Keep(day, $"planner-v{Planning.Planner.Version}-{limit.TotalSeconds}s", () =>
        {
            var plan = Planning.Planner.Plan(day, 1, new TimedBudget(limit)).Plan;
            return new KeptResult(plan.Cost, plan.Bound, plan.Proved, limit.TotalSeconds, limit.TotalSeconds);
        });

    /// <summary>The hash of a day: that of its file.</summary>
    public static string HashOf(BenchDay day) => HashOf(BenchDayFile.Write(day))[..16];

    private static string HashOf(string text) =>
        Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)));

    private static KeptResult Solve(BenchDay day, OracleOptions options)
    {
        var result = Oracle.Oracle.Solve(day, options);
        if (result.Plan is { } plan && PlanChecker.Check(day, plan) is [var fault, ..])
            throw new InvalidOperationException(
                $"The solver's plan of day {HashOf(day)} breaks rule {fault.Rule}: {fault.What}.");
        if (result.Plan is { } partial && partial.Unplaced.Count + partial.Lost.Count > 0)
            throw new InvalidOperationException(
                $"The solver leaves requests of day {HashOf(day)} out: the families have no such days.");
        return new KeptResult(
            result.Plan?.Cost, result.Bound, result.Proved,
            Math.Round(result.Improvements is [.., var last] ? last.After.TotalSeconds : 0, 3),
                Math.Round(result.Took.TotalSeconds, 3));
    }

    private KeptResult? Keep(BenchDay day, string what, Func<KeptResult> make)
    {
        var path = Path.Combine(directory, Machine.Slug, $"{HashOf(day)}-{what}.json");
        if (!anew && File.Exists(path)
            && JsonSerializer.Deserialize<KeptResult>(File.ReadAllText(path), Format) is { } kept)
            return kept;
        if (onlyKept)
            return null;
        var made = make();
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        // Written beside and renamed, so that an interrupted run leaves no half a result.
        File.WriteAllText(path + ".new", JsonSerializer.Serialize(made, Format) + "\n");
        File.Move(path + ".new", path, overwrite: true);
        return made;
    }
}
