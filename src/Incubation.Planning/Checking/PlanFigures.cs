using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>
/// What a plan costs, worked out from its rows alone (rule 8). Requests that are lost or unplaced do not count.
/// </summary>
/// <param name="Cost">Seconds, to the millisecond; smaller is better.</param>
/// <param name="Finish">From the day's start to the latest clear's end; zero without a clear.</param>
/// <param name="Late">The unweighted sum by which due requests clear late.</param>
/// <param name="GuardUse">The sum by which reads start inside the read guard.</param>
/// <param name="CardChanges">How many card changes the plan lists.</param>
public sealed record PlanFigures(double Cost, Duration Finish, Duration Late, Duration GuardUse, int CardChanges)
{
    /// <summary>A second of lateness of an urgent request counts as so many.</summary>
    public const int UrgentFactor = 10;

    /// <summary>Works out the figures of a plan, whatever the plan says of itself.</summary>
    /// <param name="day">A day that does not contradict itself.</param>
    /// <param name="plan">Its plan.</param>
    public static PlanFigures Of(BenchDay day, Plan plan)
    {
        ArgumentNullException.ThrowIfNull(day);
        ArgumentNullException.ThrowIfNull(plan);
        return Of(new PlanReading(day, plan));
    }

    internal static PlanFigures Of(PlanReading plan)
    {
        Duration finish = Duration.Zero, late = Duration.Zero, weightedLate = Duration.Zero, waits = Duration.Zero;
        foreach (var course in plan.Courses)
        {
            if (course.Clear is not { End: var cleared } || course.IsLost || course.IsUnplaced)
                continue;
            finish = Duration.Max(finish, cleared - plan.Day.Start);
            waits += cleared - course.Request.EffectiveReady(plan.Day.Start);
            if (course.Request.EffectiveDue(plan.Day.Start) is { } due && cleared > due)
            {
                late += cleared - due;
                weightedLate += (cleared - due) * (course.Request.Priority == Priority.Urgent ? UrgentFactor : 1);
            }
        }
        var cost = (finish + weightedLate).TotalSeconds + (plan.Day.Bench.WaitWeight * waits.TotalSeconds);
        var guardUse = plan.Courses.Aggregate(Duration.Zero, (sum, course) => sum + GuardUseOf(course, plan.Day.Bench));
        return new PlanFigures(Math.Round(cost, 3, MidpointRounding.AwayFromZero), finish, late, guardUse,
            plan.CardChanges.Count);
    }

    /// <summary>
    /// By how much a read from a slot starts inside the guard, its load having begun by now; else zero.
    /// </summary>
    internal static Duration GuardUseOf(Course course, BenchSetup bench)
    {
        if (course.IsLost || !course.LoadHasBegun || course.Place is not CartridgePlace.InSlot)
            return Duration.Zero;
        if (course.Read is not { } read || course.WindowCloses is not { } closes)
            return Duration.Zero;
        return Duration.Max(Duration.Zero, read.Start - (closes - bench.ReadGuard));
    }
}
