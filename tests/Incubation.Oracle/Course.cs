using Google.OrTools.Sat;

namespace Incubation.Oracle;

/// <summary>The solver's variables of one cartridge: rules 1 to 5.</summary>
internal sealed class Course
{
    private readonly Modelling modelling;
    private readonly Problem problem;

    public Course(Modelling modelling, Problem problem, Case its, bool mayBeUnplaced)
    {
        this.modelling = modelling;
        this.problem = problem;
        Case = its;
        IsCleared = its.Progress switch
        {
            Progress.NotBegun when !mayBeUnplaced => modelling.True,
            Progress.InReader => modelling.True,
            Progress.BeingDiscarded => modelling.False,
            _ => modelling.Bool($"cleared {its.Id}"),
        };
        switch (its.Progress)
        {
            case Progress.NotBegun: MixesAndLoads(); break;
            case Progress.Mixed: Loads(); break;
            case Progress.InSlot: Moves(); break;
            case Progress.BeingMoved: IsMoved(); break;
            case Progress.InReader: IsInReader(); break;
            case Progress.BeingDiscarded: DiscardEnd = LinearExpr.Constant(its.BegunEnds); break;
        }
    }

    public Case Case { get; }

    /// <summary>
    /// Whether the plan brings it to its clear; else it is lost where in work, and unplaced where not.
    /// </summary>
    public ILiteral IsCleared { get; }
    public ILiteral IsLeftOut => IsCleared.Not();

    public IntVar? Mix { get; private set; }
    public IntVar? Load { get; private set; }
    public IntVar? Move { get; private set; }
    public IntVar? Clear { get; private set; }
    public IntVar? Discard { get; private set; }
    public LinearExpr? ClearEnd { get; private set; }
    public LinearExpr? DiscardEnd { get; private set; }

    /// <summary>For a load that has not begun: whether it puts the cartridge in a slot, or in a reader.</summary>
    public ILiteral? IntoSlot { get; private set; }
    public ILiteral? IntoReader { get; private set; }

    /// <summary>The hold of a reader, where the cartridge comes to one or is in one.</summary>
    public IntVar? HoldsReaderFrom { get; private set; }
    public Moment? HoldsReaderUntil { get; private set; }

    /// <summary>Whether it comes to a reader, or is in one.</summary>
    public ILiteral? ComesToReader { get; private set; }

    /// <summary>By how much its read starts inside the guard, where it may.</summary>
    public IntVar? GuardUse { get; private set; }

    /// <summary>Every step that needs hands and has not begun, but for the card change.</summary>
    public List<HandsTask> Tasks { get; } = [];

    /// <summary>The step that begins at a variable of this cartridge.</summary>
    public HandsTask TaskAt(IntVar start) => Tasks.First(task => ReferenceEquals(task.Start, start));

    private void MixesAndLoads()
    {
        var earliest = Case.Earliest;
        Mix = Step("mix", earliest, Case.Mix, IsCleared);
        Loads();
        modelling.When(Load! >= Mix + Case.Mix, IsCleared);
        modelling.When(Load! <= Mix + (Case.MixShortest + Case.MixToLoad), IsCleared);
    }

    private void Loads()
    {
        Load = Step("load", Case.Earliest, Case.Load, IsCleared);
        if (Case.LoadBy is { } by)
            modelling.When(Load <= by - Case.Load, IsCleared);
        if (Case.InWork)
        {
            modelling.When(Load >= Math.Max(Case.MixEnd.To, problem.Now), IsCleared);
            modelling.When(Load <= Case.MixEnd.From + Case.MixToLoad, IsCleared);
            MayBeDiscarded();
        }

        ChoosePlace();
        Clear = Step("clear", problem.Now, Case.Clear, IsCleared);
        ClearEnd = Clear + Case.Clear;
        HoldsReaderUntil = new Moment(Clear, Case.Clear);
        ComesToReader = IsCleared;
        if (Case.MaySlot)
            MovesFromSlot(IntoSlot!);
        if (Case.MayReader)
            modelling.When(Clear >= Load + (Case.Load + Case.Incubation + Case.Read), IntoReader!);
        HoldsReaderFrom = (Case.MaySlot, Case.MayReader) switch
        {
            (true, true) => modelling.Int(problem.Now, problem.Horizon, $"reader from {Case.Id}"),
            (true, false) => Move,
            _ => Load,
        };
        if (Case.MaySlot && Case.MayReader)
        {
            modelling.When(HoldsReaderFrom! == Move!, IntoSlot!);
            modelling.When(HoldsReaderFrom! == Load, IntoReader!);
        }
    }

