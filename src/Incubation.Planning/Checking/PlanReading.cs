using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Checking;

/// <summary>A row of the plan.</summary>
/// <param name="Index">Its place in the plan.</param>
/// <param name="Step">What the row says.</param>
/// <param name="Begun">Whether the day's state says that this step has begun, so that it is a fact.</param>
internal sealed record Row(int Index, PlannedStep Step, bool Begun)
{
    public Instant Start => Step.Start;
    public Instant End => Step.End;
    public Duration Length => Step.End - Step.Start;
}

/// <summary>A day and its plan side by side: each request with its rows, and the rows that no cartridge has.</summary>
internal sealed class PlanReading
{
    public PlanReading(BenchDay day, Plan plan)
    {
        Day = day;
        Plan = plan;
        NotKnown = new NotKnown(day);
        Rows = [.. plan.Steps.Select((step, index) => new Row(index, step, HasBegun(step)))];
        CardChanges = [.. Rows.Where(row => row.Step.Action is StepAction.CardChange)];
        var rowsOf = Rows.Where(row => row.Step.Action.Subject is not null)
            .ToLookup(row => row.Step.Action.Subject!.Value);
        var assays = day.Assays.ToDictionary(assay => assay.Key);
        var phases = (day.MidRun?.Cartridges ?? []).ToDictionary(cartridge => cartridge.Request);
        var inProgress = (day.MidRun?.Steps ?? []).Where(step => step.Action.Subject is not null)
            .ToDictionary(step => step.Action.Subject!.Value);
        var lost = plan.Lost.Select(left => left.Request).ToHashSet();
        var unplaced = plan.Unplaced.Select(left => left.Request).ToHashSet();
        Courses = [.. day.Requests.Select(request => new Course(
            request, assays[request.AssayKey], day.Now, phases.GetValueOrDefault(request.Id),
                inProgress.GetValueOrDefault(request.Id),
            [.. rowsOf[request.Id]], unplaced.Contains(request.Id), lost.Contains(request.Id),
            NotKnown.Concerns(request.Id) || NotKnown.Waiting.Contains(request.Id)))];
        ById = Courses.ToDictionary(course => course.Request.Id);
    }

    public BenchDay Day { get; }
    public Plan Plan { get; }
    public NotKnown NotKnown { get; }
    public Instant Now => Day.Now;
    public IReadOnlyList<Row> Rows { get; }
    public IReadOnlyList<Row> CardChanges { get; }
    public IReadOnlyList<Course> Courses { get; }
    public IReadOnlyDictionary<RequestId, Course> ById { get; }

    /// <summary>When a step in progress ends, for planning.</summary>
    public Instant PlannedEnd(StepInProgress step)
    {
        if (step.Action.Subject is not { } id)
            return Instant.Max(step.Start + Day.Bench.CardChange, Now);
        return ById[id].PlannedEnd(step);
    }

    /// <summary>
    /// Whether the state has begun this row and it is known: the same thing done to the same cartridge, or the very
    /// same card change.
    /// </summary>
    private bool HasBegun(PlannedStep row) => row.Action switch
    {
        StepAction.CardChange => (Day.MidRun?.Steps ?? []).Any(
            step => !step.Unknown && step.Action == row.Action && step.Hands == row.Hands && step.Start == row.Start),
        StepAction.Read read => (Day.MidRun?.Cartridges ?? []).Any(cartridge => cartridge.Request == read.Request
            && cartridge.Phase is CartridgePhase.Reading or CartridgePhase.Reacting { Place: CartridgePlace.InReader }),
        _ => (Day.MidRun?.Steps ?? []).Any(
            step => !step.Unknown && step.Action.GetType() == row.Action.GetType()
                && step.Action.Subject == row.Action.Subject),
    };
}
