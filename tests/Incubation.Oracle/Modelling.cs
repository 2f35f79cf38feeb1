using Google.OrTools.Sat;

namespace Incubation.Oracle;

/// <summary>A step that needs hands, where the plan has it. One of no length occupies nothing.</summary>
/// <param name="Start">When it starts.</param>
/// <param name="Length">How long it takes.</param>
/// <param name="Is">Whether the plan has it.</param>
internal sealed record HandsTask(IntVar Start, long Length, ILiteral Is);

/// <summary>A variable instant and so much more, or an instant alone.</summary>
internal readonly record struct Moment(IntVar? Variable, long Plus)
{
    public LinearExpr Expression => Variable is null ? LinearExpr.Constant(Plus) : LinearExpr.Affine(Variable, 1, Plus);

    public static implicit operator Moment(IntVar variable) => new(variable, 0);

    public static Moment At(long instant) => new(null, instant);
}

/// <summary>
/// The solver's model under construction, with all its variables, so that a plan or an answer can be given back as a
/// hint.
/// </summary>
internal sealed class Modelling
{
    private readonly long horizon;
    private readonly List<(IntVar Length, Moment From, Moment Until, ILiteral Does)> stays = [];
    private readonly List<(IntVar Variable, long Least)> variables = [];
    private readonly List<BoolVar> choices = [];
    private readonly Dictionary<int, long> hinted = [];

    public Modelling(long horizon)
    {
        this.horizon = horizon;
        True = Model.TrueLiteral();
        False = Model.FalseLiteral();
    }

    public CpModel Model { get; } = new();
    public ILiteral True { get; }
    public ILiteral False { get; }

    public IntVar Int(long from, long to, string name)
    {
        // An empty domain would make the model invalid rather than the step impossible: an optional step is ruled out
        // by its constraints.
        var variable = Model.NewIntVar(from, Math.Max(from, to), name);
        variables.Add((variable, from));
        return variable;
    }

    public BoolVar Bool(string name)
    {
        var variable = Model.NewBoolVar(name);
        choices.Add(variable);
        return variable;
    }

    /// <summary>A constraint that holds where all conditions do.</summary>
    public void When(BoundedLinearExpression holds, params ILiteral[] conditions)
    {
        if (conditions.Contains(False))
            return;
        var constraint = Model.Add(holds);
        var open = conditions.Where(condition => condition != True).ToArray();
        if (open.Length > 0)
            constraint.OnlyEnforceIf(open);
    }

    /// <summary>A stay whose length is open; the solver wants a variable for it.</summary>
    public IntervalVar Stay(Moment from, Moment until, ILiteral does, string name)
    {
        var length = Model.NewIntVar(0, horizon, name);
        var isIn = Model.NewOptionalIntervalVar(from.Expression, length, until.Expression, does, name);
        When(length == 0, does.Not());
        stays.Add((length, from, until, does));
        return isIn;
    }

    /// <summary>Hints, each variable once.</summary>
    public void Hint(IntVar? variable, long value)
    {
        if (variable is not null && hinted.TryAdd(variable.GetIndex(), value))
            Model.AddHint(variable, value);
    }

    public void Hint(ILiteral? literal, bool value)
    {
        if (literal is BoolVar variable && hinted.TryAdd(variable.GetIndex(), value ? 1 : 0))
            Model.AddHint((ILiteral)variable, value);
    }

    /// <summary>
    /// Hints what follows from the hints given: the length of each stay, and anything for steps that the plan does not
    /// have. With a whole hint the solver starts at once.
    /// </summary>
    public void HintTheRest()
    {
        foreach (var (variable, least) in variables)
            Hint(variable, least);
        foreach (var stay in stays)
            Hint(stay.Length, Is(stay.Does) ? Math.Max(0, HintOf(stay.Until) - HintOf(stay.From)) : 0);
    }

    /// <summary>Hints everything that the last answer said.</summary>
    public void HintAnswer(CpSolver solver)
    {
        Model.ClearHints();
        foreach (var (variable, _) in variables)
            Model.AddHint(variable, solver.Value(variable));
        foreach (var choice in choices)
            Model.AddHint((ILiteral)choice, solver.BooleanValue(choice));
        foreach (var stay in stays)
            Model.AddHint(stay.Length, solver.BooleanValue(stay.Does)
                ? solver.Value(stay.Until.Expression) - solver.Value(stay.From.Expression) : 0);
    }

    private long HintOf(Moment moment) =>
        moment.Plus + (moment.Variable is { } variable ? hinted.GetValueOrDefault(variable.GetIndex()) : 0);

    /// <summary>
    /// Whether a literal is hinted to hold; one that is the negation of another has a negative index.
    /// </summary>
    private bool Is(ILiteral literal) =>
        literal == True
            || (literal.GetIndex() is var index
                && (index >= 0 ? hinted.GetValueOrDefault(index) == 1 : hinted.GetValueOrDefault(-index - 1) == 0));
}
