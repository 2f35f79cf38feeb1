using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Tests.Contract;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>
/// What a pair of hands sees and taps. Without its server it keeps what is said until that is back.
/// </summary>
internal sealed class LateScreen(LateWorld world, int number)
{
    /// <summary>A message takes so long.</summary>
    private static readonly Duration Way = Duration.FromMilliseconds(40);

    /// <summary>What has just ended needs so long to be told and heard.</summary>
    private static readonly Duration ToTell = Duration.FromSeconds(1);

    private static readonly Duration Retry = Duration.FromSeconds(3);

    /// <summary>A screen that has heard nothing for so long says that it is alone.</summary>
    private static readonly Duration AloneAfter = Duration.FromSeconds(10);

    private readonly List<Said> outbox = [];
    private readonly HashSet<ReportId> aloneKnows = [];
    private (BenchState Of, AloneYardstick Page)? alone;
    private (BenchState Of, IReadOnlyList<Alarm> Alarms)? foreseen;
    private int said;
    private long shownAtLeast;

    /// <summary>Hands of another screen that somebody works for on this one, until the server is back.</summary>
    public HashSet<HandsNumber> Taken { get; } = [];

    public DeviceId Device { get; } = new($"tablet-{number}");

    public BenchState? Shown { get; private set; }

    public bool IsAlone => world.OutageUntil is not null && world.Now - world.OutageSince > AloneAfter;

    /// <summary>Whether everything said is answered, and what is shown is as new as the answers.</summary>
    public bool IsCurrent => outbox.Count == 0 && Shown is { } state && state.Revision >= shownAtLeast;

    public IReadOnlyList<Said> Outbox => outbox;

    public event Action? News;

    /// <summary>Says something; what a person taps is counted.</summary>
    public void Say(BenchCommand command, Instant? at = null, Action<bool>? answered = null)
    {
        var one = new Said(new ReportId($"T{number}-{++said}"), command, at ?? world.Now, world.Now, answered);
        if (command is BenchCommand.Report or BenchCommand.AnswerQuestion or BenchCommand.CorrectReport
            or BenchCommand.PutBackInUse)
            world.Count("tap");
        world.Trace($"tablet {number} says {Words.Of(command)} at {Words.Of(one.At)}");
        outbox.Add(one);
        Transmit(one);
    }

    private void Transmit(Said one)
    {
        if (one.IsAnswered || world.IsOver)
            return;
        if (world.OutageUntil is null && outbox[0] == one)
            world.Agenda.In(Way, () => Arrive(one));
        world.Agenda.In(Retry, () => Transmit(one));
    }

    private void Arrive(Said one)
    {
        if (world.OutageUntil is not null || one.IsAnswered)
            return;
        one.IsHeard = true;
        var answer = world.Server.Hear(this, one);
        world.Agenda.In(Way, () =>
        {
            if (one.IsAnswered || answer.Kind == AnswerKinds.NotNow)
                return;
            outbox.Remove(one);
            shownAtLeast = Math.Max(shownAtLeast, answer.Revision);
            if (!answer.Recorded)
                world.Trace($"the server refuses {Words.Of(one.Command)}: {answer.Sentence}");
            one.Answer(answer.Recorded);
            if (outbox.Count > 0)
                Transmit(outbox[0]);
            News?.Invoke();
        });
    }

    /// <summary>Whether what is kept here tells of a step.</summary>
    public bool IsTold(StepAction action) => outbox.Exists(said => (said.Command, action) switch
    {
        (BenchCommand.Mixed told, StepAction.Mix step) => told.Request == step.Request,
        (BenchCommand.Loaded told, StepAction.Load step) => told.Request == step.Request,
        (BenchCommand.ReadStarted told, StepAction.Move step) => told.Request == step.Request,
        (BenchCommand.Cleared told, StepAction.Clear step) => told.Request == step.Request,
        (BenchCommand.CardChanged told, StepAction.CardChange step) => told.Reader == step.Reader,
        (BenchCommand.Discarded told, _) => told.Request == action.Subject,
        _ => false,
    });

    /// <summary>What the page goes on with: what it showed last, and what was said here since.</summary>
    public AloneYardstick Alone(BenchState state)
    {
        if (alone?.Of != state)
        {
            alone = (state, new AloneYardstick(state, world.OutageSince + AloneAfter));
            aloneKnows.Clear();
        }

        foreach (var one in outbox.Where(one => aloneKnows.Add(one.Id)))
            if (one.Command is BenchCommand.Report or BenchCommand.AnswerQuestion or BenchCommand.PutBackInUse)
                alone.Value.Page.Report(one.Command, one.At, one.Since);
        return alone.Value.Page;
    }

