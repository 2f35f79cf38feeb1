using Google.OrTools.Sat;

namespace Incubation.Oracle;

/// <summary>A step that needs hands, where the plan has it. One of no length occupies nothing.</summary>
/// <param name="Start">When it starts.</param>
/// <param name="Length">How long it takes.</param>
/// <param name="Is">Whether the plan has it.</param>
internal sealed record HandsTask(IntVar Start, long Length, ILiteral Is);

/// <summary>The solver's model under construction, with all its variables, so that a plan or an answer can be given back as a hint.</summary>
internal sealed class Modelling
{
    private readonly long horizon;
    private readonly List<(IntVar Length, LinearExpr From, LinearExpr Until, ILiteral Does)> stays = [];
    private readonly List<IntVar> variables = [];
    private readonly HashSet<int> hinted = [];

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
        // An empty domain would make the model invalid rather than the step impossible: an optional step is ruled out by its constraints.
        var variable = Model.NewIntVar(from, Math.Max(from, to), name);
        variables.Add(variable);
        return variable;
    }

    public BoolVar Bool(string name)
    {
        var variable = Model.NewBoolVar(name);
        variables.Add(variable);
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
    public IntervalVar Stay(LinearExpr from, LinearExpr until, ILiteral does, string name)
    {
        var length = Model.NewIntVar(0, horizon, name);
        var isIn = Model.NewOptionalIntervalVar(from, length, until, does, name);
        When(length == 0, does.Not());
        stays.Add((length, from, until, does));
        return isIn;
    }

    /// <summary>Hints, each variable once.</summary>
    public void Hint(IntVar? variable, long value)
    {
        if (variable is not null && hinted.Add(variable.GetIndex()))
            Model.AddHint(variable, value);
    }

    public void Hint(ILiteral? literal, bool value)
    {
        if (literal is BoolVar variable && hinted.Add(variable.GetIndex()))
            Model.AddHint((ILiteral)variable, value);
    }

    /// <summary>Hints everything that the last answer said.</summary>
    public void HintAnswer(CpSolver solver)
    {
        Model.ClearHints();
        foreach (var variable in variables)
            Model.AddHint(variable, solver.Value(variable));
        foreach (var stay in stays)
            Model.AddHint(stay.Length, solver.BooleanValue(stay.Does) ? solver.Value(stay.Until) - solver.Value(stay.From) : 0);
    }
}
