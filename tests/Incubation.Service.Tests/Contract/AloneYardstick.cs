using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using NodaTime;

namespace Incubation.Service.Tests.Contract;

/// <summary>
/// How far a screen without its server has to go, by the server's own core: the adopted plan without new mixes,
/// re-timed in its own order by <see cref="PlanTiming.Retime"/> after each report, and without as few cartridges as
/// possible where its order cannot be kept for all.
/// </summary>
internal sealed partial class AloneYardstick
{
    private readonly PersonId aide = new("aide");
    private readonly Dictionary<RequestId, List<RemainingStep>> aside = [];
    private Instant present;
    private Instant heard;
    private int said;

    /// <summary>The bench at the instant from which it is alone.</summary>
    public AloneYardstick(BenchState state, Instant since)
    {
        State = state;
        present = since;
        heard = since;
        foreach (var step in state.NotKnown)
            aside[step.Action.Subject!.Value] = [.. step.Planned.Where(row => row.Step.Hands is not null)];
        var mixing = LiveBench.Problem(state, since).MidRun!.Steps.Select(step => step.Action).OfType<StepAction.Mix>()
            .Select(mix => mix.Request).ToHashSet();
        mixing.UnionWith(state.NotKnown.Select(step => step.Action.Subject!.Value));
        foreach (var waiting in state.Cartridges.Where(one => one.Stage is CartridgeStage.Waiting
            && !mixing.Contains(one.Id)).ToList())
            Tell(new BenchCommand.WithdrawRequest(waiting.Id), since, since);
        Adopt(since);
    }

    private AloneYardstick(BenchState state, Instant present, Instant heard, int said,
        Dictionary<RequestId, List<RemainingStep>> aside)
    {
        State = state;
        this.present = present;
        this.heard = heard;
        this.said = said;
        this.aside = new Dictionary<RequestId, List<RemainingStep>>(aside);
    }

    /// <summary>The bench as it is believed, with the rows that are followed.</summary>
    public BenchState State { get; private set; }

    private AdoptedPlan Adopted => State.Adopted!;

    /// <summary>Steps of which nobody knows whether they were done, at an instant.</summary>
    public IReadOnlyList<UnknownStep> NotKnown(Instant now) => Until(now).State.NotKnown;

    /// <summary>Tells a report, and follows the rows as re-timed from then on.</summary>
    /// <param name="report">What was tapped.</param>
    /// <param name="at">The time that it states.</param>
    /// <param name="tapped">When it was tapped.</param>
    public void Report(BenchCommand report, Instant at, Instant tapped)
    {
        tapped = Instant.Max(present, tapped);
        NoteUntil(tapped);
        report = AsReport(report);
        // What was planned for a cartridge goes on as soon as it is known how far it has come.
        var subject = report switch
        {
            BenchCommand.AnswerQuestion answer => new RequestId(answer.Question.Of),
            BenchCommand.Mixed told => told.Request,
            BenchCommand.Loaded told => told.Request,
            BenchCommand.ReadStarted told => told.Request,
            BenchCommand.Cleared told => told.Request,
            BenchCommand.Discarded told => told.Request,
            _ => (RequestId?)null,
        };
        var came = subject is { } known && aside.Remove(known, out var rows) ? rows : null;
        if (came is not null)
            State = With(State, [.. Adopted.Remaining, .. GoingOn(came, report, at, tapped)]);
        Tell(report, at, tapped);
        present = tapped;
        Adopt(tapped, came is null ? null : subject);
    }

    /// <summary>What is to be offered at an instant.</summary>
    public IReadOnlyList<Offer> Offers(Instant now)
    {
        var then = Until(now);
        var (course, _) = then.Follow(now);
        return
        [
            .. LiveBench.Offers(With(then.State, course.Rows))
                .Where(offer => offer.MayBegin < now + Duration.FromHours(24)).OrderBy(offer => offer.Hands.Value),
        ];
    }

    /// <summary>The bench as it is believed at an instant, if nothing is reported until then.</summary>
    private AloneYardstick Until(Instant now)
    {
        var then = new AloneYardstick(State, present, heard, said, aside);
        then.NoteUntil(now);
        return then;
    }

