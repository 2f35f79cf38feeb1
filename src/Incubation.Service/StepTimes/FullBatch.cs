using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using NodaTime;

namespace Incubation.Service.StepTimes;

/// <summary>What a plan of a batch comes to.</summary>
/// <param name="Finish">From its start to the last clear.</param>
/// <param name="Unplaced">Cartridges that no plan can place.</param>
/// <param name="Plan">The plan.</param>
public sealed record PlannedBatch(Duration Finish, int Unplaced, Plan Plan);

/// <summary>A batch of a bench, to be planned again with other step times.</summary>
/// <param name="Number">Its number.</param>
/// <param name="Started">When it was started.</param>
/// <param name="Day">Its requests at its start: nothing done yet.</param>
public sealed record FullBatch(int Number, Instant Started, BenchDay Day)
{
    /// <summary>Iterations of the first plan, counted and not timed: the same figures again tomorrow.</summary>
    private const int First = 60_000;

    /// <summary>
    /// Iterations of each plan that begins with another's order: what it gains or loses is the step's, not the
    /// search's.
    /// </summary>
    private const int Further = 40_000;

    /// <summary>A larger batch is planned too roughly for what a step takes to show.</summary>
    private const int MaxCartridges = 12;

    private const ulong Seed = 1;

    /// <summary>So many of the last batches are looked at.</summary>
    private const int Looked = 40;

    /// <summary>
    /// The fullest of the last batches that are no larger than can be planned finely, the newest of those alike: where
    /// step times matter most. Null where there is none.
    /// </summary>
    public static BatchUse? Pick(IReadOnlyList<BatchUse> batches)
    {
        ArgumentNullException.ThrowIfNull(batches);
        return batches.TakeLast(Looked).Where(one => one.Cartridges <= MaxCartridges)
            .OrderByDescending(one => one.Cartridges).ThenByDescending(one => one.From).FirstOrDefault();
    }

    /// <summary>
    /// The batch with the sheets of today, all of it there at its start: when requests came, and which were urgent,
    /// would hide what steps take.
    /// </summary>
    /// <param name="batch">As the record tells of it.</param>
    /// <param name="started">When it was started.</param>
    /// <param name="sheetOf">An assay as its sheet states it today; null where there is none any more.</param>
    public static FullBatch Of(BatchRecord batch, Instant started, Func<AssayCode, Assay?> sheetOf)
    {
        ArgumentNullException.ThrowIfNull(batch);
        var wanted = batch.State.Cartridges.Where(cartridge => cartridge.Stage is not CartridgeStage.Withdrawn)
            .Select(cartridge => cartridge.Wanted).ToList();
        var ids = wanted.Select(one => one.Request.Id).ToHashSet();
        // Whole seconds, as plans have them.
        var start = Instant.FromUnixTimeSeconds(started.ToUnixTimeSeconds());
        return new FullBatch(batch.Number, started, new BenchDay(
            start, batch.State.Setup,
            [.. wanted.DistinctBy(one => one.Assay.Code).Select(one => sheetOf(one.Assay.Code) ?? one.Assay)],
            [.. wanted.Select(one =>
                one.Request with { Ready = start, LoadBy = null, Due = null, Priority = Priority.Routine,
                    After = [.. one.Request.After.Where(ids.Contains)] })],
            [], null));
    }

    /// <summary>Plans it with the sheets of today.</summary>
    public PlannedBatch Plan()
    {
        var first = Planner.Plan(Day, Seed, new IterationBudget(First)).Plan;
        // As much further search as the others get.
        return Plan([], first);
    }

    /// <summary>Plans it with other assays in the place of those of the same code.</summary>
    /// <param name="changed">The others.</param>
    /// <param name="today">The plan with the sheets of today, whose order it begins with.</param>
    public PlannedBatch Plan(IReadOnlyCollection<Assay> changed, Plan today)
    {
        var day = Day with
        {
            Assays =
                [.. Day.Assays.Select(assay => changed.FirstOrDefault(other => other.Code == assay.Code) ?? assay)]
        };
        var plan = Planner.Plan(day, Seed, new IterationBudget(Further), PlanTiming.Retime(day, today) ?? today).Plan;
        return new PlannedBatch(plan.Finish, plan.Unplaced.Count, plan);
    }
}
