using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// Tells a batch's story anew, in the order in which things happened, and so works out what is believed after a report
/// was corrected or taken back.
/// </summary>
internal static class Retelling
{
    /// <summary>
    /// The reports by the time at which they happened; those of one instant in the order in which they were told. A
    /// cartridge goes one way only: a step that is said to have been before an earlier one of its own has no time that
    /// can be believed, and comes when it was told.
    /// </summary>
    public static IEnumerable<ReportedStep> InOrderOfTime(ImmutableList<ReportedStep> story)
    {
        var reached = new Dictionary<(RequestId, int Rank), Instant>();
        var timed = new List<(ReportedStep Step, Instant At)>(story.Count);
        var latest = Instant.MinValue;
        foreach (var told in story)
        {
            var at = told.InOrder;
            if (told.Subject is { } subject)
            {
                var rank = RankOf(told.Event);
                if (Enumerable.Range(0, rank)
                    .Any(earlier => reached.TryGetValue((subject, earlier), out var before) && at < before))
                    at = latest;
                reached[(subject, rank)] = at;
            }

            latest = Instant.Max(latest, at);
            timed.Add((told, at));
        }

        return timed.OrderBy(pair => pair.At).Select(pair => pair.Step);
    }

    private static int RankOf(BenchEvent.StoryEvent step) => step switch
    {
        BenchEvent.Mixed => 0,
        BenchEvent.Loaded => 1,
        BenchEvent.ReadStarted => 2,
        _ => 3,
    };

    /// <summary>
    /// The state as it was before the first report of the batch: nothing mixed, the cards known at that time, no plan.
    /// </summary>
    public static BenchState Beginning(BenchState state) => state with
    {
        Checkpoint = state.Checkpoint.Believing(state.Run.StoryStart),
        Run = state.Run with
        {
            Cartridges = [.. state.Cartridges.Select(Unbegun)],
            Done = [],
            Story = [],
            Adopted = null,
            Undo = null,
        },
    };

    /// <summary>What is believed when a story is told from its beginning.</summary>
    /// <param name="state">What is believed.</param>
    /// <param name="story">The story as it stands now.</param>
    public static BenchState TellAnew(BenchState state, ImmutableList<ReportedStep> story)
    {
        // What was told before hands fell silent, or a step came to be not known, says nothing about that.
        var believed = Beginning(state).InRun(run => run with { NotKnown = [], Silent = [] });
        foreach (var told in InOrderOfTime(story))
            believed = ReportChanges.Apply(believed, told.Event, told.Id);
        believed = believed.InRun(run => run with { NotKnown = state.Run.NotKnown, Silent = state.Run.Silent });
        return believed.InRun(run => run with
        {
            Story = story,
            Cartridges =
                [.. run.Cartridges.Select((retold, index) =>
                    WithMark(WithResult(retold, state.Cartridges[index]), state.Cartridges[index]))],
            Adopted = StillServing(believed, state.Adopted),
        });
    }

    private static Cartridge Unbegun(Cartridge cartridge) => cartridge with
    {
        Stage = cartridge.Stage is CartridgeStage.Withdrawn ? cartridge.Stage : new CartridgeStage.Waiting(),
        Deviations = [],
        ReadInWindow = null,
        Result = null,
        Status = null,
    };

    /// <summary>
    /// A result stays with a cartridge that has been read, also where it is thrown away after that. Where it was not
    /// read after all, it is not forgotten that its result waited for a supervisor, or was one's to decide on: what is
    /// entered of another read waits.
    /// </summary>
    private static Cartridge WithResult(Cartridge retold, Cartridge before) =>
        retold.Stage is CartridgeStage.Cleared or CartridgeStage.Discarded
            or CartridgeStage.InWork { Phase: CartridgePhase.Reading or CartridgePhase.Read }
            ? retold with { Result = before.Result, Status = before.Status, HeldForControls = before.HeldForControls }
            : retold with { HeldBefore = before.HoldsNextEntry || before.ChangeWaits };

    /// <summary>
    /// Deviations that come from the incubator's temperature or the lot's controls, and not from a report, stay.
    /// </summary>
    private static Cartridge WithMark(Cartridge retold, Cartridge before) => retold with
    {
        Deviations = [.. retold.Deviations, .. before.Deviations.Where(mark =>
            mark is Deviation.TemperatureOutside or Deviation.ControlsFailed && !retold.Deviations.Contains(mark))],
    };

    /// <summary>
    /// The adopted plan without what has been done; null where it lacks a step that is needed again, so that a search
    /// makes a new one.
    /// </summary>
    private static AdoptedPlan? StillServing(BenchState believed, AdoptedPlan? adopted)
    {
        if (adopted is null)
            return null;
        var rows = adopted.Remaining.RemoveAll(row => IsPast(believed, row.Step.Action));
        return believed.Cartridges.All(cartridge => IsServed(cartridge, adopted.Plan, rows)
            || UnknownSteps.Of(believed, cartridge.Id) is not null)
            ? adopted with { Remaining = rows } : null;
    }

    private static bool IsPast(BenchState believed, StepAction action)
    {
        if (action.Subject is not { } request || believed.Find(request) is not { } cartridge)
            return false;
        return (cartridge.Stage, action) switch
        {
            (CartridgeStage.Waiting, _) => false,
            (CartridgeStage.InWork { Phase: CartridgePhase.Mixed }, StepAction.Mix) => true,
            (CartridgeStage.InWork { Phase: CartridgePhase.Mixed }, _) => false,
            (CartridgeStage.InWork { Phase: CartridgePhase.Reacting }, StepAction.Mix or StepAction.Load) => true,
            (CartridgeStage.InWork { Phase: CartridgePhase.Reacting }, _) => false,
            (CartridgeStage.InWork, StepAction.Clear or StepAction.Read) => false,
            _ => true,
        };
    }

    private static bool IsServed(Cartridge cartridge, Planning.Plan plan, ImmutableArray<RemainingStep> rows)
    {
        bool Has(Func<StepAction, bool> which) =>
            rows.Any(row => row.Step.Action.Subject == cartridge.Id && which(row.Step.Action));
        return cartridge.Stage switch
        {
            CartridgeStage.Waiting => Has(action => action is StepAction.Mix)
                || plan.Unplaced.Any(left => left.Request == cartridge.Id),
            CartridgeStage.InWork { Phase: CartridgePhase.Mixed } =>
                Has(action => action is StepAction.Load or StepAction.Discard),
            CartridgeStage.InWork { Phase: CartridgePhase.Reacting { Place: CartridgePlace.InSlot } } =>
                Has(action => action is StepAction.Move or StepAction.Discard),
            CartridgeStage.InWork => Has(action => action is StepAction.Clear or StepAction.Discard),
            _ => true,
        };
    }
}