    /// <summary>Notes the steps with which patience ends until an instant, one after the other.</summary>
    private void NoteUntil(Instant until)
    {
        while (Next(until) is var (row, at))
        {
            var action = row.Step.Action;
            if (action.Subject is { } subject)
                aside[subject] = [.. Adopted.Remaining.Where(one => one.Step.Action.Subject == subject)];
            Tell(new BenchCommand.NoteStepNotKnown(row.Step.Hands!.Value, action), at, at);
            // Nobody plans anew: the card is put in, whatever card is in.
            if (action is StepAction.CardChange)
                State = With(State, [.. Adopted.Remaining, row]);
            present = at;
            Adopt(at);
        }
    }

    /// <summary>What an answer says was done reports it.</summary>
    private BenchCommand AsReport(BenchCommand said)
    {
        if (said is not BenchCommand.AnswerQuestion { Answer: Answer.AtThatTime } answer || State.NotKnown
            .FirstOrDefault(step => new QuestionKey(QuestionKind.StepNotKnown, step.Action.Subject!.Value.Value)
                == answer.Question) is not { } step)
            return said;
        return step.Action switch
        {
            StepAction.Mix mix => new BenchCommand.Mixed(mix.Request, true),
            StepAction.Load load => new BenchCommand.Loaded(load.Request, load.Place, true),
            StepAction.Move move => new BenchCommand.ReadStarted(move.Request, move.Reader, true),
            StepAction.Clear clear => new BenchCommand.Cleared(clear.Request, clear.Reader),
            _ => new BenchCommand.Discarded(step.Action.Subject!.Value, DiscardReason.WindowClosed, null),
        };
    }

    /// <summary>
    /// The rows that were put aside for a cartridge, those after what was told later by as much as the first of them.
    /// </summary>
    private IEnumerable<RemainingStep> GoingOn(List<RemainingStep> rows, BenchCommand report, Instant at,
        Instant tapped)
    {
        var done = report switch
        {
            BenchCommand.Mixed => rows.FindIndex(row => row.Step.Action is StepAction.Mix),
            BenchCommand.Loaded => rows.FindIndex(row => row.Step.Action is StepAction.Load),
            BenchCommand.ReadStarted => rows.FindIndex(row => row.Step.Action is StepAction.Move),
            BenchCommand.Cleared => rows.FindIndex(row => row.Step.Action is StepAction.Clear),
            BenchCommand.Discarded => rows.FindIndex(row => row.Step.Action is StepAction.Discard),
            _ => -1,
        };
        Assay Of(RequestId request) => State.Find(request)!.Wanted.Assay;
        var next = report switch
        {
            BenchCommand.Loaded { Place: CartridgePlace.InReader } told =>
                at + Of(told.Request).Incubation + Of(told.Request).Read,
            BenchCommand.Loaded told => at + Of(told.Request).Incubation,
            BenchCommand.ReadStarted told => at + Of(told.Request).Read,
            BenchCommand.Cleared or BenchCommand.Discarded => at,
            _ => tapped,
        };
        var coming = rows.Skip(done + 1).ToList();
        var late = coming.Count == 0 ? Duration.Zero
            : Duration.Max(Duration.Zero, next - coming[0].Step.Start);
        bool IsAway(HandsNumber hands) => State.OutOfUse.Any(entry => entry.Resource == new BenchResource.Hands(hands)
            && entry.From <= tapped && tapped < entry.To);
        var there = State.Hands.Where(hands => !IsAway(hands)).ToList();
        return [.. rows.Take(done + 1), .. coming.Select(row => row with
        {
            Step = row.Step with
            {
                Hands = row.Step.Hands is { } its && IsAway(its) && there.Count > 0 ? there[0] : row.Step.Hands,
                Start = row.Step.Start + late, End = row.Step.End + late,
            },
        })];
    }

    private (RemainingStep Row, Instant At)? Next(Instant until) => State.Hands
        .Select(Adopted.NextOf).OfType<RemainingStep>()
        .Select(row => (Row: row, At: Due(row, until))).Where(one => one.At is not null)
        .OrderBy(one => one.At).Select(one => ((RemainingStep, Instant)?)(one.Row, one.At!.Value)).FirstOrDefault();

    private Instant? Due(RemainingStep row, Instant until)
    {
        var allowed = LiveBench.Offers(State).FirstOrDefault(offer => offer.Hands == row.Step.Hands);
        if (allowed is null)
            return null;
        var ends = allowed.PlannedEnd;
        if (allowed.Window is { } window)
            ends = Instant.Max(ends, window.Opens);
        // Nobody searches for what waiting would lose: patience ends no earlier than by its length.
        var due = Instant.Max(ends + StepPatience.Usual.With(row.Step.Action), present);
        bool IsDue(Instant at) => due <= at && at <= until
            && LiveBench.NotKnown(State, at, StepPatience.Usual).Any(note => note.Hands == row.Step.Hands);
        return IsDue(due) ? due : IsDue(until) ? until : null;
    }