    private void ChoosePlace()
    {
        (IntoSlot, IntoReader) = (Case.MaySlot, Case.MayReader) switch
        {
            (true, true) => (modelling.Bool($"slot {Case.Id}"), (ILiteral)modelling.Bool($"reader {Case.Id}")),
            (true, false) => (IsCleared, modelling.False),
            (false, true) => (modelling.False, IsCleared),
            _ => (modelling.False, modelling.False),
        };
        if (Case.MaySlot && Case.MayReader)
            modelling.Model.Add(LinearExpr.Sum([IntoSlot, IntoReader]) == IsCleared.AsExpr());
        else if (!Case.MaySlot && !Case.MayReader)
            modelling.Model.AddBoolAnd([IsLeftOut]);
    }

    private void MovesFromSlot(ILiteral does)
    {
        Move = Step("move", problem.Now, Case.Move, does);
        modelling.When(Move + Case.Move >= Load! + (Case.Load + Math.Max(Case.Incubation, Case.Move)), does);
        modelling.When(Move + Case.Move <= Load! + (Case.LoadShortest + Case.Incubation + Case.Window - problem.Guard),
            does);
        modelling.When(Clear! >= Move + (Case.Move + Case.Read), does);
    }

    private void Moves()
    {
        Move = Step("move", Math.Max(problem.Now, Case.BegunEnds), Case.Move, IsCleared);
        modelling.When(Move + Case.Move >= Case.ReadMayStart.From, IsCleared);
        modelling.When(Move + Case.Move <= Case.ReadMayStart.To, IsCleared);
        Clear = Step("clear", problem.Now, Case.Clear, IsCleared);
        modelling.When(Clear >= Move + (Case.Move + Case.Read), IsCleared);
        ClearEnd = Clear + Case.Clear;
        HoldsReaderUntil = new Moment(Clear, Case.Clear);
        ComesToReader = IsCleared;
        HoldsReaderFrom = Move;
        GuardUse = modelling.Int(0, Math.Max(0, problem.Guard), $"guard {Case.Id}");
        modelling.When(GuardUse >= Move + (Case.Move + problem.Guard - Case.ReadMayStart.To), IsCleared);
        MayBeDiscarded();
    }

    private void IsMoved()
    {
        var read = Case.BegunEnds;
        if (read > Case.ReadMayStart.To || read < Case.ReadMayStart.From)
            modelling.Model.AddBoolAnd([IsLeftOut]);
        Clear = Step("clear", read + Case.Read, Case.Clear, IsCleared);
        ClearEnd = Clear + Case.Clear;
        GuardUse = modelling.Int(0, Math.Max(0, problem.Guard), $"guard {Case.Id}");
        modelling.When(GuardUse >= Math.Min(problem.Guard, read + problem.Guard - Case.ReadMayStart.To), IsCleared);
        MayBeDiscarded();
        var until = modelling.Int(problem.Now, problem.Horizon, $"reader until {Case.Id}");
        modelling.When(until == ClearEnd, IsCleared);
        modelling.When(until == DiscardEnd!, IsLeftOut);
        HoldsReaderUntil = until;
        ComesToReader = modelling.True;
    }

    private void IsInReader()
    {
        ComesToReader = modelling.True;
        if (Case.Begun?.Action is Model.StepAction.Clear)
        {
            ClearEnd = LinearExpr.Constant(Case.BegunEnds);
            HoldsReaderUntil = Moment.At(Case.BegunEnds);
            return;
        }
        Clear = Step("clear", Math.Max(problem.Now, Case.ReadRuns?.To ?? 0), Case.Clear, IsCleared);
        ClearEnd = Clear + Case.Clear;
        HoldsReaderUntil = new Moment(Clear, Case.Clear);
    }

    private void MayBeDiscarded()
    {
        Discard = Step("discard", Math.Max(problem.Now, Case.BegunEnds), Case.Clear, IsLeftOut);
        DiscardEnd = Discard + Case.Clear;
    }

    private IntVar Step(string name, long earliest, long length, ILiteral does)
    {
        var start = modelling.Int(earliest, problem.Horizon - length, $"{name} {Case.Id}");
        Tasks.Add(new HandsTask(start, length, does));
        return start;
    }
}
