using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>Gives the solver a plan to start from.</summary>
internal sealed class PlanHint
{
    private readonly OracleModel model;
    private readonly Problem problem;
    private readonly Plan plan;
    private readonly ILookup<RequestId, PlannedStep> rowsOf;
    private readonly HashSet<RequestId> leftOut;

    /// <summary>
    /// Requests that can change places stand in the model in one order only: whose rows each of them gets.
    /// </summary>
    private readonly Dictionary<Course, RequestId> sourceOf = [];

    public PlanHint(OracleModel model, Plan plan)
    {
        this.model = model;
        this.plan = plan;
        problem = model.Problem;
        rowsOf = plan.Steps.Where(step => step.Action.Subject is not null).ToLookup(step => step.Action.Subject!.Value);
        leftOut = [.. plan.Unplaced.Concat(plan.Lost).Select(left => left.Request)];
        foreach (var course in model.Courses)
            sourceOf[course] = course.Case.Request.Id;
        foreach (var group in model.Alike)
        {
            var sources = group.Select(course => course.Case.Request.Id).OrderBy(leftOut.Contains)
                .ThenBy(id => rowsOf[id].FirstOrDefault(row => row.Action is StepAction.Mix)?.Start ?? Instant.MaxValue)
                .ToList();
            foreach (var (course, source) in group.Zip(sources))
                sourceOf[course] = source;
        }
    }

    public void Give()
    {
        foreach (var course in model.Courses)
            GiveCourse(course);
        GiveReaders();
        model.Goal.Hint(course => IsCleared(course) ? Row<StepAction.Clear>(course) is { } row
            ? problem.Grid.Of(row.End) : null : null);
        model.Modelling.HintTheRest();
    }

    private bool IsCleared(Course course) => !leftOut.Contains(sourceOf[course]);

    private PlannedStep? Row<T>(Course course)
        where T : StepAction => rowsOf[sourceOf[course]].FirstOrDefault(row => row.Action is T);

    private void GiveCourse(Course course)
    {
        model.Modelling.Hint(course.IsCleared, IsCleared(course));
        GiveStep(course, course.Mix, Row<StepAction.Mix>(course));
        GiveStep(course, course.Load, Row<StepAction.Load>(course));
        GiveStep(course, course.Move, Row<StepAction.Move>(course));
        GiveStep(course, course.Clear, Row<StepAction.Clear>(course));
        GiveStep(course, course.Discard, Row<StepAction.Discard>(course));
        if (course.GuardUse is not null)
            model.Modelling.Hint(course.GuardUse, IsCleared(course) && Row<StepAction.Read>(course) is { } read
                ? Math.Max(0, problem.Grid.Of(read.Start) + problem.Guard - course.Case.ReadMayStart.To) : 0);
        if (course.Case.Progress == Progress.BeingMoved
            && (Row<StepAction.Clear>(course) ?? Row<StepAction.Discard>(course)) is { } last)
            model.Modelling.Hint(course.HoldsReaderUntil!.Value.Variable, problem.Grid.Of(last.End));
        if (Row<StepAction.Load>(course)?.Action is not StepAction.Load load || course.Load is null)
            return;
        model.Modelling.Hint(course.IntoSlot, load.Place is CartridgePlace.InSlot);
        model.Modelling.Hint(course.IntoReader, load.Place is CartridgePlace.InReader);
        if (load.Place is CartridgePlace.InSlot place)
            model.Slots.Hint(course, place.Slot.Value - 1);
    }

    private void GiveStep(Course course, Google.OrTools.Sat.IntVar? start, PlannedStep? row)
    {
        if (start is null || row is null)
            return;
        model.Modelling.Hint(start, problem.Grid.Of(row.Start));
        model.Hands.Hint(course.TaskAt(start), row.Hands!.Value.Value - 1);
    }

    private void GiveReaders()
    {
        var holds = new List<List<Course>>();
        var changeBefore = new Dictionary<Course, long>();
        for (var reader = 1; reader <= problem.Readers; reader++)
        {
            var number = new ReaderNumber(reader);
            var here = model.Courses.Where(course => course.ComesToReader is not null && ReaderOf(course) == number)
                .OrderBy(course => course.Case.Reader >= 0 ? Instant.MinValue : HoldOf(course)!.Start).ToList();
            holds.Add(here);
            var card = problem.CardIn[reader - 1];
            foreach (var course in here)
            {
                if (HoldOf(course) is { } hold && course.HoldsReaderFrom is { } from)
                {
                    model.Modelling.Hint(from, problem.Grid.Of(hold.Start));
                    if (card != course.Case.Request.Lot)
                        GiveChange(course, number, hold.Start, changeBefore);
                }
                card = course.Case.Request.Lot;
            }
        }
        model.Readers.Hint(holds, course => changeBefore.TryGetValue(course, out var start) ? start : null);
    }

    private void GiveChange(Course course, ReaderNumber reader, Instant by, Dictionary<Course, long> changeBefore)
    {
        var row = plan.Steps.LastOrDefault(step => step.Action is StepAction.CardChange change
            && change.Reader == reader && change.Lot == course.Case.Request.Lot && step.End <= by);
        if (row is null)
            return;
        changeBefore[course] = problem.Grid.Of(row.Start);
        if (model.Readers.ChangeFor(course) is { } change)
            model.Hands.Hint(change, row.Hands!.Value.Value - 1);
    }

    private ReaderNumber? ReaderOf(Course course) => course.Case.Reader >= 0
        && course.Case.Progress != Progress.BeingDiscarded
        ? new ReaderNumber(course.Case.Reader + 1)
        : IsCleared(course) ? Row<StepAction.Clear>(course)?.Action.NeedsReader : null;

    /// <summary>The row with which its hold of a reader begins.</summary>
    private PlannedStep? HoldOf(Course course) => Row<StepAction.Move>(course) ?? Row<StepAction.Load>(course);
}