    private void Tell(BenchCommand command, Instant at, Instant arrived)
    {
        heard = Instant.Max(heard, arrived);
        var provenance = new Provenance(new ReportId($"alone-{++said}"), at, heard, aide, new DeviceId("tablet"));
        if (LiveBench.Decide(State, command, provenance) is not Decision.Accepted accepted)
            throw new InvalidOperationException($"Refused: {command}");
        // Nobody plans anew: what silent hands have to do is not given to others, and so waits for no return.
        foreach (var entry in accepted.Entries(provenance).Where(entry =>
            entry.Event is not BenchEvent.PutOutOfUse))
            State = LiveBench.Apply(State, entry);
    }

    private void Adopt(Instant now, RequestId? came = null)
    {
        var (course, left) = Follow(now);
        if (left.Count > 0 && came is { } back && Placed(now, back, left) is { } elsewhere)
            (course, left) = elsewhere;
        // What is not mixed waits, and goes on where somebody says that it is.
        var inWork = InWork(now);
        foreach (var waiting in left.Where(one => !inWork.Contains(one)))
            aside[waiting] = [.. Adopted.Remaining.Where(row => row.Step.Action.Subject == waiting)];
        State = With(State, [.. course.Rows, .. Adopted.Remaining.Where(row => IsOf(left, row)
            && row.Step.Action.Subject is { } of && inWork.Contains(of))]);
    }

    /// <summary>What is mixed, or was begun to be before an instant.</summary>
    private HashSet<RequestId> InWork(Instant now) =>
    [
        .. LiveBench.Problem(State, now).MidRun!.Cartridges.Select(one => one.Request),
        .. Adopted.Remaining.Where(row => row.Step.Action is StepAction.Mix && HasBegunBefore(row, now))
            .Select(row => row.Step.Action.Subject!.Value),
    ];

    private (Course Course, HashSet<RequestId> Left) Follow(Instant now)
    {
        var (open, inWork) = (Open(now), InWork(now));
        foreach (var set in Sets(open, inWork))
        {
            var left = set.Select(one => one.Id).ToHashSet();
            if (Kept(left, now) is { } course)
                return (course, left);
        }

        var kept = open.Select(one => one.Id).ToHashSet();
        var best = Kept(kept, now) ?? new Course([]);
        foreach (var one in Enumerable.Reverse(open).OrderByDescending(one => LossOf([one], inWork)))
        {
            var fewer = kept.Where(id => id != one.Id).ToHashSet();
            if (Kept(fewer, now) is { } course)
                (best, kept) = (course, fewer);
        }

        return (best, kept);
    }

    /// <summary>What may be left aside; that of the latest next step first.</summary>
    private List<Request> Open(Instant now)
    {
        int Place(Request one) => Adopted.Remaining.ToList().FindIndex(row => row.Step.Action.Subject == one.Id) is
            >= 0 and var found ? found : int.MaxValue;
        return
        [
            .. LiveBench.Problem(State, now).Requests
                .Where(one => !State.NotKnown.Any(step => step.Action.Subject == one.Id)).OrderByDescending(Place),
        ];
    }

    /// <summary>
    /// Nothing, one or two that are left aside, the least loss first, and of equal losses that of the latest next step.
    /// </summary>
    private static IEnumerable<Request[]> Sets(List<Request> open, HashSet<RequestId> inWork) => open
        .Select(one => new[] { one })
        .Concat(open.SelectMany((one, i) => open.Skip(i + 1).Select(other => new[] { one, other })))
        .OrderBy(set => LossOf(set, inWork)).Prepend([]);

    /// <summary>What leaving some aside loses; what is not mixed is not lost by it.</summary>
    private static (int Spent, int Urgent, int Patients, int All) LossOf(IEnumerable<Request> set,
        HashSet<RequestId> inWork)
    {
        var lost = set.Where(one => inWork.Contains(one.Id)).ToList();
        return (lost.Count(one => !one.RepeatLeft), lost.Count(one => one.Priority == Priority.Urgent),
            lost.Count(one => one.Kind == RequestKind.Patient), lost.Count);
    }

