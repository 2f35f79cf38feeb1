using Incubation.Model;
using Incubation.Records.Reports;
using Incubation.Service.Reports;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.StepTimes;

/// <summary>The tables of step times.</summary>
internal static class StepTables
{
    private static readonly IReadOnlyList<ReportColumn> OverviewColumns =
    [
        new(StepTimeWords.ColAssay, "assay", false), new(ReportsWords.ColStep, "step", false),
            new(ReportsWords.ColCount, "count"), new(StepTimeWords.ColLeftOut, "leftOut"),
        new(StepTimeWords.ColFifth, "fifthMinutes"), new(ReportsWords.Median, "medianMinutes"),
            new(StepTimeWords.ColNinetyFifth, "ninetyFifthMinutes"),
        new(StepTimeWords.ColAllowed, "allowedMinutes"), new(StepTimeWords.ColLearned, "learnedMinutes"),
            new(StepTimeWords.ColShortest, "shortestMinutes"),
            new(StepTimeWords.ColShortestLearned, "shortestLearnedMinutes"),
        new(StepTimeWords.ColBeyondNow, "beyondNow"), new(StepTimeWords.ColBeyondThen, "beyondThen"),
    ];

    private static readonly IReadOnlyList<ReportColumn> EffectColumns =
    [
        new(StepTimeWords.ColChanged, "changed", false), new(StepTimeWords.ColFinish, "finishMinutes"),
            new(StepTimeWords.ColEarlier, "earlierMinutes"),
        new(StepTimeWords.ColUnplaced, "notPlaced"),
    ];

    /// <summary>No step.</summary>
    public static ReportTable NoOverview { get; } = new(OverviewColumns, []);

    /// <summary>No plan.</summary>
    public static ReportTable NoEffects { get; } = new(EffectColumns, []);

    /// <summary>Every step of every assay.</summary>
    public static ReportTable Overview(IReadOnlyList<StepRecord> records, Func<AssayCode, string> nameOf) =>
        new(OverviewColumns, [.. records.Select(one => new object?[]
    {
        nameOf(one.Assay), NameOf(one.Step), one.Seconds.Count, one.LeftOut, At(one, 0.05), At(one, 0.5), At(one, 0.95),
        new Minutes(one.Sheet.Allowed.TotalMinutes), new Minutes(one.Learned.Allowed.TotalMinutes),
        one.HasShortest ? new Minutes(one.Sheet.Shortest.TotalMinutes) : null, one.HasShortest
            ? new Minutes(one.Learned.Shortest.TotalMinutes) : null,
        one.Beyond(one.Sheet.Allowed) is { } now ? new Part(now) : null, one.Beyond(one.Learned.Allowed) is { } then
            ? new Part(then) : null,
    })]);

    /// <summary>What a batch comes to with each step changed, and with all.</summary>
    public static ReportTable Effects(StepEffects effects, Func<AssayCode, string> nameOf) => new(EffectColumns,
    [
        Row(StepTimeWords.RowToday, effects.Today, effects.Today),
        .. effects.Each.Select(one => Row(Changed(one.Record, nameOf(one.Record.Assay)), one.Batch, effects.Today)),
        .. effects.Each.Count > 1 ? [Row(StepTimeWords.RowAll, effects.All, effects.Today)] : (object?[][])[],
    ]);

    /// <summary>A step in words.</summary>
    public static string NameOf(HandsStep step) => step switch
    {
        HandsStep.Mix => ReportsWords.StepMix,
        HandsStep.Load => ReportsWords.StepLoad,
        HandsStep.Move => ReportsWords.StepMove,
        _ => ReportsWords.StepClear,
    };

    /// <summary>A length as people read it.</summary>
    public static string Text(Duration length) => Say.Length(length);

    /// <summary>Seconds as people read them.</summary>
    public static string Text(double seconds) => Say.Length(Duration.FromSeconds(seconds));

    private static string Changed(StepRecord one, string assay) => Say.Of(
        one.HasShortest && one.Learned.Shortest != one.Sheet.Shortest
            ? StepTimeWords.RowChangedShortest : StepTimeWords.RowChanged,
        assay, NameOf(one.Step), Text(one.Sheet.Allowed), Text(one.Learned.Allowed), Text(one.Sheet.Shortest),
            Text(one.Learned.Shortest));

    private static object? At(StepRecord one, double part) => one.Seconds.Count == 0
        ? null : new Minutes(Percentile.Of(one.Seconds, part) / 60);

    private static object?[] Row(string name, PlannedBatch batch, PlannedBatch today) =>
        [name, new Minutes(batch.Finish.TotalMinutes), new Minutes((today.Finish - batch.Finish).TotalMinutes),
            batch.Unplaced];
}
