using Incubation.Model;
using Incubation.Planning.Timing;
using NodaTime;

namespace Incubation.Planning;

/// <summary>
/// How much later than planned a step may begin, everything after it pushed in the plan's order, before a rule breaks.
/// </summary>
/// <param name="Step">The planned step.</param>
/// <param name="Spare">
/// The most that it may begin later, the read guard left untouched; zero for a step in progress;
/// <see cref="Unlimited"/> where nothing ever breaks. A read has the spare of the step that starts it.
/// </param>
/// <param name="ToWindowClose">For a move: from its planned read's start to the true close of the window; else
/// null.</param>
public sealed record StepSpare(PlannedStep Step, Duration Spare, Duration? ToWindowClose)
{
    /// <summary>The spare time of a step that may begin at any later time.</summary>
    public static Duration Unlimited => Duration.MaxValue;
}

/// <summary>Re-times a plan in its own order.</summary>
public static class PlanTiming
{
    /// <summary>
    /// Pulls a plan as early as its own order allows from where the day stands now: ended rows dropped, begun rows at
    /// their true start. Null when the order cannot be kept without breaking a rule, or when a step would wait for
    /// hands that are away for hours, while others are there. Same order on every pair of hands, slot and reader.
    /// </summary>
    public static Plan? Retime(BenchDay day, Plan plan)
    {
        ArgumentNullException.ThrowIfNull(day);
        ArgumentNullException.ThrowIfNull(plan);
        var retimed = Retimer.Retime(KnownDay.Of(day), plan);
        return retimed is not null && KnownDay.Ends(day, retimed) && !WaitsForTheAbsent(day, retimed) ? retimed : null;
    }

    /// <summary>Whoever is away for so long is not waited for where others are there.</summary>
    private static readonly Duration LongAway = Duration.FromHours(8);

    private static bool WaitsForTheAbsent(BenchDay day, Plan plan)
    {
        var away = day.Calendar.Where(entry => entry.Resource is BenchResource.Hands && entry.From <= day.Now
            && entry.To >= day.Now + LongAway).ToList();
        return away.Count > 0
            && Enumerable.Range(1, day.Bench.Hands).Any(number => !day.Calendar.Any(entry => entry.From <= day.Now
                && day.Now < entry.To && entry.Resource.Includes(new BenchResource.Hands(new HandsNumber(number)))))
            && plan.Steps.Any(step => step.Hands is { } hands && away.Any(entry => step.Start >= entry.To
                && step.Start < entry.To + Duration.FromSeconds(1)
                && entry.Resource == new BenchResource.Hands(hands)));
    }

    /// <summary>The spare time of every step of a valid plan, in the plan's order.</summary>
    /// <param name="day">The day as it stands.</param>
    /// <param name="plan">A plan that is valid on it.</param>
    public static IReadOnlyList<StepSpare> Spare(BenchDay day, Plan plan)
    {
        ArgumentNullException.ThrowIfNull(plan);
        var facts = new DayFacts(KnownDay.Of(day));
        var reading = new OrderReading(facts, plan, guardIsKept: true);
        var known = new SpareTimes(reading.Network);
        return [.. plan.Steps.Select(row => SpareOf(facts, reading, known, row))];
    }

    private static StepSpare SpareOf(DayFacts facts, OrderReading reading, SpareTimes known, PlannedStep row)
    {
        var toClose = row.Action is StepAction.Move move && reading.CloseOf(move) is { } close
            ? facts.At(close) - row.End
            : (Duration?)null;
        return new StepSpare(row, reading.NodeOf(row) is { } node ? known.Of(node) : Duration.Zero, toClose);
    }
}
