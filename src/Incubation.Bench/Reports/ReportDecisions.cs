using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Which events a report is recorded as: always its fact, with the deviations from what was believed.
/// </summary>
internal static class ReportDecisions
{
    /// <summary>A time that a person states is taken to be right within this, earlier or later.</summary>
    public static readonly Duration StatedWithin = Duration.FromSeconds(5);

    /// <summary>Two reports of the same step within this time are one step: from two tablets, or by two taps.</summary>
    public static readonly Duration SameTap = Duration.FromSeconds(10);

    public static Decision Decide(BenchState state, BenchCommand.Report report, Provenance provenance) => report switch
    {
        _ when state.Phase == BatchPhase.Preparing && IsWork(report) => Begun(state, report, provenance),
        BenchCommand.Mixed mixed =>
            TellOfCartridge(state, mixed.Request, provenance, cartridge => Mixed(state, cartridge, mixed, provenance)),
        BenchCommand.Loaded loaded =>
            TellOfCartridge(state, loaded.Request, provenance, cartridge =>
                Loaded(state, cartridge, loaded, provenance)),
        BenchCommand.ReadStarted started =>
            TellOfCartridge(state, started.Request, provenance, cartridge =>
                ReadStarted(state, cartridge, started, provenance)),
        BenchCommand.Cleared cleared =>
            TellOfCartridge(state, cleared.Request, provenance, cartridge =>
                Cleared(state, cartridge, cleared, provenance)),
        BenchCommand.CardChanged changed => changed.Reader.Value <= state.Setup.Readers
            ? Tell(state, CardChanged(state, changed, provenance), provenance)
            : Decisions.Refuse(Refusal.UnknownRequest, changed.Reader.ToString()),
        BenchCommand.CardSeen seen => seen.Reader.Value <= state.Setup.Readers
            ? Revisions.Revise(state, provenance, new Revision(Added: new BenchEvent.CardSeen(seen.Reader, seen.Lot)))
            : Decisions.Refuse(Refusal.UnknownRequest, seen.Reader.ToString()),
        BenchCommand.TemperatureMeasured measured => Decisions.Accept(Measured(state, measured.Value, provenance.At)),
        BenchCommand.Discarded discarded =>
            TellOfCartridge(state, discarded.Request, provenance, cartridge =>
                Discarded(state, cartridge, discarded, provenance)),
        BenchCommand.ResultEntered result => state.Find(result.Request) is { } cartridge
            ? result.OnlyFirst && cartridge.Result is not null
                ? Decisions.Refuse(Refusal.ResultThere, cartridge.Id.Value)
                : Decisions.Accept(Results.Entered(state, cartridge, result, provenance))
            : Decisions.Refuse(Refusal.UnknownRequest, result.Request.Value),
        BenchCommand.NotBegun notBegun => notBegun.Hands.Value <= state.Setup.Hands
            ? Decisions.Accept(new BenchEvent.StepNotBegun(notBegun.Hands, provenance.At))
            : Decisions.Refuse(Refusal.UnknownHands, notBegun.Hands.ToString()),
        _ => throw new InvalidOperationException($"The report {report.GetType().Name} is not known."),
    };

    /// <summary>Whether a report is of a step of a cartridge.</summary>
    private static bool IsWork(BenchCommand.Report report) =>
        report is BenchCommand.Mixed or BenchCommand.Loaded or BenchCommand.ReadStarted or BenchCommand.Cleared;

    /// <summary>Who works on a batch has begun it, whoever was to say so.</summary>
    private static Decision Begun(BenchState state, BenchCommand.Report report, Provenance provenance)
    {
        var begun = new BenchEvent.BatchStarted(state.Batch);
        return Decide(Changes.Apply(state, new BenchEntry(begun, provenance)), report, provenance) switch
        {
            Decision.Accepted accepted => Decisions.Accept([begun, .. accepted.Events]),
            var refused => refused,
        };
    }

    private static Decision TellOfCartridge(BenchState state, RequestId request, Provenance provenance,
        Func<Cartridge, BenchEvent.StoryEvent> say) =>
        state.Find(request) is { } cartridge
            ? Tell(state, say(cartridge), provenance)
            : Decisions.Refuse(Refusal.UnknownRequest, request.Value);

    /// <summary>
    /// Records a step: once, however often it is told. A report that comes after later related ones revises the story
    /// instead.
    /// </summary>
    private static Decision Tell(BenchState state, BenchEvent.StoryEvent happened, Provenance provenance)
    {
        if (provenance.Claimed is not null)
            happened = happened.Judged([.. happened.DiffersIn, Deviation.TimeNotTaken]);
        if (state.Story.FindLast(told => IsSame(told, happened, provenance.At)) is { } same)
            return Decisions.Accept(new BenchEvent.SaidAgain(same.Id));
        if (state.Story.Exists(told => told.InOrder > provenance.At && IsRelated(told.Event, happened)))
            return Revisions.Revise(state, provenance, new Revision(Added: happened));
        var deviations = Judgement.Judge(state, happened, slot => Progress.Staying(state, slot, provenance.At),
            state.CardIn);
        return Decisions.Accept(happened.Judged(Judgement.WithoutTime([.. deviations, .. happened.DiffersIn])));
    }

