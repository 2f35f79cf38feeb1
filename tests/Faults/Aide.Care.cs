using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// What a careful person sees when the screen and the bench differ, and says or does about it; and what is said beside
/// the steps: results, repeats, the end of the batch.
/// </summary>
internal sealed partial class Aide
{
    private const int MaxTries = 4;

    private readonly Dictionary<RequestId, Instant> differs = [];
    private readonly Dictionary<RequestId, int> tries = [];
    private LotCode? wrongCardScanned;
    private Instant? wrongCardSeen;

    /// <summary>One thing that is settled; true where the hands wait for its answer.</summary>
    private bool Settle(BenchState state)
    {
        foreach (var cartridge in state.Cartridges)
        {
            var c = world.Truth.Of(cartridge);
            if (c.InHand || world.IsBeingToldOf(c.Id))
            {
                differs.Remove(c.Id);
                continue;
            }

            if (Difference(cartridge, c) is not { } settle)
            {
                differs.Remove(c.Id);
                continue;
            }

            // It is noticed after a while, not at once.
            if (!differs.TryGetValue(c.Id, out var since))
                differs[c.Id] = since = world.Now;
            if (world.Now - since < Duration.FromSeconds(15))
                continue;
            differs.Remove(c.Id);
            world.Count("difference settled");
            // Whoever has said it several times, to no effect, gives the cartridge up.
            tries[c.Id] = tries.GetValueOrDefault(c.Id) + 1;
            if (tries[c.Id] > MaxTries && cartridge is { IsOver: false } && !c.IsGone)
            {
                world.Count("cartridge given up by hand");
                Throw(c);
            }
            else
            {
                settle();
            }

            return true;
        }

        return hands.Value == 1 && SaySomethingElse(state);
    }

    /// <summary>
    /// In what the screen differs from the bench, as what a person says about it; null where it does not.
    /// </summary>
    private Action? Difference(Cartridge shown, TrueCartridge c) => (shown.Stage, shown.Phase) switch
    {
        (CartridgeStage.Withdrawn or CartridgeStage.Discarded or CartridgeStage.Cleared, _) =>
            c is { IsGone: false, MixEnd: not null } ? () => RemoveUntold(c) : null,
        _ when c.ThrownAway is { } thrown => () =>
            Say(new BenchCommand.Discarded(c.Id, DiscardReason.Other, "thrown away before"), thrown),
        _ when c.ClearEnd is { } cleared => () => Say(new BenchCommand.Cleared(c.Id, ReaderOf(c)), cleared),
        (CartridgeStage.Waiting, _) => c.LoadEnd is not null ? () => SayWhereItIs(c)
            : c.MixEnd is { } mixed ? () => Say(new BenchCommand.Mixed(c.Id, TimeStated: true), mixed) : null,
        (CartridgeStage.Astray, _) => c.LoadEnd is null ? () => Throw(c) : CorrectPlace(c) ?? (() => SayWhereItIs(c)),
        (_, CartridgePhase.Mixed) => c.LoadEnd is not null ? () => SayWhereItIs(c) : c.MixEnd is null
            ? () => Throw(c) : null,
        (_, CartridgePhase.Reacting reacting) => c.ReadStarted is not null ? () => SayWhereItIs(c)
            : c.LoadEnd is null ? () => Throw(c)
            : c.Place is CartridgePlace.InReader && reacting.Place != c.Place
            ? () => SayWhereItIs(c) : CorrectSlot(c, reacting),
        (_, CartridgePhase.Reading or CartridgePhase.Read) => c.Place is not CartridgePlace.InReader
            ? () => Throw(c) : null,
        _ => null,
    };

    private static ReaderNumber ReaderOf(TrueCartridge c) => (c.Place as CartridgePlace.InReader)?.Reader
        ?? new ReaderNumber(1);

    private void SayWhereItIs(TrueCartridge c)
    {
        if (c.ReadStarted is { } read)
            Say(new BenchCommand.ReadStarted(c.Id, ReaderOf(c), StatedInTime: false), read);
        else if (c.Place is { } place)
            Say(new BenchCommand.Loaded(c.Id, place, TimeStated: true), c.LoadEnd!.Value);
        else
            Throw(c);
    }

    /// <summary>Says what was so at a true instant, which a person knows to a few seconds.</summary>
    private void Say(BenchCommand command, Instant at)
    {
        busy = true;
        var error = Duration.FromMilliseconds(world.Between(-2000, 2000));
        tablet.Say(command, Instant.Min(tablet.Time, at + tablet.Offset + error), _ => Free());
    }

    /// <summary>What nobody can bring in order is thrown away, and that is said.</summary>
    private void Throw(TrueCartridge c)
    {
        (c.ThrownAway, c.Place) = (world.Now, null);
        Say(new BenchCommand.Discarded(c.Id, DiscardReason.Other, "not where it should be"), world.Now);
    }

    /// <summary>What the record says is gone and is not is thrown away; nothing more can be said of it.</summary>
    private void RemoveUntold(TrueCartridge c)
    {
        world.Count("thrown away untold");
        (c.ThrownAway, c.Place) = (world.Now, null);
        busy = true;
        world.Agenda.In(Duration.FromSeconds(5), Free);
    }

