using Google.OrTools.Sat;
using Incubation.Model;

namespace Incubation.Oracle;

/// <summary>
/// Rules 6 and 7 for readers: one tour visits each reader in turn and after it the cartridges that it takes, in order.
/// An arc between cartridges of different lots needs a card change between them.
/// </summary>
internal sealed class ReaderRules
{
    private readonly Modelling modelling;
    private readonly Problem problem;
    private readonly List<Course> visitors;
    private readonly List<Closed> closed;
    private readonly CircuitConstraint tour;
    private readonly Dictionary<(int From, int To), ILiteral> arcs = [];
    private readonly Dictionary<Course, ILiteral[]> which = [];
    private readonly Dictionary<Course, HandsTask> changes = [];

    public ReaderRules(Modelling modelling, Problem problem, IReadOnlyList<Course> courses)
    {
        this.modelling = modelling;
        this.problem = problem;
        visitors = [.. courses.Where(course => course.ComesToReader is not null)];
        closed = [.. problem.Calendar.Where(entry => entry.Resource == ResourceKind.Reader)];
        tour = modelling.Model.AddCircuit();
        AddCardChanges();
        AddReaders();
        AddFollowers();
        TieReaders();
        KeepCalendar();
        CountHolds();
        EachLotNeedsItsCard();
    }

    /// <summary>The card changes, as steps that need hands.</summary>
    public IEnumerable<HandsTask> Tasks => changes.Values;

    /// <summary>The card change before a cartridge, where there may be one.</summary>
    public HandsTask? ChangeFor(Course course) => changes.GetValueOrDefault(course);

    /// <summary>By reader, from 0, the cartridges that it holds, in order.</summary>
    public IEnumerable<IReadOnlyList<Course>> Sequences(CpSolver solver)
    {
        var next = arcs.Where(arc => solver.BooleanValue(arc.Value))
            .ToDictionary(arc => arc.Key.From, arc => arc.Key.To);
        for (var reader = 0; reader < problem.Readers; reader++)
        {
            var sequence = new List<Course>();
            for (var node = next[reader]; node > Terminus; node = next[node])
                sequence.Add(visitors[node - Terminus - 1]);
            yield return sequence;
        }
    }

    /// <summary>
    /// Hints the cartridges that each reader holds, in order, and when its card is changed before one, or null where it
    /// is not.
    /// </summary>
    public void Hint(IReadOnlyList<IReadOnlyList<Course>> sequences, Func<Course, long?> changeBefore)
    {
        var taken = new HashSet<(int, int)>();
        for (var reader = 0; reader < sequences.Count; reader++)
        {
            var node = reader;
            foreach (var course in sequences[reader])
            {
                taken.Add((node, NodeOf(course)));
                node = NodeOf(course);
                var change = changes.GetValueOrDefault(course);
                modelling.Hint(change?.Is, changeBefore(course) is not null);
                if (changeBefore(course) is { } start)
                    modelling.Hint(change?.Start, start);
                foreach (var (literal, k) in which.GetValueOrDefault(course, []).Select((literal, k) => (literal, k)))
                    modelling.Hint(literal, k == reader);
            }
            taken.Add((node, reader + 1));
        }
        var visited = taken.Select(arc => arc.Item1).ToHashSet();
        foreach (var (arc, literal) in arcs)
            modelling.Hint(literal, arc.From == arc.To ? !visited.Contains(arc.From) : taken.Contains(arc));
    }

    /// <summary>The node after the last reader: from here the tour returns to the first.</summary>
    private int Terminus => problem.Readers;

    private int NodeOf(Course course) => Terminus + 1 + visitors.IndexOf(course);

    private static bool IsNew(Course course) => course.HoldsReaderFrom is not null;

    private static LotCode LotOf(Course course) => course.Case.Request.Lot;

    private void AddCardChanges()
    {
        var cards = problem.CardIn.Concat(visitors.Select(course => (LotCode?)LotOf(course))).Distinct().ToList();
        foreach (var course in visitors.Where(IsNew).Where(_ => cards.Count > 1))
        {
            var start = modelling.Int(problem.Now, problem.Horizon - problem.CardChange, $"card {course.Case.Id}");
            var change = new HandsTask(start, problem.CardChange, modelling.Bool($"changes card {course.Case.Id}"));
            modelling.When(course.HoldsReaderFrom! >= start + problem.CardChange, change.Is);
            changes[course] = change;
        }
    }

    private void AddReaders()
    {
        Arc(Terminus, 0, modelling.True);
        for (var reader = 0; reader < problem.Readers; reader++)
        {
            Arc(reader, reader + 1, modelling.Bool($"reader {reader} unused"));
            foreach (var course in visitors)
            {
                var (node, isHere) = (NodeOf(course), course.Case.Reader == reader);
                Arc(node, reader + 1, modelling.Bool($"last {course.Case.Id} {reader}"));
                if (!IsNew(course) && !isHere)
                    continue;
                var first = Arc(reader, node, modelling.Bool($"first {course.Case.Id} {reader}"));
                if (IsNew(course))
                    Follows(first, course, problem.CardIn[reader], problem.ReaderFree[reader]);
                else
                    modelling.Model.AddBoolAnd([first]);
            }
        }
    }

