using Incubation.Model;
using Incubation.Records.Reports;

namespace Incubation.Service.StepTimes;

/// <summary>What a batch comes to with the learned lengths.</summary>
/// <param name="Today">With the sheets of today.</param>
/// <param name="Each">With one step changed.</param>
/// <param name="All">With every step changed.</param>
public sealed record StepEffects(PlannedBatch Today, IReadOnlyList<(StepRecord Record, PlannedBatch Batch)> Each,
    PlannedBatch All)
{
    /// <summary>
    /// Plans the batch again for each step that the record says otherwise than its sheet, and for all of them.
    /// </summary>
    public static StepEffects Of(FullBatch batch, IReadOnlyList<StepRecord> records,
        IReadOnlyDictionary<AssayCode, Assay> sheets)
    {
        ArgumentNullException.ThrowIfNull(batch);
        ArgumentNullException.ThrowIfNull(sheets);
        var used = batch.Day.Assays.Select(assay => assay.Code).ToHashSet();
        var changed = records.Where(one => one.Differs && used.Contains(one.Assay)).ToList();
        var all = changed.GroupBy(one => one.Assay)
            .Select(group =>
                group.Aggregate(sheets[group.Key], (assay, one) => StepRecord.With(assay, one.Step, one.Learned)))
                .ToList();
        var today = batch.Plan();
        return new StepEffects(
            today,
                [.. changed.Select(one =>
                    (one, batch.Plan([StepRecord.With(sheets[one.Assay], one.Step, one.Learned)], today.Plan)))],
                    batch.Plan(all, today.Plan));
    }

    /// <summary>
    /// What changing one step comes to; null where it would not change, or the batch has no such assay.
    /// </summary>
    public PlannedBatch? Find(StepRecord record) => Each.FirstOrDefault(one => one.Record == record).Batch;
}