    /// <summary>The same step at about the same time; what ends a cartridge can happen only once.</summary>
    private static bool IsSame(ReportedStep told, BenchEvent.StoryEvent happened, Instant at)
    {
        if (told.Event.GetType() != happened.GetType() || told.Subject != happened.Subject)
            return false;
        if (happened is BenchEvent.Discarded or BenchEvent.Cleared)
            return true;
        var apart = at > told.At ? at - told.At : told.At - at;
        return apart <= SameTap && told.Place == happened.Where
            && (told.Event as BenchEvent.CardChanged)?.Lot == (happened as BenchEvent.CardChanged)?.Lot;
    }

    private static bool IsRelated(BenchEvent.StoryEvent one, BenchEvent.StoryEvent other) =>
        (one.Subject is { } subject && subject == other.Subject) || (one.Where is { } place && place == other.Where);

    private static BenchEvent.TemperatureMeasured Measured(BenchState state, Celsius value, Instant at)
    {
        var outside = Readiness.RuleOf(state)?.IsOutside(value) ?? false;
        return new BenchEvent.TemperatureMeasured(value, outside, outside
            ? [.. state.Cartridges
                .Where(cartridge => cartridge.Phase is CartridgePhase.Reacting { Place: CartridgePlace.InSlot }
                    || ReactedInSlot(state, cartridge.Id, at))
                .Select(cartridge => cartridge.Id)]
            : []);
    }

    /// <summary>Whether a cartridge reacted in the incubator at an instant, wherever it is now.</summary>
    private static bool ReactedInSlot(BenchState state, RequestId request, Instant at)
    {
        var told = state.Story.FindAll(one => one.Subject == request);
        return told.Exists(one => one.Event is BenchEvent.Loaded { Place: CartridgePlace.InSlot } loaded
                && loaded.End.Earliest <= at)
            && !told.Exists(one => one.Event is BenchEvent.ReadStarted or BenchEvent.Cleared or BenchEvent.Discarded
                && one.At <= at);
    }

    private static BenchEvent.Mixed Mixed(BenchState state, Cartridge cartridge, BenchCommand.Mixed mixed,
        Provenance provenance)
    {
        var step = new StepAction.Mix(cartridge.Id);
        var (hands, begun) = Doing(state, step, provenance);
        var end = mixed.TimeStated && provenance.Claimed is null
            ? Stated(provenance) : Between(begun + cartridge.Wanted.Assay.MixShortest, provenance.At);
        return new BenchEvent.Mixed(cartridge.Id, hands, Instant.Min(begun, end.Earliest), end,
            mixed.TimeStated ? [] : Quickness.Of(state, step, provenance.At));
    }

    private static BenchEvent.Loaded Loaded(BenchState state, Cartridge cartridge, BenchCommand.Loaded loaded,
        Provenance provenance)
    {
        var step = new StepAction.Load(cartridge.Id, loaded.Place);
        var (hands, begun) = Doing(state, step, provenance);
        var end = loaded.TimeStated && provenance.Claimed is null
            ? Stated(provenance) : Between(begun + cartridge.Wanted.Assay.LoadShortest, provenance.At);
        return new BenchEvent.Loaded(cartridge.Id, hands, loaded.Place, Instant.Min(begun, end.Earliest), end,
            [.. loaded.Place is CartridgePlace.InSlot && state.OutsideSince is not null
                ? ImmutableArray.Create(Deviation.TemperatureOutside)
                : [], .. LotGates.DeviationsOfLoad(state, cartridge, provenance.At),
                .. loaded.TimeStated ? [] : Quickness.Of(state, step, provenance.At), .. OfLabel(loaded)]);
    }

    private static BenchEvent.ReadStarted ReadStarted(BenchState state, Cartridge cartridge,
        BenchCommand.ReadStarted started, Provenance provenance)
    {
        var step = new StepAction.Move(cartridge.Id, started.Reader);
        var (hands, begun) = Doing(state, step, provenance);
        return new BenchEvent.ReadStarted(cartridge.Id, hands, started.Reader, begun, provenance.At,
            [.. started.StatedInTime ? [Deviation.StatedInTime]
                : Quickness.Of(state, step, provenance.At), .. OfLabel(started)]);
    }