    private bool SaySomethingElse(BenchState state)
    {
        if (state.Phase == BatchPhase.Preparing)
            return false;
        if (WrongCard(state) is { } seen)
        {
            world.Count("wrong card noticed");
            busy = true;
            tablet.Say(seen, tablet.Time, _ => Free());
            return true;
        }

        if (ShownWrongly(state) is { } right)
        {
            world.Count("shown as out of use or not ready, and is not");
            busy = true;
            tablet.Say(right, tablet.Time, _ => Free());
            return true;
        }

        if (state.Cartridges.FirstOrDefault(c => c.ResultMissing && !world.IsBeingToldOf(c.Id)) is { } missing)
        {
            var truth = world.Truth.Of(missing);
            var isRead = truth is { ClearEnd: not null } && truth.ReadOver <= truth.ClearEnd;
            ShownResult result = isRead && !world.Chance(0.02)
                ? new ShownResult.Value("1.25") : new ShownResult.NoValue("E3");
            tablet.Say(new BenchCommand.ResultEntered(missing.Id, result), tablet.Time);
            return false;
        }

        if (state.Cartridges.FirstOrDefault(c => IsToBeRepeated(state, c)) is { } first && world.TakeRepeat())
        {
            tablet.Say(new BenchCommand.OrderRepeat(first.Id), tablet.Time);
            return false;
        }

        return EndBatch(state);
    }

    /// <summary>That another card is in a reader than the screen shows; it is noticed after a while.</summary>
    private BenchCommand.CardSeen? WrongCard(BenchState state)
    {
        if (world.Extremes.WrongCard <= 0)
            return null;
        foreach (var (reader, card) in world.Truth.Cards)
        {
            if (state.CardIn(new ReaderNumber(reader)) is not { } shown || shown == card
                || world.Aides.Any(aide => aide.Doing?.Action.NeedsReader?.Value == reader))
                continue;
            wrongCardSeen ??= world.Now;
            if (world.Now - wrongCardSeen < Duration.FromSeconds(15))
            {
                ThinkAt(wrongCardSeen.Value + Duration.FromSeconds(15));
                return null;
            }

            wrongCardSeen = null;
            return new BenchCommand.CardSeen(new ReaderNumber(reader), card);
        }

        wrongCardSeen = null;
        return null;
    }

    /// <summary>
    /// What puts right that the screen shows something as out of use, or a specimen as not ready, that is; null where
    /// it shows none. Two messages of which the later overtook the earlier leave the screen so.
    /// </summary>
    private BenchCommand? ShownWrongly(BenchState state)
    {
        foreach (var entry in state.OutOfUse)
            if (entry.To > tablet.Time && Troubles.Places(state.Setup, entry.Resource) is { Length: > 0 } places
                && !places.Any(world.Truth.Broken.Contains))
                return new BenchCommand.PutBackInUse(entry.Resource);
        return state.Cartridges.FirstOrDefault(c => c is { Stage: CartridgeStage.Waiting, HeldBack: true }
            && !world.Truth.NotReady.Contains(c.Id)) is { } held
            ? new BenchCommand.ChangeReady(held.Id, tablet.Time)
            : null;
    }

    private static bool IsToBeRepeated(BenchState state, Cartridge c) =>
        c.Wanted.Request.RepeatLeft && (c.Stage is CartridgeStage.Discarded || c.Result is ReadResult.NoValue)
            && state.Find(new RequestId(c.Id.Value + "-2")) is null;

    /// <summary>What no plan can place is taken back when nothing else is left; then the batch is closed.</summary>
    private bool EndBatch(BenchState state)
    {
        if (!world.MayEnd || world.Aides.Any(other => other.IsBusy && other != this))
            return false;
        if (state.Cartridges.All(c => c.IsOver && !c.ResultMissing))
        {
            if (Fates.Open(state).FirstOrDefault() is { } open)
            {
                // What was not repeated goes on the next day where it can, or is given up.
                var carries = Fates.MayCarryOver(state, open) && world.Chance(0.5);
                world.Count(carries ? "request carried over" : "request given up");
                busy = true;
                tablet.Say(carries ? new BenchCommand.CarryOver(open.Id)
                    : new BenchCommand.GiveUpRequest(open.Id, "not run", Confirmed: true), tablet.Time, _ => Free());
                return true;
            }

            busy = true;
            tablet.Say(new BenchCommand.CloseBatch(), tablet.Time, _ => Free());
            return true;
        }

        if (!state.Cartridges.All(c => c.IsOver || c.Stage is CartridgeStage.Waiting))
            return false;
        if (state.Cartridges.FirstOrDefault(c => state.IsSetAside(c) || (c.Stage is CartridgeStage.Waiting
            && state.Adopted?.Plan.Unplaced.Any(u => u.Request == c.Id) == true)) is not { } waiting)
            return false;
        world.Count(state.IsSetAside(waiting) ? "request set aside and withdrawn" : "request that cannot be placed");
        busy = true;
        tablet.Say(new BenchCommand.WithdrawRequest(waiting.Id, "cannot be run"), tablet.Time, _ => Free());
        return true;
    }
}
