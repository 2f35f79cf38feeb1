using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>
/// A person who does exactly what the screen says as soon as they look, answers truly, and is called away.
/// </summary>
internal sealed partial class LatePerson(LateWorld world, LateScreen own, HandsNumber hands)
{
    private static readonly Duration TimeToRead = Duration.FromSeconds(1);

    private readonly HashSet<RequestId> resultsTold = [];
    private (StepAction Action, Instant Since)? shown;
    private Instant awayUntil;
    private Instant lookAt = Instant.MaxValue;
    private Instant checkedAt;
    private bool mayLeave = true;

    /// <summary>A step that hands are at.</summary>
    internal sealed record Step(StepAction Action, Instant Begun, Duration Allowed, Duration Left);

    /// <summary>A step that was done and not told.</summary>
    private sealed record Untold(StepAction Action, Instant End);

    /// <summary>Their own, or the one on which somebody works for these hands until the server is back.</summary>
    public LateScreen Screen => world.Screens.FirstOrDefault(screen => screen.Taken.Contains(hands)) ?? own;

    public HandsNumber Hands => hands;

    /// <summary>What these hands are at; null where they are free.</summary>
    public Step? Doing { get; private set; }

    /// <summary>What was begun and left when they were called away.</summary>
    private Step? paused;

    private Untold? untold;

    public bool IsAway => awayUntil > world.Now;

    /// <summary>
    /// Until when nobody can know that these hands are away: their step is within its allowed time.
    /// </summary>
    public Instant BelievedUntil { get; private set; } = Instant.MinValue;

    public bool IsBusy => Doing is not null || IsAway;

    /// <summary>Whether something was done for which the screen has had no tap yet.</summary>
    public bool HasToTell => untold is not null;

    /// <summary>Looks at the screen, tells what was done, answers, and begins what it says.</summary>
    public void Look()
    {
        if (IsAway || Doing is not null || world.IsOver || Screen.Shown is not { } state)
            return;
        if (Screen.IsAlone)
        {
            TellAlone(state);
            AnswerAlone(state);
            if (state.Phase != BatchPhase.Preparing)
                BeginAlone(state);
            return;
        }

        if (!Screen.IsCurrent && world.OutageUntil is not null)
            LookAt(world.Now + Duration.FromSeconds(2));
        if (!Screen.IsCurrent || state.Phase == BatchPhase.Preparing)
            return;
        var view = LiveBench.View(state, world.Now);
        if (state.OutOfUse.Any(entry => entry.Resource == new BenchResource.Hands(hands)))
        {
            world.Count("back, said so");
            Screen.Say(new BenchCommand.PutBackInUse(new BenchResource.Hands(hands)));
            return;
        }

        if (TellWhatIsDone(state, view) || Answer(view))
        {
            // Its answer is waited for, and where none comes the screen goes on alone.
            if (world.OutageUntil is not null)
                LookAt(world.Now + Duration.FromSeconds(2));
            return;
        }

        EnterResults(state);
        if (!Screen.IsCurrent)
            return;
        if (Wanted(state, view) is not { } act)
        {
            if (!TellWhatIsFound(state, view))
                Wait(view);
        }
        else if (act.Offer is { IfNotBegun: not null } offer)
            SayNotBegun(offer);
        else if (IsReadSince(act.Action))
            Begin(act.Action, act.Offer, act.Allowed);
    }

    /// <summary>
    /// The card says that something else comes first if its step has not been begun: it has not, and one press says so.
    /// </summary>
    private void SayNotBegun(Offer offer)
    {
        world.Count("not begun, said so");
        Screen.Say(new BenchCommand.NotBegun(offer.Hands));
    }

    /// <summary>Whether a step has stood on the screen for as long as it takes to read; else it is looked at again.
    /// </summary>
    private bool IsReadSince(StepAction action)
    {
        if (shown?.Action != action)
            shown = (action, world.Now);
        if (world.Now - shown.Value.Since >= TimeToRead)
            return true;
        LookAt(shown.Value.Since + TimeToRead);
        return false;
    }

