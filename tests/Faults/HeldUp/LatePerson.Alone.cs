using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>What is done without the server.</summary>
internal sealed partial class LatePerson
{
    /// <summary>Alone, what was done is told to the screen's box.</summary>
    private void TellAlone(BenchState state)
    {
        if (untold is not { } done)
            return;
        untold = null;
        if (IsStillWanted(state, done))
            Tell(done.Action, done.End, null);
    }

    /// <summary>Without the server the screen goes on with what it has.</summary>
    private void BeginAlone(BenchState state)
    {
        var view = LiveBench.View(state, world.Now);
        foreach (var alarm in view.Alarms.Where(alarm => alarm.StandsAt(view.At))
            .OrderByDescending(alarm => alarm.Priority).ThenBy(alarm => alarm.Deadline ?? Instant.MaxValue))
            if (ActOf(state, alarm) is { } act && !IsTold(act) && IsPossible(act) is { } possible)
            {
                Begin(possible, null, AllowedOf(possible));
                return;
            }

        foreach (var (action, from) in OffersAlone(view).OrderBy(offer => offer.From))
            if (IsPossible(action) is { } possible)
            {
                if (from > world.Now)
                    LookAt(Instant.Min(from, world.Now + Duration.FromSeconds(10)));
                else
                    Begin(possible, null, AllowedOf(possible));
                return;
            }

        LookAt(world.Now + Duration.FromSeconds(10));
    }

    private bool IsTold(StepAction action) => screen.Outbox.Any(said => (said.Command, action) switch
    {
        (BenchCommand.Mixed told, StepAction.Mix step) => told.Request == step.Request,
        (BenchCommand.Loaded told, StepAction.Load step) => told.Request == step.Request,
        (BenchCommand.ReadStarted told, StepAction.Move step) => told.Request == step.Request,
        (BenchCommand.Cleared told, StepAction.Clear step) => told.Request == step.Request,
        (BenchCommand.CardChanged told, StepAction.CardChange step) => told.Reader == step.Reader,
        (BenchCommand.Discarded told, _) => told.Request == action.Subject,
        _ => false,
    });

    /// <summary>
    /// The offers that stood and were not told, less mixes that were not begun; to hands that told theirs, what comes
    /// next of cartridges in work.
    /// </summary>
    private List<(StepAction Action, Instant From)> OffersAlone(BenchView view)
    {
        var since = world.OutageSince + LateScreen.AloneAfter;
        var offers = new List<(StepAction, Instant)>();
        HandsNumber? freed = null;
        foreach (var offer in view.Offers)
            if (IsTold(offer.Action) || (offer.Action is StepAction.Mix && offer.MayBegin > since))
                freed ??= offer.Hands;
            else if (offer.Hands == hands)
                offers.Add((offer.Action, offer.MayBegin));
        if (freed == hands && UpcomingAlone(view).FirstOrDefault() is { } next)
            offers.Add((next.Step.Action, next.Step.Start));
        return offers;
    }

    private List<UpcomingStep> UpcomingAlone(BenchView view)
    {
        var mixed = screen.Outbox.Select(said => said.Command).OfType<BenchCommand.Mixed>()
            .Select(command => command.Request).ToHashSet();
        var inWork = view.Slots.Select(slot => slot.Cartridge?.Id).Concat(view.Readers.Select(r => r.Cartridge?.Id))
            .OfType<RequestId>().Concat(mixed).Concat(view.Offers.Where(offer => offer.Action is not StepAction.Mix)
                .Select(offer => offer.Action.Subject).OfType<RequestId>()).ToHashSet();
        var steps = view.Upcoming.Where((coming, place) => (place < 8 || coming.Step.Action is not StepAction.Load)
            && !IsTold(coming.Step.Action) && coming.Step.Action switch
            {
                StepAction.CardChange => true,
                StepAction.Load load => mixed.Contains(load.Request),
                StepAction.Move or StepAction.Clear or StepAction.Discard =>
                    inWork.Contains(coming.Step.Action.Subject!.Value),
                _ => false,
            }).ToList();
        return [.. steps.Where((step, place) => step.Step.Action is not StepAction.CardChange change
            || (steps.Skip(place + 1).FirstOrDefault(after => after.Step.Action.NeedsReader == change.Reader
                && after.Step.Action is not StepAction.Clear)?.Step.Action is StepAction.Move
                && (!world.Cards.TryGetValue(change.Reader.Value, out var card) || card != change.Lot)))];
    }
}
