using Incubation.Bench;
using Incubation.Model;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Faults;

/// <summary>How steps are really done, and how they are told.</summary>
internal sealed partial class Aide
{
    private void Begin(StepAction action, Duration allowed, Instant? latestStart, Instant reportFrom,
        Instant? askWhenAfter)
    {
        busy = true;
        Doing = (action, world.Now, world.Now + allowed);
        delay = None;
        var length = lengths.Of(action, allowed);
        var shortest = ShortestOf(action);
        if (world.Recipe.Kind == DayKind.ToPlan)
            length = Duration.Max(shortest, Duration.Min(length, allowed));
        world.Trace($"hands {hands} begin {Words.Of(action)}");
        world.Watch.Began(action, tablet.Time, latestStart);
        var c = Take(action);
        var end = world.Now + length;
        if (action is StepAction.Move && !world.Chance(Habits.EarlyRead))
            end = Instant.Max(end, tablet.ToTrue(reportFrom));
        var tapAt = end + DrawTap(action);
        if (tapAt < end)
            tapAt = Instant.Max(tapAt, world.Now);
        world.Agenda.At(end, () => End(action, c));
        world.Agenda.At(tapAt, () => Tap(action, c, end, shortest, allowed, askWhenAfter));
        world.Agenda.At(Instant.Max(end, tapAt), () =>
        {
            // What was said may still be on its way; then the tablet offers nothing until it is answered.
            Free();
        });
    }

    private Duration ShortestOf(StepAction action) => action.Subject is { } id && world.Truth.Find(id) is { } c
        ? action switch
        {
            StepAction.Mix => c.Assay.MixShortest,
            StepAction.Load => c.Assay.LoadShortest,
            _ => 2 * Quickness.Least(c.Assay, action),
        }
        : Duration.Zero;

    /// <summary>Takes the cartridge of a step in hand.</summary>
    private TrueCartridge? Take(StepAction action)
    {
        if (action.Subject is not { } id || world.Truth.Find(id) is not { } c)
            return null;
        c.InHand = true;
        if (action is StepAction.Load load)
        {
            if (tablet.Shown?.Adopted?.RowOf(action) is null)
                world.Count("load into another slot");
            c.Place = load.Place;
        }

        if (action is StepAction.Move move)
        {
            c.MoveBegin = world.Now;
            c.Place = new CartridgePlace.InReader(move.Reader);
        }

        return c;
    }

    /// <summary>The card that the hands really take for a card change.</summary>
    private LotCode CardTaken(StepAction.CardChange change)
    {
        wrongCardScanned = null;
        if (!world.Rare(world.Extremes.WrongCard) || world.Recipe.Day.Requests.Select(request => request.Lot)
            .Where(lot => lot != change.Lot).Distinct().ToList() is not { Count: > 0 } others)
            return change.Lot;
        world.Count("wrong card put in");
        var taken = others[world.Extra(0, others.Count - 1)];
        // Scanned, it is told as what it is; typed from the plan, as what it should be.
        if (world.Rare(0.5))
            wrongCardScanned = taken;
        return taken;
    }

    /// <summary>What is so when a step has really ended.</summary>
    private void End(StepAction action, TrueCartridge? c)
    {
        var now = world.Now;
        if (action is StepAction.CardChange change)
            world.Truth.Cards[change.Reader.Value] = CardTaken(change);
        if (c is null)
            return;
        c.InHand = false;
        switch (action)
        {
            case StepAction.Mix: c.MixEnd = now; break;
            case StepAction.Load load:
                c.LoadEnd = now;
                c.OffsetAtLoad = c.OffsetAtRead = tablet.Offset;
                c.ReadByItself = load.Place is CartridgePlace.InReader;
                world.Watch.Loaded(c);
                break;
            case StepAction.Move:
                c.ReadStarted = now;
                c.OffsetAtRead = tablet.Offset;
                break;
            case StepAction.Clear: (c.ClearEnd, c.Place) = (now, null); break;
            case StepAction.Discard: (c.ThrownAway, c.Place) = (now, null); break;
            default: break;
        }
    }

    /// <summary>So much later than the step's end it is told; negative where it is told before.</summary>
    private Duration DrawTap(StepAction action)
    {
        if (world.Chance(Habits.ForgottenTap))
        {
            world.Count("forgotten tap");
            return Duration.FromSeconds(world.Between(60, 400));
        }

        if (world.Chance(Habits.LateTap))
        {
            world.Count("late tap");
            return Duration.FromSeconds(world.Between(4, 60));
        }

        if (action is StepAction.Mix or StepAction.Load && world.Chance(Habits.EarlyTap))
        {
            world.Count("early tap");
            return -Duration.FromSeconds(world.Between(1, 15));
        }

        return world.Recipe.Kind == DayKind.ToPlan ? Duration.Zero : Duration.FromMilliseconds(world.Between(0, 600));
    }

    private void Tap(StepAction action, TrueCartridge? c, Instant end, Duration shortest, Duration allowed,
        Instant? askWhenAfter)
    {
        world.Watch.Told(world.Now - (Doing?.Begun ?? world.Now), shortest, allowed);
        if (c is not null && world.Chance(Habits.Spoilt) && action is StepAction.Mix or StepAction.Load
            or StepAction.Move && c is { InHand: false })
        {
            Spoil(c!, DiscardReason.Dropped);
            return;
        }

        var command = VirtualAide.ReportOf(action);
        var at = tablet.Time;
        var isAsked = askWhenAfter is { } when && at > when && end <= world.Now;
        if (isAsked)
        {
            // Whoever is asked "when?" knows it to a few seconds.
            at = Instant.Min(at, end + tablet.Offset + Duration.FromMilliseconds(world.Between(-4500, 4500)));
            command = command switch
            {
                BenchCommand.Mixed mixed => mixed with { TimeStated = true },
                BenchCommand.Loaded loaded => loaded with { TimeStated = true },
                _ => command,
            };
        }

        if (command is BenchCommand.Loaded { Place: CartridgePlace.InSlot } told && world.Chance(Habits.WrongSlotTold))
        {
            world.Count("wrong slot told");
            command = told with
            {
                Place = new CartridgePlace.InSlot(new SlotNumber(world.Between(1, world.Recipe.Day.Bench.Slots)))
            };
        }

        if (command is BenchCommand.CardChanged put && wrongCardScanned is { } scanned)
            command = put with { Lot = scanned };
        if (command is BenchCommand.Discarded discarded)
            command = discarded with
            {
                Reason = c?.LoadEnd is null
                ? DiscardReason.MixtureTooOld : DiscardReason.WindowClosed
            };
        if (command is BenchCommand.ReadStarted started && IsShownClosed(started.Request))
            (command, at) = (started with { StatedInTime = true }, end + tablet.Offset);
        var said = tablet.Say(command, at);
        if (!isAsked && world.Now - end > Duration.FromSeconds(4))
            CorrectLater(said.Id, end);
        if (world.Chance(Habits.DoubleTap))
        {
            world.Count("second tap");
            tablet.Say(command, at + Duration.FromMilliseconds(300));
        }
    }

    private bool IsShownClosed(RequestId request) =>
        tablet.Shown is { } state && state.Find(request) is { } cartridge && state.WindowOf(cartridge) is { } window
            && tablet.Time > window.Closes;

    /// <summary>A cartridge is thrown away, and that is told.</summary>
    private void Spoil(TrueCartridge c, DiscardReason reason)
    {
        world.Count("cartridge spoilt");
        (c.ThrownAway, c.Place) = (world.Now, null);
        tablet.Say(new BenchCommand.Discarded(c.Id, reason, null), tablet.Time);
    }
}
