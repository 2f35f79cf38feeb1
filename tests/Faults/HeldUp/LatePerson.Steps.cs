using Incubation.Bench;
using Incubation.Model;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>How steps are done, left, and told.</summary>
internal sealed partial class LatePerson
{
    private void Begin(StepAction action, Offer? offer, Duration allowed)
    {
        world.Ledger.Look();
        mayLeave = true;
        if (world.Chance(world.Recipe.CalledAway))
        {
            switch (world.Between(0, 9))
            {
                case < 2:
                    CallAway("before a step", allowed);
                    return;
                case < 5:
                    Do(action, offer, allowed, Leaves.During);
                    return;
                case < 9:
                    Do(action, offer, allowed, Leaves.BeforeTheTap);
                    return;
                default:
                    Do(action, offer, allowed, Leaves.After);
                    return;
            }
        }

        Do(action, offer, allowed, world.Chance(world.Recipe.Forgets) ? Leaves.TapForgotten : Leaves.Not);
    }

    /// <summary>What is told is heard and planned on within so long.</summary>
    private static readonly Duration TimeToHear = Duration.FromMilliseconds(100);

    private enum Leaves
    {
        Not,
        During,
        BeforeTheTap,
        After,
        TapForgotten,
    }

    private void Do(StepAction action, Offer? offer, Duration allowed, Leaves leaves)
    {
        var resumed = paused?.Action == action ? paused.Left : (Duration?)null;
        paused = null;
        var least = Duration.Max(ShortestOf(action), allowed / 2);
        var most = Duration.Max(least, allowed - Duration.FromSeconds(2));
        var length = resumed ?? Duration.FromMilliseconds(world.Between((int)least.TotalMilliseconds,
            (int)most.TotalMilliseconds));
        Doing = new Step(action, world.Now, allowed, length);
        world.Trace($"hands {hands} begin {Words.Of(action)}");
        var c = action.Subject is { } id ? world.Find(id) : null;
        var from = c?.Place;
        if (c is not null)
        {
            c.InHand = action;
            c.Place = action switch
            {
                StepAction.Load load => load.Place,
                StepAction.Move move => new CartridgePlace.InReader(move.Reader),
                _ => c.Place,
            };
        }

        world.Ledger.Check("beginning " + Words.Of(action));
        if (leaves == Leaves.During)
        {
            var part = length * world.Between(10, 90) / 100;
            world.Agenda.In(part, () =>
            {
                world.Ledger.Check("being called away during a step");
                Doing = null;
                paused = new Step(action, world.Now, allowed, length - part);
                if (c is not null)
                    (c.InHand, c.Place) = (null, from);
                CallAway("during a step", allowed - part, isChecked: true);
            });
            return;
        }

        var end = world.Now + length;
        if (action is StepAction.Move)
            end = Instant.Max(end, Instant.Max(offer?.ReportFrom ?? end, c?.Opens ?? end));
        world.Agenda.At(end, () =>
        {
            End(action, c, end, resumed is not null);
            switch (leaves)
            {
                case Leaves.BeforeTheTap:
                    (Doing, untold) = (null, new Untold(action, end));
                    CallAway("before the tap", allowed - length);
                    break;
                case Leaves.TapForgotten:
                    (Doing, untold) = (null, new Untold(action, end));
                    StayAway(Duration.FromSeconds(world.Between(20, 300)), "tap forgotten", allowed - length);
                    break;
                default:
                    world.Agenda.In(Duration.FromMilliseconds(world.Between(0, 600)), () =>
                    {
                        Doing = null;
                        Tell(action, end, offer?.AskWhenAfter);
                        if (world.OutageUntil is not null)
                            LookAt(world.Now + Duration.FromSeconds(1));
                        if (leaves == Leaves.After)
                            LeaveAfterAStep();
                    });
                    break;
            }
        });
    }

    /// <summary>
    /// Called away as soon as a step is told: whoever hears that takes these hands to be at what comes next, until the
    /// end of its allowed time.
    /// </summary>
    private void LeaveAfterAStep()
    {
        if (world.OutageUntil is not null)
        {
            CallAway("after a step", Duration.Zero);
            return;
        }

        world.Agenda.In(TimeToHear, () =>
        {
            if (!IsAway || LiveBench.View(world.Server.State, world.Now).Offers
                .FirstOrDefault(offer => offer.Hands == hands) is not { } next)
                return;
            BelievedUntil = Instant.Min(awayUntil,
                Instant.Max(next.MayBegin, world.Now) + AllowedOf(next.Action));
            world.Agenda.At(BelievedUntil, world.Ledger.Look);
        });
        CallAway("after a step", TimeToHear);
    }

    private Duration ShortestOf(StepAction action) => action switch
    {
        StepAction.Mix mix => world.Find(mix.Request)!.Assay.MixShortest,
        StepAction.Load load => world.Find(load.Request)!.Assay.LoadShortest,
        _ => Duration.Zero,
    };

    /// <summary>What is so when a step has ended.</summary>
    private void End(StepAction action, TrueWork? c, Instant end, bool wasPaused)
    {
        var begun = Doing!.Begun;
        if (action is StepAction.CardChange change)
            world.Cards[change.Reader.Value] = change.Lot;
        if (c is not null)
        {
            c.InHand = null;
            switch (action)
            {
                case StepAction.Mix:
                    (c.MixEnd, c.MixEarliest) = (end, wasPaused ? end : begun + c.Assay.MixShortest);
                    break;
                case StepAction.Load load:
                    (c.LoadEnd, c.LoadEarliest) = (end, wasPaused ? end : begun + c.Assay.LoadShortest);
                    c.ReadsByItself = load.Place is CartridgePlace.InReader;
                    break;
                case StepAction.Move: c.ReadStarted = end; break;
                case StepAction.Clear: (c.ClearEnd, c.Place) = (end, null); break;
                case StepAction.Discard: (c.ThrownAway, c.Place) = (end, null); break;
                default: break;
            }
        }

        // The hands are free; only the tap is left.
        Doing = Doing with { Allowed = world.Now - begun };
    }