    private Course? Keeping(HashSet<RequestId> left, Instant now)
    {
        // What nobody knows the place of is planned no more.
        var open = LiveBench.Problem(State, now).Requests.Select(one => one.Id).ToHashSet();
        var rows = Needed([.. Adopted.Remaining.Where(row => !IsOf(left, row)
            && (row.Step.Action.Subject is not { } subject || open.Contains(subject)))], now);
        if (rows.Any(row => IsStuck(left, row.Step.Action)))
            return null;
        var whole = LiveBench.Problem(With(State, rows), now);
        var run = whole.MidRun!;
        bool IsKept(RequestId? request) => request is not { } id || !left.Contains(id);
        var day = whole with
        {
            Requests = [.. whole.Requests.Where(request => IsKept(request.Id))],
            MidRun = run with
            {
                Steps = [.. run.Steps.Where(step => IsKept(step.Action.Subject))],
                Cartridges = [.. run.Cartridges.Where(cartridge => IsKept(cartridge.Request))],
            },
        };
        var plan = Adopted.Plan with
        {
            Steps = [.. rows.Select(row => row.Step)],
            Unplaced = [],
            Lost = [.. Adopted.Plan.Lost.Where(lost => IsKept(lost.Request))],
        };
        return PlanTiming.Retime(day, plan) is { } retimed
            ? new Course([.. PlanTiming.Spare(day, retimed).Where(spare => spare.Step.Hands is not null)
                .Select(spare => new RemainingStep(spare.Step,
                    spare.Spare < Duration.FromHours(24) ? spare.Spare : null))])
            : null;
    }

    private bool IsStuck(HashSet<RequestId> left, StepAction action) => action switch
    {
        StepAction.Load { Place: CartridgePlace.InSlot at } =>
            State.InSlot(at.Slot) is { } inside && left.Contains(inside.Id),
        StepAction.Load or StepAction.Move or StepAction.CardChange when action.NeedsReader is { } reader =>
            State.IsInDoubt(reader) || (State.InReader(reader) is { } inside && left.Contains(inside.Id)),
        _ => false,
    };

    private List<RemainingStep> Needed(List<RemainingStep> rows, Instant now)
    {
        var begun = LiveBench.Problem(With(State, rows), now).MidRun!.Steps.Select(step => step.Action).ToHashSet();
        var cards = State.Readers.ToDictionary(reader => reader, State.CardIn);
        var needed = new List<RemainingStep>();
        foreach (var row in rows)
        {
            var action = row.Step.Action;
            var lot = action.Subject is { } subject ? State.Find(subject)!.Wanted.Request.Lot : (LotCode?)null;
            if (action is StepAction.CardChange change)
            {
                var serves = NextOn(rows, row)?.Step.Action.Subject is { } next
                    && State.Find(next)!.Wanted.Request.Lot == change.Lot && cards[change.Reader] != change.Lot;
                if (!serves && !begun.Contains(change))
                    continue;
                cards[change.Reader] = change.Lot;
            }
            else if (action is StepAction.Move or StepAction.Load && action.NeedsReader is { } reader
                && cards[reader] != lot && !begun.Contains(action))
            {
                cards[reader] = lot;
                needed.Add(new RemainingStep(new PlannedStep(new StepAction.CardChange(reader, lot!.Value),
                    row.Step.Hands, row.Step.Start, row.Step.Start), null));
            }

            needed.Add(row);
        }

        return needed;
    }

    private static RemainingStep? NextOn(List<RemainingStep> rows, RemainingStep row) =>
        rows.SkipWhile(one => one != row).Skip(1).FirstOrDefault(later => later.Step.Action is not StepAction.Clear
            && later.Step.Action.NeedsReader == row.Step.Action.NeedsReader);

    private static bool IsOf(HashSet<RequestId> left, RemainingStep row) =>
        row.Step.Action.Subject is { } request && left.Contains(request);

    /// <summary>The rows as re-timed are a plan that knows all that was told.</summary>
    private static BenchState With(BenchState state, IEnumerable<RemainingStep> rows) => state with
    {
        HasUnplanned = false,
        Run = state.Run with
        {
            Adopted = state.Adopted! with
            {
                Remaining = [.. rows.Where(row => row.Step.Hands is not null).OrderBy(row => row.Step.Start)
                    .ThenBy(row => row.Step.End)],
            },
        },
    };

    private sealed record Course(IReadOnlyList<RemainingStep> Rows);
}
