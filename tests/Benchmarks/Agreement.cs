using Incubation.Exchange;
using Incubation.Model;
using Incubation.Oracle;
using Incubation.Planning;
using Incubation.Planning.Checking;
using Incubation.TestKit;
using NodaTime;

namespace Incubation.Benchmarks;

/// <summary>Compares the planner with the optimum that the solver proves, on random days of every feature.</summary>
internal static class Agreement
{
    private static readonly OracleOptions OneWorker = new(Duration.FromSeconds(120));

    /// <summary>Prints each day on which they differ; gives how many there were.</summary>
    /// <param name="count">How many days.</param>
    /// <param name="most">Up to so many requests a day.</param>
    /// <param name="firstSeed">The seed of the first day; the others follow.</param>
    /// <param name="iterations">The planner's budget a day.</param>
    /// <param name="directory">Where the days that differ are written with both plans, or null.</param>
    public static int Compare(int count, int most, ulong firstSeed, long iterations, string? directory)
    {
        var shape = DayShape.Any with { FewestRequests = 2, MaxRequests = most };
        int differ = 0, open = 0;
        for (var seed = firstSeed; seed < firstSeed + (ulong)count; seed++)
        {
            var day = RandomDays.Make(seed, shape);
            var oracle = Oracle.Oracle.Solve(day, OneWorker);
            var plan = Planner.Plan(day, 1, new IterationBudget(iterations)).Plan;
            if (!oracle.Proved)
            {
                open++;
                Console.WriteLine($"seed {seed}: the solver proved nothing in {oracle.Took.TotalSeconds:0} s");
                continue;
            }
            var faults = PlanChecker.Check(day, oracle.Plan!).Select(fault => "the solver's plan: " + fault.What)
                .Concat(PlanChecker.Check(day, plan).Select(fault => "the planner's plan: " + fault.What)).ToList();
            var (optimum, ours) = (PlanStatus.Of(day, oracle.Plan!), PlanStatus.Of(day, plan));
            if (ours.Against(optimum) != 0)
                faults.Add($"planner: {ours}; optimum: {optimum}");
            if (ours.FailsLike(optimum) && plan.Bound > optimum.Cost + 0.001)
                faults.Add($"the planner's bound {plan.Bound} lies above the optimum {optimum.Cost}");
            if (plan.Proved && ours.Against(optimum) > 0)
                faults.Add("the planner says that its plan is proved");
            differ += faults.Count > 0 ? 1 : 0;
            foreach (var fault in faults)
                Console.WriteLine($"seed {seed}: {fault}");
            if (faults.Count > 0 && directory is not null)
                Write(directory, seed, day, plan, oracle.Plan!);
        }
        Console.WriteLine(
            $"{count} days of up to {most} requests, seeds from {firstSeed}: {count - differ - open} agree, {differ} "
            + $"differ, {open} not proved by the solver");
        return differ;
    }

    private static void Write(string directory, ulong seed, BenchDay day, Plan ours, Plan optimum)
    {
        Directory.CreateDirectory(directory);
        File.WriteAllText(Path.Combine(directory, $"{seed}-day.json"), BenchDayFile.Write(day));
        File.WriteAllText(Path.Combine(directory, $"{seed}-planner.json"), PlanFile.Write(ours));
        File.WriteAllText(Path.Combine(directory, $"{seed}-optimum.json"), PlanFile.Write(optimum));
    }
}