    /// <summary>What the screen wants of these hands and they can do: an alarm's act, then what Now says.</summary>
    private (StepAction Action, Offer? Offer, Duration Allowed)? Wanted(BenchState state, BenchView view)
    {
        if (AlarmAct(state, view, alone: false) is { } act)
            return (act, view.Offers.FirstOrDefault(o => o.Action == act), AllowedOf(act));
        if (view.Offers.FirstOrDefault(offer => offer.Hands == hands) is not { } offer || offer.MayBegin > world.Now
            || !LiveBench.CanBegin(state, offer.Action, world.Now))
            return null;
        return IsPossible(offer.Action) is { } action ? (action, offer, AllowedOf(action)) : null;
    }

    /// <summary>What the alarms that stand ask for and these hands can do, of the most urgent first.</summary>
    private StepAction? AlarmAct(BenchState state, BenchView view, bool alone) => view.Alarms
        .Where(alarm => alarm.StandsAt(view.At)).OrderByDescending(alarm => alarm.Priority)
        .ThenBy(alarm => alarm.Deadline ?? Instant.MaxValue).Select(alarm => ActOf(state, alarm))
        .Select(act => act is not null && !(alone && Screen.IsTold(act)) ? IsPossible(act) : null)
        .FirstOrDefault(act => act is not null);

    /// <summary>What an alarm asks for: the acts that it names, else what its condition says.</summary>
    private StepAction? ActOf(BenchState state, Alarm alarm)
    {
        // It says to follow the plan, which saves the others.
        if (alarm.OnlyIfQuick)
            return null;
        if (!alarm.Acts.IsEmpty)
            return alarm.Acts.Select(act => act.Action).FirstOrDefault(act => IsPossible(act) is not null);
        if (world.Find(alarm.Key.Request) is not { } c)
            return null;
        switch (alarm.Key.Kind)
        {
            case AlarmKind.WindowInDanger:
                var planned = state.Adopted?.MoveOf(c.Id)?.Step.Action;
                return planned is not null && IsPossible(planned) is not null ? planned
                    : Enumerable.Range(1, world.Recipe.Bench.Readers)
                        .Select(number => new StepAction.Move(c.Id, new ReaderNumber(number)))
                        .FirstOrDefault(move => IsPossible(move) is not null);
            case AlarmKind.MixtureInDanger:
                return state.Adopted?.Remaining.FirstOrDefault(row => row.Step.Action is StepAction.Load load
                    && load.Request == c.Id)?.Step.Action;
            default:
                return null;
        }
    }

    private Duration AllowedOf(StepAction action)
    {
        if (action is StepAction.CardChange)
            return world.Recipe.Bench.CardChange;
        var assay = world.Find(action.Subject!.Value)!.Assay;
        return action switch
        {
            StepAction.Mix => assay.Mix,
            StepAction.Load => assay.Load,
            StepAction.Move => assay.Move,
            _ => assay.Clear,
        };
    }

    /// <summary>What the hands can really do of what is asked: the step, the same load into a free slot, or nothing.
    /// </summary>
    private StepAction? IsPossible(StepAction action)
    {
        if (action is StepAction.CardChange change)
            return IsEmpty(change.Reader) ? action : null;
        if (world.Find(action.Subject!.Value) is not { } c || c.InHand is not null || c.IsGone)
            return null;
        return action switch
        {
            StepAction.Mix => c.MixEnd is null ? action : null,
            StepAction.Load load => c.MixEnd is not null && c.LoadEnd is null ? FreePlace(load, c) : null,
            StepAction.Move move => c is { LoadEnd: not null, Place: CartridgePlace.InSlot } && IsEmpty(move.Reader)
                && HasCard(move.Reader, c) ? action : null,
            StepAction.Clear clear => c.Place == new CartridgePlace.InReader(clear.Reader) && ReadIsOver(c)
                ? action : null,
            StepAction.Discard => c.ReadStart is null ? action : null,
            _ => null,
        };
    }

    private bool IsEmpty(ReaderNumber reader) => world.At(new CartridgePlace.InReader(reader)) is null
        && !world.People.Any(other => other != this && !other.IsAway && other.Doing?.Action.NeedsReader == reader);