    private static BenchEvent.Cleared Cleared(BenchState state, Cartridge cartridge, BenchCommand.Cleared cleared,
        Provenance provenance)
    {
        var step = new StepAction.Clear(cartridge.Id, cleared.Reader);
        var (hands, begun) = Doing(state, step, provenance);
        var byItself = cartridge.Reached is CartridgePhase.Reacting { Place: CartridgePlace.InReader } inside
            ? inside.LoadEnd.Latest + cartridge.Wanted.Assay.Incubation
            : (Instant?)null;
        return new BenchEvent.Cleared(cartridge.Id, hands, cleared.Reader, begun, provenance.At, byItself,
            [.. Quickness.Of(state, step, provenance.At), .. OfLabel(cleared)]);
    }

    private static ImmutableArray<Deviation> OfLabel(BenchCommand.AtLabel report) => report.Scan switch
    {
        LabelScan.NotScanned => [Deviation.NotScanned],
        LabelScan.OtherThanPlanned => [Deviation.OtherThanPlanned],
        _ => [],
    };

    private static BenchEvent.CardChanged CardChanged(BenchState state, BenchCommand.CardChanged changed,
        Provenance provenance)
    {
        var (hands, begun) = Doing(state, new StepAction.CardChange(changed.Reader, changed.Lot), provenance);
        return new BenchEvent.CardChanged(changed.Reader, changed.Lot, hands, begun, provenance.At, []);
    }

    private static BenchEvent.Discarded Discarded(BenchState state, Cartridge cartridge,
        BenchCommand.Discarded discarded, Provenance provenance)
    {
        var (hands, begun) = Doing(state, new StepAction.Discard(cartridge.Id), provenance);
        return new BenchEvent.Discarded(cartridge.Id, hands, begun, provenance.At, discarded.Reason, discarded.InWords);
    }

    /// <summary>
    /// Whose hands did this, and since when: those of the adopted plan's row, wherever it was planned to be done, from
    /// when it counts as begun; but others that are there, where those count as at an earlier step. A step that was not
    /// planned counts as begun by the first pair of hands its allowed time ago, or at their previous report. One that
    /// was not known was done by the hands that were at it, unless these count as away since.
    /// </summary>
    private static (HandsNumber Hands, Instant Begun) Doing(BenchState state, StepAction action, Provenance by)
    {
        var at = by.At;
        // Of what comes late nobody can say what others were at then.
        var isTold = by.Arrived - at <= StatedWithin;
        var others = (HandsNumber?)null;
        if (action.Subject is { } subject && UnknownSteps.Of(state, subject) is { } unknown
            && unknown.Action.GetType() == action.GetType())
        {
            // Hands that count as away since then have not come back by what an alarm asked of whoever is there.
            if (isTold && action is StepAction.Load or StepAction.Move && at > unknown.Since
                && UnknownSteps.AreTakenAsAway(state, unknown.Hands))
                others = OtherThan(state, unknown.Hands, at);
            if (others is null)
                return (unknown.Hands, Instant.Min(unknown.Begun, at));
        }
        else if (state.Adopted?.RowAnywhereOf(action) is { Step.Hands: { } planned } row)
        {
            others = isTold ? InsteadOf(state, planned, row, at) : null;
            if (others is null)
                return (planned, Instant.Min(Progress.CanHaveBegunAt(state, row, at), at));
        }

        var hands = others ?? new HandsNumber(1);
        var begun = at - Progress.Allowed(state, action);
        return state.LastReportOf(hands) is { } last && last > begun
            ? (hands, Instant.Min(last, at))
            : (hands, begun);
    }

    /// <summary>
    /// The hands that did a row's step instead of those for which it was planned: these count as at an earlier one that
    /// nobody has reported, and have not been heard of by what others did. Null where it is not known that there are
    /// such hands, and which.
    /// </summary>
    private static HandsNumber? InsteadOf(BenchState state, HandsNumber planned, RemainingStep row, Instant at) =>
        state.Adopted!.NextOf(planned) != row && IsAtSomething(state, planned, at)
            ? OtherThan(state, planned, at) : null;

    private static bool IsAtSomething(BenchState state, HandsNumber hands, Instant at) =>
        state.Adopted?.NextOf(hands) is { } next && Progress.HasBegun(state, next, at);

    /// <summary>The one other pair of hands that is there; of several the one that is at nothing; else null.</summary>
    private static HandsNumber? OtherThan(BenchState state, HandsNumber hands, Instant at)
    {
        var there = UnknownSteps.OthersThere(state, hands, at).ToList();
        return (there.Where(other => !IsAtSomething(state, other, at)).ToList(), there) switch
        {
            ([var idle], _) => idle,
            ([], [var only]) => only,
            _ => null,
        };
    }

    private static InstantRange Stated(Provenance provenance) =>
        new(provenance.At - StatedWithin, Instant.Min(provenance.At + StatedWithin, provenance.Arrived));

    private static InstantRange Between(Instant earliest, Instant latest) => new(Instant.Min(earliest, latest), latest);
}
