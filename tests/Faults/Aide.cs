using Incubation.Bench;
using Incubation.Model;
using Incubation.Simulation;
using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// One pair of hands: does what its tablet offers, in a person's time and with a person's errors, and taps.
/// </summary>
internal sealed partial class Aide(World world, Tablet tablet, HandsNumber hands, HandsLengths lengths)
{
    private static readonly HabitsOnce None = new("", Instant.MinValue);

    private bool busy;
    private RequestId? otherSlotFor;
    private HabitsOnce delay = None;
    private Instant thinkAt = Instant.MaxValue;

    /// <summary>
    /// Until when these hands wait before they begin what they were offered, drawn once for each offer.
    /// </summary>
    private sealed record HabitsOnce(string Offer, Instant Until);

    /// <summary>Whether the hands are at a step, or at its tap.</summary>
    public bool IsBusy => busy;

    /// <summary>
    /// The step that the hands are at, with its true begin and the end of its allowed time; null where they are free.
    /// </summary>
    public (StepAction Action, Instant Begun, Instant AllowedUntil)? Doing { get; private set; }

    private Habits Habits => world.Recipe.Habits;

    /// <summary>Looks at the tablet, and begins what it offers.</summary>
    public void Think()
    {
        if (busy || HasLeft || world.IsOver || tablet.Shown is not { } state)
            return;
        if (awayUntil > world.Now)
        {
            ThinkAt(awayUntil);
            return;
        }

        if (tablet.IsAlone)
        {
            BeginAlone(state);
            return;
        }

        if (!tablet.IsCurrent || AnswerOne(state) || Settle(state))
            return;
        if (LiveBench.Offers(state).FirstOrDefault(offer => offer.Hands == hands) is not { } offer)
            return;
        if (offer.MayBegin > tablet.Time)
            ThinkAt(tablet.ToTrue(offer.MayBegin));
        else if (LiveBench.CanBegin(state, offer.Action, tablet.Time) && IsPossible(offer.Action) is { } action)
            BeginWhenReady(action, offer);
    }

    /// <summary>
    /// Without the server a tablet offers what remains of the adopted plan for cartridges in work, in its order, less
    /// what was done since; no new loads.
    /// </summary>
    private void BeginAlone(BenchState state)
    {
        var told = tablet.Outbox.Select(said => said.Command).ToList();
        foreach (var row in state.Adopted?.Remaining.Where(row => row.Step.Hands == hands) ?? [])
        {
            if (row.Step.Action is not (StepAction.Move or StepAction.Clear or StepAction.Discard)
                || told.Any(command => Tells(command, row.Step.Action)))
                continue;
            if (IsPossible(row.Step.Action) is not { } action)
                continue;
            if (row.Step.Start > tablet.Time)
                ThinkAt(tablet.ToTrue(row.Step.Start));
            else
                Begin(action, allowed: row.Step.End - row.Step.Start, null, OpensIn(state, action), null);
            return;
        }
    }

    private static Instant OpensIn(BenchState state, StepAction action) =>
        action is StepAction.Move move && state.Find(move.Request) is { } cartridge
            && state.WindowOf(cartridge) is { } window ? window.Opens : Incubation.TestKit.RandomDays.Start;

    private static bool Tells(BenchCommand command, StepAction action) => (command, action) switch
    {
        (BenchCommand.ReadStarted started, StepAction.Move move) => started.Request == move.Request,
        (BenchCommand.Cleared cleared, StepAction.Clear clear) => cleared.Request == clear.Request,
        (BenchCommand.Discarded discarded, StepAction.Discard discard) => discarded.Request == discard.Request,
        _ => false,
    };

    private void ThinkAt(Instant at)
    {
        if (at >= thinkAt && thinkAt > world.Now)
            return;
        thinkAt = at;
        world.Agenda.At(at, Think);
    }

