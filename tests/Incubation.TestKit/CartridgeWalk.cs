using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.TestKit;

/// <summary>One cartridge played through its rows of a plan up to an instant.</summary>
internal sealed class CartridgeWalk
{
    private readonly BenchDay _day;
    private readonly Assay _assay;
    private readonly Instant _now;
    private readonly SeededRandom _random;
    private readonly StepInProgress? _before;
    private readonly List<PlannedStep> _planned;
    private readonly List<PlannedStep> _rows;

    public CartridgeWalk(BenchDay day, Plan plan, Request request, Instant now, SeededRandom random)
    {
        (_day, _now, _random, Request) = (day, now, random, request);
        _assay = day.Assays.Single(assay => assay.Code == request.Assay);
        _before = day.MidRun?.Steps.SingleOrDefault(step => step.Action.Subject == request.Id);
        Phase = day.MidRun?.Cartridges.SingleOrDefault(cartridge => cartridge.Request == request.Id)?.Phase;
        _planned = [.. plan.Steps.Where(step => step.Action.Subject == request.Id)];
        _rows = [.. _planned];
        Walk();
    }

    public Request Request { get; }

    /// <summary>Its phase at the end of the walk.</summary>
    public CartridgePhase? Phase { get; private set; }

    /// <summary>The step in progress on it at the end of the walk, or null.</summary>
    public StepInProgress? Step { get; private set; }

    /// <summary>Whether it has been cleared or discarded.</summary>
    public bool IsGone { get; private set; }

    /// <summary>Its rows as they stand.</summary>
    public IReadOnlyList<PlannedStep> Rows => _rows;

    /// <summary>Whether its read, not yet begun, starts inside the guard of what is known of its window.</summary>
    public bool UsesGuard
    {
        get
        {
            var read = _rows.Find(row => row.Action is StepAction.Read);
            var isLoading = Step?.Action is StepAction.Load { Place: CartridgePlace.InSlot };
            Instant? earliest = Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot } reacting
                ? reacting.LoadEnd.Earliest
                : isLoading ? Instant.Max(Step!.Start + _assay.LoadShortest, _now) : null;
            return read is not null && earliest is { } end
                && read.Start > end + _assay.Incubation + _assay.ReadWindow - _day.Bench.ReadGuard;
        }
    }

    private void Walk()
    {
        if (HandsStep<StepAction.Mix>(_assay.MixShortest, _assay.Mix) is { } mix
            && !Ends(mix, end => Phase = new CartridgePhase.Mixed(end)))
            return;
        if (HandsStep<StepAction.Load>(_assay.LoadShortest, _assay.Load) is { } load
            && !Ends(load, end => Phase = new CartridgePhase.Reacting(end, ((StepAction.Load)load.Row.Action).Place)))
            return;
        if (HandsStep<StepAction.Move>(Duration.Zero, _assay.Move) is { } move
            && !Ends(HeldUntilOpening(move), ReadStarts))
            return;
        if (HandsStep<StepAction.Discard>(Duration.Zero, _assay.Clear) is { } discard)
        {
            IsGone = Ends(discard, _ => { });
            return;
        }
        Reads();
        if (HandsStep<StepAction.Clear>(Duration.Zero, _assay.Clear) is not { } clear)
            return;
        if (Phase is CartridgePhase.Reading reading)
            Phase = new CartridgePhase.Read(reading.Reader);
        _rows.RemoveAll(row => row.Action is StepAction.Read);
        IsGone = Ends(clear, _ => { });
    }

    /// <summary>
    /// A step that has begun, with the earliest and latest end that planning gives it; null where there is none, or not
    /// yet.
    /// </summary>
    private Begun? HandsStep<T>(Duration shortest, Duration allowed)
        where T : StepAction
    {
        if (_planned.Find(row => row.Action is T) is not { } row)
            return null;
        if (_before?.Action is T)
            return new Begun(row, Instant.Max(row.Start + shortest, _day.Now),
                Instant.Max(Instant.Max(row.Start + allowed, _day.Now), row.End),
                Instant.Max(row.Start + allowed, _now));
        return row.Start < _now
            ? new Begun(row, row.Start + shortest, row.Start + allowed, Instant.Max(row.Start + allowed, _now)) : null;
    }

    /// <summary>Quick hands hold until the read may start.</summary>
    private Begun HeldUntilOpening(Begun move)
    {
        var opens = ((CartridgePhase.Reacting)Phase!).LoadEnd.Latest + _assay.Incubation;
        return move with
        { Earliest = Instant.Max(move.Earliest, opens), PlannedEnd = Instant.Max(move.PlannedEnd, opens) };
    }

    /// <summary>
    /// Draws when the step ends: by now, and then its row goes; or later, and then it is in progress.
    /// </summary>
    private bool Ends(Begun step, Action<InstantRange> then)
    {
        var end = PlanPlay.Draw(_random, step.Earliest, step.Latest);
        _rows.Remove(step.Row);
        if (end > _now)
        {
            Step = new StepInProgress(step.Row.Action, step.Row.Hands!.Value, step.Row.Start);
            _rows.Add(step.Row with { End = step.PlannedEnd });
            return false;
        }
        then(new InstantRange(PlanPlay.Draw(_random, step.Earliest, end),
            PlanPlay.Draw(_random, end, Instant.Min(step.Latest, _now))));
        return true;
    }

    private void ReadStarts(InstantRange moved)
    {
        var read = _planned.Single(row => row.Action is StepAction.Read);
        Phase = new CartridgePhase.Reading(read.Action.NeedsReader!.Value, moved.Earliest);
    }

    /// <summary>
    /// Whatever is known of the read: its true start, or inside the reader its latest one; reported as ended or not.
    /// </summary>
    private void Reads()
    {
        var planned = _planned.Find(row => row.Action is StepAction.Read);
        var start = Phase switch
        {
            CartridgePhase.Reading reading => reading.Start,
            CartridgePhase.Reacting { Place: CartridgePlace.InReader } reacting => reacting.LoadEnd.Latest
                + _assay.Incubation,
            _ => (Instant?)null,
        };
        if (start is not { } began)
            return;
        _rows.RemoveAll(row => row.Action is StepAction.Read);
        var reader = Phase is CartridgePhase.Reading known
            ? known.Reader : ((CartridgePlace.InReader)((CartridgePhase.Reacting)Phase!).Place).Reader;
        var isOver = began + _assay.Read <= _now;
        if (isOver && _random.Chance(0.5))
            Phase = new CartridgePhase.Read(reader);
        else if (!isOver || _random.Chance(0.5))
            _rows.Add(new PlannedStep(planned?.Action ?? new StepAction.Read(Request.Id, reader), null, began,
                Instant.Max(began + _assay.Read, _now)));
    }

    private sealed record Begun(PlannedStep Row, Instant Earliest, Instant Latest, Instant PlannedEnd);
}