    /// <summary>Tells of a step; where that is asked, with the time at which it was done.</summary>
    private void Tell(StepAction action, Instant end, Instant? askWhenAfter, bool isAsked = false)
    {
        var command = VirtualAide.ReportOf(action);
        var at = world.Now;
        var isLate = !isAsked && askWhenAfter is { } when ? at > when : at - end > Duration.FromSeconds(5);
        switch (command)
        {
            case BenchCommand.Mixed mixed when isLate:
                (command, at) = (mixed with { TimeStated = true }, end);
                break;
            case BenchCommand.Loaded loaded when isLate:
                (command, at) = (loaded with { TimeStated = true }, end);
                break;
            case BenchCommand.ReadStarted when isAsked && isLate && !IsPastItsWindow(action):
                at = end;
                break;
            case BenchCommand.ReadStarted started when IsPastItsWindow(action):
                (command, at) = (started with { StatedInTime = true }, end);
                break;
            case BenchCommand.Discarded discarded:
                command = discarded with
                {
                    Reason = world.Find(discarded.Request)!.LoadEnd is null
                        ? DiscardReason.MixtureTooOld : DiscardReason.WindowClosed
                };
                break;
            default:
                break;
        }

        Screen.Say(command, at);
    }

    /// <summary>
    /// Tells what was done and not told, where the screen has a tap for it: what Now says, or an alarm.
    /// </summary>
    private bool TellWhatIsDone(BenchState state, BenchView view)
    {
        if (untold is not { } done)
            return false;
        // Another card has been put in since: nobody tells of the one before.
        if (done.Action is StepAction.CardChange old && world.Cards.GetValueOrDefault(old.Reader.Value) != old.Lot)
        {
            untold = null;
            return false;
        }

        bool IsIt(StepAction action) => action.Subject is { } id
            ? id == done.Action.Subject && action.GetType() == done.Action.GetType() : action == done.Action;
        var offer = view.Offers.FirstOrDefault(offer => IsIt(offer.Action) && offer.MayBegin <= world.Now);
        var alarm = view.Alarms.FirstOrDefault(alarm => alarm.StandsAt(view.At)
            && alarm.Key.Request == done.Action.Subject
            && Conditions.Of(alarm.Key.Kind).Actions.Any(tap => tap is AlarmAction.Loaded
                ? done.Action is StepAction.Load : tap is AlarmAction.ReadStarted or AlarmAction.StartedInTime
                && done.Action is StepAction.Move));
        if (offer is null && alarm is null)
        {
            var isWanted = IsStillWanted(state, done);
            var isTold = isWanted && TellAtItsPlace(state, done);
            if (isTold || !isWanted)
                untold = null;
            return isTold;
        }

        untold = null;
        if (world.Find(done.Action.Subject ?? default) is { } c)
            (c.MixEarliest, c.LoadEarliest) = (c.MixEnd ?? c.MixEarliest, c.LoadEnd ?? c.LoadEarliest);
        // An alarm whose step is not known asks when it was.
        Tell(done.Action, done.End, offer?.AskWhenAfter, alarm is not null
            && state.NotKnown.Any(step => step.Action.Subject == done.Action.Subject));
        return true;
    }

    private bool IsPastItsWindow(StepAction action) => Screen.Shown!.Find(action.Subject!.Value) is { } shown
        && Screen.Shown.WindowOf(shown) is { } window && world.Now > window.Closes;

    /// <summary>
    /// Tells it where it stands on the screen, at its alarm, its slot or its reader: a press there offers what can be
    /// true.
    /// </summary>
    private bool TellAtItsPlace(BenchState state, Untold done)
    {
        var what = done.Action switch
        {
            StepAction.Mix => TellingKind.Mixed,
            StepAction.Load => TellingKind.Loaded,
            StepAction.Move => TellingKind.ReadStarted,
            StepAction.Clear => TellingKind.Cleared,
            _ => TellingKind.ThrownAway,
        };
        var place = (done.Action as StepAction.Load)?.Place
            ?? (done.Action.NeedsReader is { } reader ? new CartridgePlace.InReader(reader) : null);
        var telling = Tellings.List(state, world.Now).Where(of => of.Request == done.Action.Subject)
            .SelectMany(of => of.Can).FirstOrDefault(can => can.What == what
                && (can.Places.IsEmpty || (place is not null && can.Places.Contains(place))));
        if (telling is null || telling.Earliest > done.End)
            return false;
        world.Count("told at its place");
        foreach (var said in telling.Says(telling.Places.IsEmpty ? null : place, done.End, world.Now, "told late"))
            Screen.Say(said.Command, said.At);
        return true;
    }

    /// <summary>Whether the bench does not know yet what was done.</summary>
    private static bool IsStillWanted(BenchState state, Untold done)
    {
        if (done.Action is StepAction.CardChange change)
            return state.CardIn(change.Reader) != change.Lot;
        if (state.Find(done.Action.Subject!.Value) is not { } c || c.IsOver)
            return false;
        return done.Action switch
        {
            StepAction.Mix => c.Stage is CartridgeStage.Waiting,
            StepAction.Load => c.Phase is CartridgePhase.Mixed,
            StepAction.Move => c.Phase is CartridgePhase.Reacting,
            _ => true,
        };
    }
}