    private void AddFollowers()
    {
        var incoming = visitors.ToDictionary(course => course, _ => new List<ILiteral>());
        foreach (var course in visitors.Where(course => course.ComesToReader != modelling.True))
            Arc(NodeOf(course), NodeOf(course), course.ComesToReader!.Not());
        foreach (var before in visitors)
        {
            foreach (var course in visitors.Where(course => course != before && IsNew(course)
                && !IsAfter(before, course)))
            {
                var arc = Arc(NodeOf(before), NodeOf(course),
                    modelling.Bool($"{before.Case.Id} then {course.Case.Id}"));
                Follows(arc, course, LotOf(before), before.HoldsReaderUntil!.Value.Expression);
            }
        }
        foreach (var (course, change) in changes)
        {
            var needing = arcs.Where(arc => arc.Key.To == NodeOf(course) && arc.Key.From != arc.Key.To
                && LotBefore(arc.Key.From) != LotOf(course));
            modelling.Model.Add(LinearExpr.Sum(needing.Select(arc => arc.Value)) == change.Is.AsExpr());
        }
    }

    private LotCode? LotBefore(int node) => node < Terminus
        ? problem.CardIn[node] : LotOf(visitors[node - Terminus - 1]);

    /// <summary>Whether one comes after another by order, and so never stands directly before it.</summary>
    private static bool IsAfter(Course course, Course other) => course.Case.After.Contains(other.Case.Index);

    private void Follows(ILiteral arc, Course course, LotCode? card, long free) =>
        Follows(arc, course, card, LinearExpr.Constant(free));

    private void Follows(ILiteral arc, Course course, LotCode? card, LinearExpr free)
    {
        if (card == LotOf(course))
        {
            modelling.When(course.HoldsReaderFrom! >= free, arc);
            return;
        }
        modelling.When(changes[course].Start >= free, arc);
        modelling.When(course.HoldsReaderFrom! >= free + problem.CardChange, arc);
    }

    /// <summary>Where readers differ in their calendars, it matters which one a cartridge comes to.</summary>
    private void TieReaders()
    {
        if (problem.Readers == 1 || closed.Count == 0)
            return;
        foreach (var course in visitors)
        {
            which[course] = [.. Enumerable.Range(0, problem.Readers)
                .Select(k => modelling.Bool($"reader {k} {course.Case.Id}"))];
            modelling.Model.Add(LinearExpr.Sum(which[course]) == course.ComesToReader!.AsExpr());
        }
        foreach (var ((from, to), arc) in arcs.Where(arc => arc.Key.To > Terminus && arc.Key.From != arc.Key.To
            && arc.Key.From != Terminus))
        {
            var course = visitors[to - Terminus - 1];
            for (var k = 0; k < problem.Readers; k++)
            {
                if (from < Terminus)
                    modelling.When(which[course][k].AsExpr() == (k == from ? 1 : 0), arc);
                else
                    modelling.When(which[course][k].AsExpr() == which[visitors[from - Terminus - 1]][k].AsExpr(), arc);
            }
        }
    }

    private void KeepCalendar()
    {
        foreach (var entry in closed)
        {
            foreach (var course in visitors.Where(IsNew))
            {
                var here = problem.Readers == 1 ? course.ComesToReader! : which[course][entry.Number];
                StaysOutOf(entry, course.HoldsReaderFrom!, course.HoldsReaderUntil!.Value.Expression, course.Case.Id,
                    here);
                if (ChangeFor(course) is { } change)
                    StaysOutOf(entry, change.Start, change.Start + change.Length, "card " + course.Case.Id, here,
                        change.Is);
            }
        }
    }

    private void StaysOutOf(Closed entry, IntVar from, LinearExpr until, string name, params ILiteral[] conditions)
    {
        var before = modelling.Bool($"{name} before {entry.From}");
        modelling.When(until <= entry.From, [before, .. conditions]);
        modelling.When(from < entry.From, [before, .. conditions]);
        modelling.When(from >= entry.To, [before.Not(), .. conditions]);
    }

    /// <summary>
    /// Follows from the tour, but tells the solver more at once: readers hold no more cartridges and card changes than
    /// there are readers.
    /// </summary>
    private void CountHolds()
    {
        var holds = visitors.Select(course =>
        {
            Moment from = course.HoldsReaderFrom is { } comes ? comes : Moment.At(problem.Now);
            return modelling.Stay(from, course.HoldsReaderUntil!.Value, course.ComesToReader!,
                $"holds {course.Case.Id}");
        }).Concat(changes.Values.Where(change => change.Length > 0).Select(change =>
            modelling.Model.NewOptionalFixedSizeIntervalVar(change.Start, change.Length, change.Is,
                change.Start.Name()))).ToList();
        if (problem.Readers == 1)
            modelling.Model.AddNoOverlap(holds);
        else
            modelling.Model.AddCumulative(problem.Readers).AddDemands(holds, holds.Select(_ => 1));
    }

    /// <summary>
    /// Follows from the tour, too: a lot that must be read and whose card is in no reader needs one change at least.
    /// </summary>
    private void EachLotNeedsItsCard()
    {
        var known = problem.CardIn.OfType<LotCode>().Concat(visitors.Where(course => !IsNew(course)).Select(LotOf))
            .ToHashSet();
        foreach (var lot in visitors.Where(IsNew).GroupBy(LotOf).Where(lot => !known.Contains(lot.Key)))
            if (lot.Any(course => course.ComesToReader == modelling.True))
                modelling.Model.Add(LinearExpr.Sum(lot.Select(course => changes[course].Is)) >= 1);
    }

    private ILiteral Arc(int from, int to, ILiteral literal)
    {
        tour.AddArc(from, to, literal);
        arcs[(from, to)] = literal;
        return literal;
    }
}
