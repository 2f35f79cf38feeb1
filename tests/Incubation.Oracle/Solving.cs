using System.Diagnostics;
using System.Globalization;
using Google.OrTools.Sat;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Oracle;

/// <summary>
/// One call of the oracle: builds the model, solves it for each part of the goal in turn, reads the plan.
/// </summary>
internal sealed class Solving
{
    private readonly Stopwatch watch = Stopwatch.StartNew();
    private readonly OracleOptions options;
    private readonly Problem problem;
    private readonly OracleModel model;
    private readonly List<Improvement> improvements = [];

    public Solving(Model.BenchDay day, OracleOptions options)
    {
        this.options = options;
        problem = new Problem(day);
        model = new OracleModel(problem);
    }

    public OracleResult Run()
    {
        if ((options.Hint ?? OneByOne.Of(problem)) is { } hint)
            new PlanHint(model, hint).Give();
        var fewestKnown = true;
        CpSolver? best = null;
        if (model.Goal.Failures is { } failures)
        {
            // Half of the time at most goes to what comes before the cost; mostly it is settled at once.
            best = Solve(failures, options.Limit.TotalSeconds / 2, null, out var isBest);
            if (best is null)
                return Result(null, 0, false);
            fewestKnown = isBest;
            model.Modelling.Model.Add(failures <= (long)Math.Round(best.ObjectiveValue));
            // A hint that fails no more often stays the better start: its cost is what it was given for.
            if (options.Hint is not { } kept || !PlanStatus.Of(problem.Day, kept)
                .FailsLike(PlanStatus.Of(problem.Day, new PlanReader(model, best).Read(0, false))))
                model.Modelling.HintAnswer(best);
        }
        var scale = problem.Grid.SecondsPerUnit / model.Goal.CostScale;
        using var listener = new Listener(value =>
            improvements.Add(new Improvement(Duration.FromTimeSpan(watch.Elapsed), value * scale)));
        var solver = Solve(model.Goal.Cost, options.Limit.TotalSeconds - watch.Elapsed.TotalSeconds, listener,
            out var proved);
        if (solver is null)
            return Result(best is null ? null : new PlanReader(model, best).Read(0, false), 0, false);
        // The cost is a whole number of scaled units, so a bound between two of them counts as the upper one.
        var bound = fewestKnown ? Math.Ceiling(solver.BestObjectiveBound - 1e-6) * scale : 0;
        return Result(new PlanReader(model, solver).Read(bound, proved && fewestKnown), bound, proved && fewestKnown);
    }

    private OracleResult Result(Plan? plan, double bound, bool proved) =>
        new(plan, bound, proved, Duration.FromTimeSpan(watch.Elapsed), improvements);

    private CpSolver? Solve(LinearExpr goal, double seconds, Listener? listener, out bool isBest)
    {
        isBest = false;
        if (seconds <= 0)
            return null;
        model.Modelling.Model.Minimize(goal);
        var solver = new CpSolver
        {
            StringParameters = string.Create(CultureInfo.InvariantCulture,
                $"num_workers:{options.Workers},max_time_in_seconds:{seconds},random_seed:{options.Seed},"
                + $"{options.Parameters}").TrimEnd(','),
        };
        var status = solver.Solve(model.Modelling.Model, listener);
        isBest = status == CpSolverStatus.Optimal;
        return status switch
        {
            CpSolverStatus.Optimal or CpSolverStatus.Feasible => solver,
            CpSolverStatus.Unknown => null,
            CpSolverStatus.Infeasible =>
                throw new NotSupportedException(
                    "The solver finds that this day has no plan at all: its facts exclude each other."),
            _ =>
                throw new InvalidOperationException(
                    $"The solver refuses the model ({status}): {model.Modelling.Model.Validate()}"),
        };
    }

    private sealed class Listener(Action<double> better) : CpSolverSolutionCallback
    {
        public override void OnSolutionCallback() => better(ObjectiveValue());
    }
}
