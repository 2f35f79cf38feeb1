namespace Incubation.Oracle;

/// <summary>The whole problem as the solver's model.</summary>
internal sealed class OracleModel
{
    public OracleModel(Problem problem)
    {
        Problem = problem;
        Modelling = new Modelling(problem.Horizon);
        var mayBeUnplaced = MayBeUnplaced();
        Courses =
            [.. problem.Cases.Select(its => new Course(Modelling, problem, its, mayBeUnplaced.Contains(its.Index)))];
        Readers = new ReaderRules(Modelling, problem, Courses);
        Slots = new SlotRules(Modelling, problem, Courses);
        Hands = new HandsRules(Modelling, problem, [.. Courses.SelectMany(course => course.Tasks), .. Readers.Tasks]);
        KeepOrder();
        Alike = FindAlike();
        foreach (var group in Alike)
            foreach (var (one, next) in group.Zip(group.Skip(1)))
                LineUp(one, next);
        Goal = new Goal(Modelling, problem, Courses);
    }

    public Problem Problem { get; }
    public Modelling Modelling { get; }
    public IReadOnlyList<Course> Courses { get; }
    public ReaderRules Readers { get; }
    public SlotRules Slots { get; }
    public HandsRules Hands { get; }
    public Goal Goal { get; }

    /// <summary>
    /// Requests that can change places without a difference; the model mixes them in the order of the day's file.
    /// </summary>
    public IReadOnlyList<IReadOnlyList<Course>> Alike { get; }

    /// <summary>
    /// Only a last load time, a place that does not suit, or one of these before it can keep a request from being
    /// placed: everything else only delays it.
    /// </summary>
    private HashSet<int> MayBeUnplaced()
    {
        var found = Problem.Cases
            .Where(its => !its.InWork
                && (its.LoadBy is not null || !(its.MaySlot || its.MayReader)
                    || its.MixToLoad + its.MixShortest < its.Mix))
            .Select(its => its.Index).ToHashSet();
        for (var before = -1; before < found.Count;)
        {
            before = found.Count;
            found.UnionWith(Problem.Cases.Where(its => !its.InWork && its.After.Any(found.Contains))
                .Select(its => its.Index));
        }
        return found;
    }

    /// <summary>
    /// Rule 7: a mix starts no earlier than the end of the clears (or discards) of the requests that it comes after.
    /// </summary>
    private void KeepOrder()
    {
        foreach (var course in Courses.Where(course => course.Mix is not null))
        {
            foreach (var before in course.Case.After.Select(index => Courses[index]))
            {
                if (before.ClearEnd is { } cleared)
                    Modelling.When(course.Mix! >= cleared, course.IsCleared, before.IsCleared);
                if (before.DiscardEnd is { } discarded)
                    Modelling.When(course.Mix! >= discarded, course.IsCleared, before.IsLeftOut);
                else if (!before.Case.InWork && before.IsCleared != Modelling.True)
                    Modelling.Model.AddImplication(course.IsCleared, before.IsCleared);
            }
        }
    }

    private List<List<Course>> FindAlike()
    {
        var waitedFor = Problem.Cases.SelectMany(its => its.After).ToHashSet();
        var groups = new List<List<Course>>();
        foreach (var course in Courses.Where(course => !course.Case.InWork && !waitedFor.Contains(course.Case.Index)))
        {
            if (groups.FirstOrDefault(group => group[0].Case.IsLike(course.Case)) is { } group)
                group.Add(course);
            else
                groups.Add([course]);
        }
        return [.. groups.Where(group => group.Count > 1)];
    }

    private void LineUp(Course one, Course next)
    {
        if (next.IsCleared != Modelling.True)
            Modelling.Model.AddImplication(next.IsCleared, one.IsCleared);
        Modelling.When(one.Mix! <= next.Mix!, one.IsCleared, next.IsCleared);
    }
}
