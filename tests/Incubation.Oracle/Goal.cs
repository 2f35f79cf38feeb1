using Google.OrTools.Sat;

namespace Incubation.Oracle;

/// <summary>What is better: first losses, guard use and unplaced requests; then the cost of rule 8.</summary>
internal sealed class Goal
{
    private readonly Modelling modelling;
    private readonly Problem problem;
    private readonly IReadOnlyList<Course> courses;
    private readonly IntVar finish;
    private readonly Dictionary<Course, IntVar> late = [];
    private readonly Dictionary<Course, IntVar> waits = [];

    public Goal(Modelling modelling, Problem problem, IReadOnlyList<Course> courses)
    {
        this.modelling = modelling;
        this.problem = problem;
        this.courses = courses;
        finish = modelling.Int(0, problem.Horizon, "finish");
        CostScale = ScaleOf(problem.Day.Bench.WaitWeight);
        foreach (var course in courses.Where(course => course.ClearEnd is not null))
            Count(course);
        Cost = CostExpression();
        Failures = FailureExpression();
    }

    /// <summary>The cost, in units of the grid, times <see cref="CostScale"/>.</summary>
    public LinearExpr Cost { get; }

    /// <summary>Makes the weight of waiting a whole number.</summary>
    public long CostScale { get; }

    /// <summary>
    /// Losses, guard use and unplaced requests in one number that keeps their order; null where there can be none.
    /// </summary>
    public LinearExpr? Failures { get; }

    /// <summary>Hints the cost's own variables, given when each cartridge is cleared.</summary>
    public void Hint(Func<Course, long?> clearEnd)
    {
        modelling.Hint(finish, courses.Select(clearEnd).OfType<long>().DefaultIfEmpty(0).Max());
        foreach (var course in courses)
        {
            if (late.TryGetValue(course, out var lateness))
                modelling.Hint(lateness, clearEnd(course) is { } end ? Math.Max(0, end - course.Case.Due!.Value) : 0);
            if (waits.TryGetValue(course, out var wait))
                modelling.Hint(wait, clearEnd(course) is { } end ? end - course.Case.Ready : 0);
        }
    }

    private void Count(Course course)
    {
        var end = course.ClearEnd!;
        modelling.When(finish >= end, course.IsCleared);
        if (course.Case.Due is { } due)
        {
            late[course] = modelling.Int(0, problem.Horizon + Math.Max(0, -due), $"late {course.Case.Id}");
            modelling.When(late[course] >= end - due, course.IsCleared);
        }
        if (problem.Day.Bench.WaitWeight != 0)
        {
            waits[course] = modelling.Int(0, problem.Horizon, $"waits {course.Case.Id}");
            modelling.When(waits[course] >= end - course.Case.Ready, course.IsCleared);
        }
    }

    private LinearExpr CostExpression()
    {
        var wait = (long)Math.Round(problem.Day.Bench.WaitWeight * CostScale);
        return LinearExpr.WeightedSum(
            [finish, .. late.Values, .. waits.Values],
            [CostScale, .. late.Keys.Select(course => CostScale * (course.Case.IsUrgent ? 10 : 1)),
                .. waits.Select(_ => wait)]);
    }

    private LinearExpr? FailureExpression()
    {
        var losable = courses.Where(course => course.Case.MayBeLost).ToList();
        var placeable = courses.Where(course => !course.Case.InWork && course.IsCleared != modelling.True).ToList();
        var guard = courses.Select(course => course.GuardUse).OfType<IntVar>().ToList();
        if (losable.Count + placeable.Count + guard.Count == 0)
            return null;
        long loss = losable.Count + 1, unplaced = placeable.Count
            + 1, guardUse = (Math.Max(0, problem.Guard) * guard.Count) + 1;
        var weights = losable.Select(course =>
            checked((((((((course.Case.Request.RepeatLeft ? 0 : loss) + (course.Case.IsUrgent ? 1 : 0)) * loss)
                + (course.Case.Request.Kind == Model.RequestKind.Patient ? 1 : 0)) * loss)
                + 1) * guardUse) * unplaced));
        return LinearExpr.WeightedSum(
            [.. losable.Select(course => course.IsLeftOut.AsExpr()), .. guard,
                .. placeable.Select(course => course.IsLeftOut.AsExpr())],
            [.. weights, .. guard.Select(_ => unplaced), .. placeable.Select(_ => 1L)]);
    }

    private static long ScaleOf(double weight)
    {
        foreach (var scale in (long[])[1, 2, 4, 5, 10, 20, 25, 50, 100, 1000, 10_000])
            if (Math.Abs((weight * scale) - Math.Round(weight * scale)) < 1e-9)
                return scale;
        return 100_000;
    }
}