    /// <summary>
    /// The alarms that the page has without its server: those that it foresaw, without those whose end was said here,
    /// and those of mixtures and read windows that began here.
    /// </summary>
    public IEnumerable<AlarmKey> AlarmsAlone()
    {
        if (Shown is not { } state)
            return [];
        if (foreseen?.Of != state)
            foreseen = (state, LiveBench.View(state, world.OutageSince, StepPatience.Usual).Alarms);
        var page = Alone(state);
        page.NotKnown(world.Now);
        return foreseen.Value.Alarms.Where(alarm => alarm.StandsAt(world.Now) && !IsEnded(alarm.Key)
                && !IsAtIt(page.State, alarm.Key))
            .Select(alarm => alarm.Key)
            .Concat(outbox.Select(said => said.Command).OfType<BenchCommand.Mixed>().Select(mixed => mixed.Request)
                .Concat(outbox.Select(said => said.Command).OfType<BenchCommand.Loaded>()
                    .Select(loaded => loaded.Request))
                .Distinct().Select(request => page.State.Find(request)).OfType<Cartridge>()
                .Select(cartridge => AlarmAlone(page.State, cartridge)).OfType<AlarmKey>());
    }

    /// <summary>Whether what ends an alarm was said here and waits for the server.</summary>
    public bool IsEnded(AlarmKey key) => outbox.Exists(said => said.Command switch
    {
        BenchCommand.Discarded told => told.Request == key.Request,
        BenchCommand.Loaded told => told.Request == key.Request
            && key.Kind is AlarmKind.MixtureInDanger or AlarmKind.MixtureTooOld,
        BenchCommand.ReadStarted told => told.Request == key.Request && IsOfRead(key.Kind),
        BenchCommand.Cleared told => told.Request == key.Request && IsOfRead(key.Kind),
        _ => false,
    });

    private static bool IsOfRead(AlarmKind kind) => kind is AlarmKind.WindowInDanger or AlarmKind.WindowClosed
        or AlarmKind.CannotBeSaved;

    private AlarmKey? AlarmAlone(BenchState state, Cartridge cartridge) => Last(cartridge) is not { } last ? null
        : world.Now >= last.TooLate ? new AlarmKey(last.Of.After, cartridge.Id)
        : world.Now >= Instant.Max(last.End, last.TooLate - state.Setup.ReadGuard - last.Length)
            ? new AlarmKey(last.Of.Before, cartridge.Id)
        : null;

    /// <summary>Whether the page believes that hands have come to a cartridge's load or move in time.</summary>
    private bool IsAtIt(BenchState state, AlarmKey key)
    {
        if (key.Kind is not (AlarmKind.MixtureInDanger or AlarmKind.WindowInDanger)
            || state.Find(key.Request) is not { } cartridge || Last(cartridge) is not { } by
            || LiveBench.Offers(state).FirstOrDefault(offer => offer.Action.Subject == key.Request
                && offer.Action is StepAction.Load or StepAction.Move) is not { } offer)
            return false;
        var end = Instant.Max(offer.PlannedEnd, offer.ReportFrom);
        var last = by.TooLate - Duration.Max(state.Setup.ReadGuard, ToTell);
        return end <= last && world.Now < Instant.Min(end + ToTell, last);
    }

    /// <summary>When a cartridge's step has ended, and until when the next one must have begun.</summary>
    private static (Instant End, Duration Length, Instant TooLate, (AlarmKind Before, AlarmKind After) Of)? Last(
        Cartridge cartridge)
    {
        var assay = cartridge.Wanted.Assay;
        return cartridge.Phase switch
        {
            CartridgePhase.Mixed { MixEnd: var end } => (end.Latest, assay.Load, end.Earliest + assay.MixToLoad,
                (AlarmKind.MixtureInDanger, AlarmKind.MixtureTooOld)),
            CartridgePhase.Reacting { Place: CartridgePlace.InSlot, LoadEnd: var end } => (end.Latest, assay.Move,
                end.Earliest + assay.Incubation + assay.ReadWindow,
                (AlarmKind.WindowInDanger, AlarmKind.WindowClosed)),
            _ => null,
        };
    }

    /// <summary>A snapshot is on its way.</summary>
    public void Send(BenchState state)
    {
        if (world.OutageUntil is null)
            world.Agenda.In(Way, () =>
            {
                if (world.OutageUntil is not null || (Shown is { } shown && state.Revision < shown.Revision))
                    return;
                Shown = state;
                News?.Invoke();
            });
    }
}
