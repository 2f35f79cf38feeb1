using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>
/// How good a plan is, part by part, as plans of one day are judged; smaller is better, the first part that differs
/// decides.
/// </summary>
/// <param name="LostWithoutRepeat">Lost cartridges with no specimen left.</param>
/// <param name="LostUrgent">Lost urgent ones.</param>
/// <param name="LostPatients">Lost ones of patients.</param>
/// <param name="Lost">All lost ones.</param>
/// <param name="GuardUse">The sum by which reads start inside the guard.</param>
/// <param name="Unplaced">Requests left out.</param>
/// <param name="Cost">Rule 8, in seconds.</param>
public sealed record PlanStatus(
    int LostWithoutRepeat, int LostUrgent, int LostPatients, int Lost, Duration GuardUse, int Unplaced, double Cost)
{
    private const double CostTolerance = 0.0015; // costs are rounded to a millisecond

    /// <summary>Judges a valid plan.</summary>
    public static PlanStatus Of(BenchDay day, Plan plan)
    {
        ArgumentNullException.ThrowIfNull(day);
        ArgumentNullException.ThrowIfNull(plan);
        var requests = day.Requests.ToDictionary(request => request.Id);
        var lost = plan.Lost.Select(left => requests[left.Request]).ToList();
        var figures = PlanFigures.Of(day, plan);
        return new PlanStatus(
            lost.Count(request => !request.RepeatLeft), lost.Count(request => request.Priority == Priority.Urgent),
            lost.Count(request => request.Kind == RequestKind.Patient), lost.Count, figures.GuardUse,
                plan.Unplaced.Count, figures.Cost);
    }

    /// <summary>Whether two plans are equal but for their cost.</summary>
    public bool FailsLike(PlanStatus other)
    {
        ArgumentNullException.ThrowIfNull(other);
        return this with { Cost = 0 } == other with { Cost = 0 };
    }

    /// <summary>Below zero where this plan is better, above where the other is, zero where they are equal.</summary>
    public int Against(PlanStatus other)
    {
        ArgumentNullException.ThrowIfNull(other);
        var order = Failures.CompareTo(other.Failures);
        return order != 0 ? order : Math.Abs(Cost - other.Cost) <= CostTolerance ? 0 : Cost.CompareTo(other.Cost);
    }

    private (int, int, int, int, Duration, int) Failures =>
        (LostWithoutRepeat, LostUrgent, LostPatients, Lost, GuardUse, Unplaced);

    /// <inheritdoc/>
    public override string ToString() =>
        string.Create(System.Globalization.CultureInfo.InvariantCulture,
            $"lost {LostWithoutRepeat}/{LostUrgent}/{LostPatients}/{Lost}, guard {GuardUse.TotalSeconds} s, unplaced "
            + $"{Unplaced}, cost {Cost}");
}