    /// <summary>
    /// What the hands can really do of what is asked: the step itself, the same load into a slot that is free, or
    /// nothing.
    /// </summary>
    private StepAction? IsPossible(StepAction action)
    {
        if (action is StepAction.CardChange change)
            return IsUsable(new CartridgePlace.InReader(change.Reader)) && world.Truth.InReader(change.Reader) is null
                ? action : null;
        if (action.Subject is not { } id || world.Truth.Find(id) is not { } c || c.InHand || c.IsGone)
            return null;
        return action switch
        {
            StepAction.Mix => c.MixEnd is null ? action : null,
            StepAction.Load load => c.MixEnd is not null && c.LoadEnd is null ? FreePlace(load) : null,
            StepAction.Move move => c is { LoadEnd: not null, Place: CartridgePlace.InSlot }
                && IsUsable(new CartridgePlace.InReader(move.Reader))
                && world.Truth.InReader(move.Reader) is null
                && world.Truth.Cards.GetValueOrDefault(move.Reader.Value) == c.Wanted.Request.Lot ? action : null,
            StepAction.Clear clear => c.Place == new CartridgePlace.InReader(clear.Reader) && ReadIsOver(c)
                ? action : null,
            // Nobody throws away as too old to load what is loaded, or as too old to read what is in the reader.
            StepAction.Discard => c.ReadStart is null
                && (c.LoadEnd is null) == (tablet.Shown?.Find(id)?.Phase is CartridgePhase.Mixed) ? action : null,
            _ => null,
        };
    }

    private bool IsUsable(CartridgePlace place) => !world.Truth.Broken.Contains(place);

    private bool ReadIsOver(TrueCartridge c)
    {
        if (c.ReadOver is not { } over)
            return false;
        if (over > world.Now)
            ThinkAt(over);
        return over <= world.Now;
    }

    private StepAction.Load? FreePlace(StepAction.Load load)
    {
        if (!IsUsable(load.Place))
            return null;
        if (load.Place is CartridgePlace.InReader inside)
            return world.Truth.InReader(inside.Reader) is null
                && world.Truth.Cards.GetValueOrDefault(inside.Reader.Value) == world.Truth.Find(
                    load.Request)!.Wanted.Request.Lot ? load : null;
        if (world.Truth.At(load.Place) is null && otherSlotFor != load.Request)
            return load;
        // Whoever finds the slot full uses a free one, and says so.
        var free = Enumerable.Range(1, world.Recipe.Day.Bench.Slots)
            .Select(number => new CartridgePlace.InSlot(new SlotNumber(number)))
            .FirstOrDefault(slot => slot != load.Place && IsUsable(slot) && world.Truth.At(slot) is null);
        if (free is null)
            return world.Truth.At(load.Place) is null ? load : null;
        return load with { Place = free };
    }

    private void BeginWhenReady(StepAction action, Offer offer)
    {
        var name = $"{action.GetType().Name} {action.Subject} {offer.MayBegin}";
        if (delay.Offer != name)
        {
            otherSlotFor = action is StepAction.Load && world.Chance(Habits.OtherSlotUsed) ? action.Subject : null;
            delay = new HabitsOnce(name, world.Now + DrawDelay());
            if (offer.LatestStart is { } latest && tablet.ToTrue(latest) is var last && last < delay.Until)
                world.Agenda.At(Instant.Max(world.Now, last), world.Watch.IsLate);
        }

        if (delay.Until > world.Now)
        {
            ThinkAt(delay.Until);
            return;
        }

        if (world.Chance(Habits.NotBegun))
        {
            world.Count("not begun");
            busy = true;
            tablet.Say(new BenchCommand.NotBegun(hands), tablet.Time, _ => Free());
            return;
        }

        if (world.Chance(Habits.TapTakenBack))
        {
            TapAndTakeBack(action);
            return;
        }

        Begin(action, offer.PlannedEnd - offer.MayBegin, offer.LatestStart, offer.ReportFrom, offer.AskWhenAfter);
    }

    private Duration DrawDelay()
    {
        if (world.Chance(Habits.Away))
        {
            world.Count("hands away");
            return Duration.FromSeconds(world.Between(120, 900));
        }

        if (!world.Chance(Habits.LateBegin))
            return Duration.Zero;
        world.Count("late begin");
        return Duration.FromSeconds(world.Between(5, 90));
    }

    private void Free()
    {
        busy = false;
        Doing = null;
        Think();
    }

    /// <summary>A tap for what was not done, and its undo.</summary>
    private void TapAndTakeBack(StepAction action)
    {
        world.Count("tap taken back");
        busy = true;
        var wrong = tablet.Say(VirtualAide.ReportOf(action), tablet.Time, _ =>
            world.Agenda.In(Duration.FromMilliseconds(world.Between(1500, 15000)), Free));
        world.Agenda.In(Duration.FromMilliseconds(world.Between(1000, 10000)),
            () => tablet.Say(new BenchCommand.Undo(wrong.Id), tablet.Time));
    }
}
