using Google.OrTools.Sat;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Planning.Checking;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>Reads a plan from the solver's answer.</summary>
internal sealed class PlanReader(OracleModel model, CpSolver solver)
{
    private readonly Problem problem = model.Problem;
    private readonly List<(StepAction Action, long Start, HandsTask Task)> open = [];
    private readonly List<PlannedStep> steps = [];
    private readonly Dictionary<Course, SlotNumber> slotOf = [];
    private readonly Dictionary<Course, ReaderNumber> readerOf = [];

    /// <summary>The plan, with the bound and the proof that the solver gives.</summary>
    public Plan Read(double bound, bool proved)
    {
        ReadReaders();
        GiveSlots();
        ReadFacts();
        foreach (var course in model.Courses)
            ReadCourse(course);
        GiveHands();
        var lost = model.Courses.Where(course => course.Case.InWork && !Has(course.IsCleared));
        var unplaced = model.Courses.Where(course => !course.Case.InWork && !Has(course.IsCleared));
        var guardUsed = model.Courses.Where(course => Has(course.IsCleared) && UsesGuard(course));
        var plan = new Plan(
            [.. steps.OrderBy(step => step.Start).ThenBy(step => step.End)], 0, Duration.Zero, Duration.Zero, bound,
                proved,
            [.. guardUsed.Select(course => course.Case.Request.Id)],
            [.. unplaced.Select(course =>
                new LeftOut(course.Case.Request.Id, new LeftOutReason.InWords("the solver finds no place for it")))],
            [.. lost.Select(course =>
                new LeftOut(course.Case.Request.Id, new LeftOutReason.InWords("the solver cannot save it")))]);
        var figures = PlanFigures.Of(problem.Day, plan);
        return plan with
        {
            Cost = figures.Cost,
            Finish = figures.Finish,
            Late = figures.Late,
            Bound = Math.Min(bound, figures.Cost)
        };
    }

    private bool Has(ILiteral? literal) => literal is not null && solver.BooleanValue(literal);

    private bool UsesGuard(Course course) => course.Case.Progress switch
    {
        Progress.InSlot => solver.Value(course.Move!) + course.Case.Move > course.Case.ReadMayStart.To - problem.Guard,
        Progress.BeingMoved => course.Case.BegunEnds > course.Case.ReadMayStart.To - problem.Guard,
        _ => false,
    };

    private void ReadReaders()
    {
        var number = 0;
        foreach (var sequence in model.Readers.Sequences(solver))
        {
            var reader = new ReaderNumber(++number);
            foreach (var course in sequence)
            {
                readerOf[course] = reader;
                if (model.Readers.ChangeFor(course) is { } change && Has(change.Is))
                    open.Add((new StepAction.CardChange(reader, course.Case.Request.Lot), solver.Value(change.Start),
                        change));
            }
        }
    }

    /// <summary>Where any free slot will do, the first free one.</summary>
    private void GiveSlots()
    {
        var free = new long[problem.Slots];
        foreach (var course in model.Courses.Where(course => course.Case.Slot >= 0))
            free[course.Case.Slot] = Has(course.IsCleared)
                ? solver.Value(course.Move!) : solver.Value(course.DiscardEnd!);
        foreach (var course in model.Courses.Where(course => Has(course.IntoSlot))
            .OrderBy(course => solver.Value(course.Load!)).ThenBy(course => solver.Value(course.Move!)))
        {
            var (from, until) = (solver.Value(course.Load!), solver.Value(course.Move!));
            var slot = model.Slots.SlotOf(course, solver);
            if (slot < 0)
                slot = Math.Max(0, Array.FindIndex(free, end => end <= from));
            if (from < until)
                free[slot] = until;
            slotOf[course] = new SlotNumber(slot + 1);
        }
    }

    private void ReadFacts()
    {
        foreach (var step in problem.Day.MidRun?.Steps ?? [])
            steps.Add(new PlannedStep(step.Action, step.Hands, step.Start, problem.Grid.Instant(problem.EndOf(step))));
    }

    private void ReadCourse(Course course)
    {
        var (its, id) = (course.Case, course.Case.Request.Id);
        if (!Has(course.IsCleared))
        {
            Open(new StepAction.Discard(id), course, course.Discard);
            return;
        }
        var reader = readerOf[course];
        Open(new StepAction.Mix(id), course, course.Mix);
        if (course.Load is not null)
        {
            CartridgePlace place = Has(course.IntoReader)
                ? new CartridgePlace.InReader(reader) : new CartridgePlace.InSlot(slotOf[course]);
            Open(new StepAction.Load(id, place), course, course.Load);
        }
        if (course.Move is not null && !Has(course.IntoReader))
            Open(new StepAction.Move(id, reader), course, course.Move);
        if (ReadRuns(course) is { } read)
            steps.Add(new PlannedStep(new StepAction.Read(id, reader), null, problem.Grid.Instant(read.From),
                problem.Grid.Instant(read.To)));
        Open(new StepAction.Clear(id, reader), course, course.Clear);
    }

    private Span? ReadRuns(Course course)
    {
        var its = course.Case;
        if (its.Progress == Progress.InReader)
            return its.ReadRuns;
        var start = its.Progress == Progress.BeingMoved ? its.BegunEnds
            : Has(course.IntoReader) ? solver.Value(course.Load!) + its.Load + its.Incubation
            : solver.Value(course.Move!) + its.Move;
        return new Span(start, start + its.Read);
    }

    private void Open(StepAction action, Course course, IntVar? start)
    {
        if (start is not null)
            open.Add((action, solver.Value(start), course.TaskAt(start)));
    }

    /// <summary>Where any free pair of hands will do, the first free one.</summary>
    private void GiveHands()
    {
        var free = new long[problem.Hands];
        foreach (var step in problem.Day.MidRun?.Steps ?? [])
            free[step.Hands.Value - 1] = problem.EndOf(step);
        foreach (var (action, start, task) in open.OrderBy(step => step.Start).ThenBy(step => step.Task.Length))
        {
            var pair = model.Hands.PairOf(task, solver);
            if (pair < 0)
                pair = Math.Max(0, Array.FindIndex(free, end => end <= start));
            if (task.Length > 0)
                free[pair] = start + task.Length;
            steps.Add(new PlannedStep(action, new HandsNumber(pair + 1), problem.Grid.Instant(start),
                problem.Grid.Instant(start + task.Length)));
        }
    }
}