    private bool HasCard(ReaderNumber reader, TrueWork c) =>
        world.Cards.TryGetValue(reader.Value, out var card) && card == c.Wanted.Request.Lot;

    private bool ReadIsOver(TrueWork c)
    {
        if (c.ReadOver is not { } over)
            return false;
        if (over > world.Now)
            LookAt(over);
        return over <= world.Now;
    }

    private StepAction.Load? FreePlace(StepAction.Load load, TrueWork c)
    {
        if (load.Place is CartridgePlace.InReader inside)
            return IsEmpty(inside.Reader) && HasCard(inside.Reader, c) ? load : null;
        if (world.At(load.Place) is null)
            return load;
        // Whoever finds the slot full uses a free one, and says so.
        return Enumerable.Range(1, world.Recipe.Bench.Slots)
            .Select(number => new CartridgePlace.InSlot(new SlotNumber(number)))
            .FirstOrDefault(slot => world.At(slot) is null) is { } free ? load with { Place = free } : null;
    }

    private void Wait(BenchView view)
    {
        if (world.Now - checkedAt > Duration.FromSeconds(20))
        {
            checkedAt = world.Now;
            world.Ledger.Check("waiting at the screen");
        }

        var next = view.ChangesAt ?? Instant.MaxValue;
        if (view.Offers.FirstOrDefault(offer => offer.Hands == hands) is { } offer && offer.MayBegin > world.Now)
            next = Instant.Min(next, offer.MayBegin);
        if (mayLeave && next - world.Now > Duration.FromSeconds(20) && world.Chance(world.Recipe.CalledAway))
        {
            // Nobody can know that they do not come to what they wait for.
            var believed = view.Offers.FirstOrDefault(offer => offer.Hands == hands) is { } waits
                ? waits.MayBegin + AllowedOf(waits.Action) - world.Now : Duration.Zero;
            CallAway("while waiting", believed);
            return;
        }

        mayLeave = false;
        LookAt(Instant.Min(next, world.Now + Duration.FromSeconds(30)));
    }

    private void LookAt(Instant at)
    {
        if (at >= lookAt && lookAt > world.Now)
            return;
        lookAt = at;
        world.Agenda.At(at, Look);
    }

    /// <summary>Called away for a minute to twenty; half of the time back in the last useful minute.</summary>
    /// <param name="when">At what.</param>
    /// <param name="believedFor">So long everybody who knows the plan takes these hands to be at their step.</param>
    /// <param name="isChecked">Whether the ledger was held against what was broken off, as it then stood.</param>
    private void CallAway(string when, Duration believedFor, bool isChecked = false)
    {
        if (!isChecked)
            world.Ledger.Check("being called away " + when);
        var length = Duration.FromSeconds(world.Between(60, 1200));
        if (world.Chance(0.6) && world.Ledger.LastUseful(this) is { } last
            && last - Duration.FromSeconds(world.Between(0, 60)) is var back
            && back - world.Now >= Duration.FromSeconds(60))
        {
            length = back - world.Now;
            world.Count("back in the last useful minute");
        }

        StayAway(length, "called away " + when, believedFor);
    }

    private void StayAway(Duration length, string why, Duration believedFor)
    {
        world.Count(why);
        world.Trace($"hands {hands} {why} for {length.TotalSeconds:0} s");
        awayUntil = world.Now + length;
        BelievedUntil = Instant.Min(awayUntil, world.Now + Duration.Max(Duration.Zero, believedFor));
        world.Ledger.CalledAway();
        if (BelievedUntil > world.Now)
            world.Agenda.At(BelievedUntil, world.Ledger.Look);
        world.Agenda.At(awayUntil, () =>
        {
            world.Trace($"hands {hands} look again");
            world.Ledger.Look();
            Look();
        });
    }

    private void EnterResults(BenchState state)
    {
        if (hands.Value != 1)
            return;
        foreach (var c in state.Cartridges.Where(c => c.ResultMissing && resultsTold.Add(c.Id)))
            Screen.Say(new BenchCommand.ResultEntered(c.Id, new ShownResult.Value("1.25")));
    }
}
