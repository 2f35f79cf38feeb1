using System.Globalization;
using Incubation.Chart;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Model.Reports;
using Incubation.Records.Batches;
using Incubation.Records.Reports;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Reports;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.StepTimes;

/// <summary>One step of one assay as the page shows it.</summary>
/// <param name="Record">What the bench's record says.</param>
/// <param name="Name">The step in words.</param>
/// <param name="Finding">What is found, in a sentence.</param>
/// <param name="Sure">How sure that is.</param>
/// <param name="Effect">What taking the learned lengths over would do to a batch; null where nothing would
/// change.</param>
/// <param name="Chart">The recorded lengths as a histogram; null without any.</param>
/// <param name="DraftAddress">Where a draft of the assay begins with these lengths; null where nothing would
/// change.</param>
public sealed record StepView(StepRecord Record, string Name, string Finding, string Sure, string? Effect,
    string? Chart, string? DraftAddress);

/// <summary>The step times of a bench.</summary>
/// <param name="Bench">The bench that is shown; null where there is none.</param>
/// <param name="Assay">The assay whose steps are drawn; null where nothing is on record.</param>
/// <param name="Fault">What is wrong with what was asked for, or null.</param>
/// <param name="Days">How far back the record is read.</param>
/// <param name="Steps">The steps of that assay.</param>
/// <param name="Overview">Every step of every assay that was run on the bench.</param>
/// <param name="Effects">What a batch comes to with them; no rows where no batch can be planned again.</param>
/// <param name="Batch">The number of the batch that was planned again, or null.</param>
public sealed record StepTimeView(
    BenchId? Bench, AssayCode? Assay, string? Fault, int Days, IReadOnlyList<StepView> Steps, ReportTable Overview,
        ReportTable Effects, int? Batch)
{
    /// <summary>Nothing to show.</summary>
    public static StepTimeView Nothing(BenchId? bench, string? fault) =>
        new(bench, null, fault, StepTimeService.Days, [], StepTables.NoOverview, StepTables.NoEffects, null);
}

/// <summary>How long steps may take on a bench, whatever the assay.</summary>
/// <param name="Bench">The bench's name.</param>
/// <param name="Allowed">By step, as a sheet names its field: the longest that the record of any assay says.</param>
public sealed record UsualTimes(string Bench, IReadOnlyDictionary<string, Duration?> Allowed);

