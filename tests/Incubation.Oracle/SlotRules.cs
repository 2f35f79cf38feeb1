using Google.OrTools.Sat;
using Incubation.Model;

namespace Incubation.Oracle;

/// <summary>
/// Rule 7 for slots: each holds one cartridge at a time, and takes none whose stay meets a time out of use.
/// </summary>
internal sealed class SlotRules
{
    private readonly Modelling modelling;
    private readonly Problem problem;
    private readonly List<Course> newStays;
    private readonly List<Closed> closed;
    private readonly Dictionary<Course, ILiteral[]> which = [];

    public SlotRules(Modelling modelling, Problem problem, IReadOnlyList<Course> courses)
    {
        this.modelling = modelling;
        this.problem = problem;
        newStays =
            [.. courses.Where(course => course.Case.Progress is Progress.NotBegun or Progress.Mixed
                && course.Case.MaySlot)];
        closed = [.. problem.Calendar.Where(entry => entry.Resource is ResourceKind.Slot or ResourceKind.Incubator)];
        var oldStays = courses.Where(course => course.Case.Slot >= 0).ToList();
        if (newStays.Count == 0)
            return;
        foreach (var entry in closed.Where(entry => entry.Resource == ResourceKind.Incubator))
            foreach (var course in newStays)
                StaysOutOf(entry, course, course.IntoSlot!);
        if (closed.Any(entry => entry.Resource == ResourceKind.Slot))
            EachSlot(oldStays);
        else if (newStays.Count + oldStays.Count > problem.Slots)
            AnySlot(oldStays);
    }

    /// <summary>
    /// The slot of a new stay, from 0; -1 where any free one will do. Then, and only then, none is out of use alone.
    /// </summary>
    public int SlotOf(Course course, CpSolver solver) =>
        which.TryGetValue(course, out var slots) ? Array.FindIndex(slots, solver.BooleanValue) : -1;

    /// <summary>Hints a stay's slot.</summary>
    public void Hint(Course course, int slot)
    {
        if (which.TryGetValue(course, out var slots))
            for (var k = 0; k < slots.Length; k++)
                modelling.Hint(slots[k], k == slot);
    }

    private void AnySlot(List<Course> oldStays)
    {
        var counting = modelling.Model.AddCumulative(problem.Slots);
        foreach (var stay in oldStays.SelectMany(OldStay)
            .Concat(newStays.Select(course => NewStay(course, course.IntoSlot!))))
            counting.AddDemand(stay, 1);
    }

    private void EachSlot(List<Course> oldStays)
    {
        foreach (var course in newStays)
        {
            which[course] =
                [.. Enumerable.Range(0, problem.Slots).Select(k => modelling.Bool($"slot {k} {course.Case.Id}"))];
            modelling.Model.Add(LinearExpr.Sum(which[course]) == course.IntoSlot!.AsExpr());
        }
        for (var k = 0; k < problem.Slots; k++)
        {
            // A stay of no length occupies nothing, so this is counted, too.
            var counting = modelling.Model.AddCumulative(1);
            foreach (var stay in oldStays.Where(course => course.Case.Slot == k).SelectMany(OldStay))
                counting.AddDemand(stay, 1);
            foreach (var course in newStays)
                counting.AddDemand(NewStay(course, which[course][k]), 1);
            foreach (var entry in closed.Where(entry => entry.Resource == ResourceKind.Slot && entry.Number == k))
                foreach (var course in newStays)
                    StaysOutOf(entry, course, which[course][k]);
        }
    }

    private IntervalVar NewStay(Course course, ILiteral does) =>
        modelling.Stay(course.Load!, course.Move!, does, $"slot {course.Case.Id}");

    /// <summary>A cartridge that is in a slot now stays until its move, or until its discard has ended.</summary>
    private IEnumerable<IntervalVar> OldStay(Course course)
    {
        var now = Moment.At(problem.Now);
        if (course.Move is { } move)
            yield return modelling.Stay(now, move, course.IsCleared, $"slot {course.Case.Id}");
        yield return modelling.Stay(now, DiscardEnd(course), course.IsLeftOut, $"discarded from slot {course.Case.Id}");
    }

    private static Moment DiscardEnd(Course course) =>
        course.Discard is { } discard ? new Moment(discard, course.Case.Clear) : Moment.At(course.Case.BegunEnds);

    private void StaysOutOf(Closed entry, Course course, ILiteral does)
    {
        var before = modelling.Bool($"slot {course.Case.Id} before {entry.From}");
        modelling.When(course.Move! <= entry.From, before, does);
        modelling.When(course.Load! < entry.From, before, does);
        modelling.When(course.Load! >= entry.To, before.Not(), does);
    }
}