/// <summary>Shows a bench's step times beside what its assays' sheets allow.</summary>
public sealed class StepTimeService(ReportProjection book, CartridgeProjection record, ClinicHost clinic,
    BenchClock clock)
{
    /// <summary>The record is read so many days back: people and their ways change.</summary>
    public const int Days = 180;

    /// <summary>A step that was recorded less often says nothing for other assays: half of what it says is its sheet's.
    /// </summary>
    private const int LeastForUsual = 20;

    /// <summary>What a form for a new assay can begin with; null where nothing is on record.</summary>
    /// <param name="actor">Who asks: of the bench of a tablet, else of the first.</param>
    public UsualTimes? Usual(Actor? actor)
    {
        if (clinic.Catalogue.Benches().FirstOrDefault(known => actor?.Bench is not { } own || known.Bench == own)
            is not { } found)
            return null;
        var often = Records(ByAssay(ScopeOf(found.Bench))).Where(one => one.Seconds.Count >= LeastForUsual).ToList();
        return often.Count == 0 ? null : new UsualTimes(found.Name, often.GroupBy(one => one.Step.ToString())
            .ToDictionary(steps => steps.Key, steps => (Duration?)steps.Max(one => one.Learned.Allowed)));
    }

    /// <summary>What the page shows.</summary>
    /// <param name="actor">Who asks.</param>
    /// <param name="bench">The bench as it was asked for; null for the first.</param>
    /// <param name="assay">The assay as it was asked for; null for the one with the most cartridges.</param>
    public StepTimeView Make(Actor? actor, string? bench, string? assay)
    {
        var benches = clinic.Catalogue.Benches();
        var wanted = actor?.Bench?.Value
            ?? (!string.IsNullOrEmpty(bench) ? bench : benches.Count > 0 ? benches[0].Bench.Value : null);
        if (benches.FirstOrDefault(known => known.Bench.Value == wanted) is not { } found)
            return StepTimeView.Nothing(null, wanted is null ? null : Say.Of(ReportsWords.FaultBench, wanted));
        var scope = ScopeOf(found.Bench);
        var byAssay = ByAssay(scope);
        if (byAssay.Count == 0)
            return StepTimeView.Nothing(found.Bench, null);
        var records = Records(byAssay);
        var shown = ReportPeriod.AssayOf(assay) ?? byAssay.MaxBy(pair => pair.Value.Count).Key;
        if (records.All(one => one.Assay != shown))
            return StepTimeView.Nothing(found.Bench, Say.Of(StepTimeWords.NotRun, shown, found.Name));
        var full = Fullest(scope);
        var sheets = records.Select(one => one.Assay).Distinct().ToDictionary(code => code, code => Sheet(code)!);
        var effects = full is null ? null : StepEffects.Of(full, records, sheets);
        return new StepTimeView(
            found.Bench, shown, null, Days,
            [.. records.Where(one => one.Assay == shown).Select(one => View(one, effects))],
            StepTables.Overview(records, NameOf), effects is null
                ? StepTables.NoEffects : StepTables.Effects(effects, NameOf), full?.Number);
    }

    private ReportScope ScopeOf(BenchId bench) =>
        new(clock.Now - Duration.FromDays(Days), clock.Now + Duration.FromDays(1), bench);

    private Dictionary<AssayCode, List<CartridgeTimes>> ByAssay(ReportScope scope) =>
        book.Count(scope) is 0 or > ReportProjection.MaxCartridges ? []
        : book.Cartridges(scope).Where(one => one.IsUsed).GroupBy(one => one.Assay)
            .ToDictionary(group => group.Key, group => group.ToList());

    private List<StepRecord> Records(Dictionary<AssayCode, List<CartridgeTimes>> byAssay) =>
    [
        .. byAssay.Keys.Select(code => Sheet(code)).OfType<Assay>()
            .OrderBy(sheet => sheet.Code.Value, StringComparer.Ordinal)
            .SelectMany(sheet => StepRecord.Of(sheet, byAssay[sheet.Code], version => Sheet(sheet.Code, version))),
    ];

    private static StepView View(StepRecord one, StepEffects? effects) => new(
        one, StepTables.NameOf(one.Step), Finding(one), Sure(one), effects?.Find(one) is { } effect
            ? Effect(effects.Today, effect) : null, Draw(one), one.Differs ? DraftAddress(one) : null);

    private static string Finding(StepRecord one)
    {
        if (one.Seconds.Count == 0)
            return StepTimeWords.FindingNone;
        var (now, learned) = (StepTables.Text(one.Sheet.Allowed), StepTables.Text(one.Learned.Allowed));
        var beyond = new Part(one.Beyond(one.Sheet.Allowed)!.Value);
        var allowed = one.Learned.Allowed == one.Sheet.Allowed ? Say.Of(StepTimeWords.FindingSame, now, beyond)
            : Say.Of(one.Learned.Allowed < one.Sheet.Allowed
                ? StepTimeWords.FindingShorter : StepTimeWords.FindingLonger, now, learned, beyond,
                new Part(one.Beyond(one.Learned.Allowed)!.Value));
        return !one.HasShortest || one.Learned.Shortest == one.Sheet.Shortest ? allowed
            : allowed + " " + Say.Of(StepTimeWords.FindingShortest, StepTables.Text(one.Sheet.Shortest),
                StepTables.Text(one.Learned.Shortest), new Part(one.Below(one.Sheet.Shortest)!.Value));
    }

    private static string Sure(StepRecord one)
    {
        var counted = Say.Counted(one.Seconds.Count, StepTimeWords.SureOne, StepTimeWords.SureMany)
            + (one.LeftOut == 0 ? "" : " " + Say.Counted(one.LeftOut, StepTimeWords.SureLeftOutOne,
                StepTimeWords.SureLeftOutMany));
        if (one.Seconds.Count == 0)
            return counted;
        var interval = one.Sureness switch
        {
            { Low: { } low, High: { } high } =>
                Say.Of(StepTimeWords.SureBetween, StepTables.Text(low), StepTables.Text(high)),
            { Low: { } low } => Say.Of(StepTimeWords.SureAbove, StepTables.Text(low)),
            _ => StepTimeWords.SureNot,
        };
        return $"{counted} {interval} {Say.Of(StepTimeWords.SureWeight, new Part(Math.Round(one.Weight, 2)))}";
    }

    private static string Effect(PlannedBatch today, PlannedBatch then)
    {
        var shorter = (today.Finish - then.Finish).TotalMinutes;
        var finish = Math.Abs(shorter) < 1 / 60.0 ? Say.Of(StepTimeWords.EffectSame, StepTables.Text(then.Finish))
            : Say.Of(shorter > 0 ? StepTimeWords.EffectEarlier : StepTimeWords.EffectLater,
                new Minutes(Math.Abs(shorter)), StepTables.Text(then.Finish), StepTables.Text(today.Finish));
        return finish + " " + (then.Unplaced == today.Unplaced
            ? StepTimeWords.EffectNoneLost
            : Say.Of(then.Unplaced == 1 ? StepTimeWords.EffectLostOne : StepTimeWords.EffectLost, then.Unplaced,
                today.Unplaced));
    }

    private static string? Draw(StepRecord one)
    {
        if (one.Seconds.Count == 0)
            return null;
        const int Classes = 24;
        var reach = Math.Max(one.Seconds[^1],
            Math.Max(one.Sheet.Allowed.TotalSeconds, one.Learned.Allowed.TotalSeconds) * 1.1);
        var width = Math.Max(1, Math.Ceiling(reach / Classes));
        var histogram = Histogram.Of(one.Seconds, 0, width, Classes);
        string Whole(double seconds) => seconds.ToString("0", CultureInfo.InvariantCulture);
        ColumnMark Mark(Duration at, string words) =>
            new(at.TotalSeconds / histogram.To, Say.Of(words, StepTables.Text(at)));
        List<ColumnMark> marks = [Mark(one.Sheet.Allowed, StepTimeWords.MarkAllowed),
            Mark(one.Learned.Allowed, StepTimeWords.MarkLearned)];
        if (one.HasShortest)
            marks.AddRange([Mark(one.Sheet.Shortest, StepTimeWords.MarkShortest),
                Mark(one.Learned.Shortest, StepTimeWords.MarkShortestLearned)]);
        return ColumnChart.Render(
            "step-" + one.Step, Say.Of(StepTimeWords.ChartOf, StepTables.NameOf(one.Step), one.Assay),
            [.. histogram.Counts.Select((count, at) =>
                new Column(at % 2 == 0 ? Whole(at * width) : "", count,
                    Say.Of(StepTimeWords.ChartSays, Whole(at * width), Whole((at + 1) * width), count)))],
            StepTimeWords.AxisSeconds, StepTimeWords.UpSteps, marks, edges: true);
    }

    /// <summary>The form of a draft, begun with the learned lengths.</summary>
    private static string DraftAddress(StepRecord one)
    {
        var shortest = one.HasShortest ? $"&{one.Step}Shortest={SheetText(one.Learned.Shortest)}" : "";
        return $"assays/{Uri.EscapeDataString(one.Assay.Value)}/draft"
            + $"?{one.Step}={SheetText(one.Learned.Allowed)}{shortest}";
    }

    private static string SheetText(Duration length) => Uri.EscapeDataString(TypedLength.Format(length));

    private FullBatch? Fullest(ReportScope scope)
    {
        if (FullBatch.Pick(book.Batches(scope)) is not { } use || record.Batch(use.Bench, use.Batch) is not { } batch)
            return null;
        var full = FullBatch.Of(batch, use.From, code => Sheet(code));
        return full.Day.Requests.Count is 0 or > BenchDay.MaximumRequests ? null : full;
    }

    private Assay? Sheet(AssayCode code) => clinic.Log.Assays.Latest(code)?.Sheet.Assay;

    private Assay? Sheet(AssayCode code, int version) =>
        clinic.Log.Assays.Versions.GetValueOrDefault(code, []) is var versions && version >= 1
            && version <= versions.Length ? versions[version - 1].Sheet.Assay : null;

    private string NameOf(AssayCode code) => Sheet(code)?.Name ?? code.Value;
}
