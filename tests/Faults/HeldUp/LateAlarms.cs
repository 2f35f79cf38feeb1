using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>
/// The alarms that somebody can see: the server's, and while that cannot be reached those that the screens have alone.
/// </summary>
internal sealed class LateAlarms(LateWorld world)
{
    /// <summary>How often screens without their server are looked at.</summary>
    private static readonly Duration Look = Duration.FromSeconds(1);

    /// <summary>A begin is known no better: hands that report look and reach for what is next.</summary>
    private static readonly Duration Known = Duration.FromSeconds(5);

    private HashSet<AlarmKey> standing = [];

    /// <summary>
    /// The server's alarms are those that stand at an instant; a screen shows none whose end it has still to say.
    /// </summary>
    public void AreOnTheServer(BenchView look)
    {
        if (world.OutageUntil is null)
            Stand([.. look.Alarms.Where(alarm => alarm.StandsAt(look.At)).Select(alarm => alarm.Key)
                .Where(key => world.Screens.Any(screen => !screen.IsEnded(key)))]);
    }

    /// <summary>The server cannot be reached from now on.</summary>
    public void AreOnTheScreens()
    {
        if (world.OutageUntil is null || world.IsOver)
            return;
        Stand([.. world.Screens.SelectMany(screen => screen.AlarmsAlone())]);
        world.Agenda.In(Look, AreOnTheScreens);
    }

    private void Stand(HashSet<AlarmKey> now)
    {
        foreach (var key in now.Where(key => !standing.Contains(key)))
        {
            var needless = NeedsNobody(key);
            world.Count("alarm");
            if (needless)
                world.Count("alarm that needed no act");
            world.Trace($"alarm {key.Kind} of {key.Request}{(needless ? ", needs no act" : "")}");
        }

        standing = now;
    }

    /// <summary>
    /// Whether an alarm asks for nothing: somebody who is there is at the cartridge's step within its allowed time, or
    /// has just told of something that the server has not heard; or it says that it is too late, and it is not, however
    /// early the mix or the load can be taken to have ended.
    /// </summary>
    private bool NeedsNobody(AlarmKey key) => world.People.Any(person => !person.IsAway
            && person.Doing is { } doing && doing.Action.Subject == key.Request
            && doing.Begun + doing.Allowed >= world.Now)
        || world.Screens.Any(screen => screen.Outbox.Any(said => !said.IsHeard
            && world.Now - said.Since < Duration.FromSeconds(10) && said.Command is BenchCommand.Report))
        || world.Find(key.Request) is { } work && IsFalse(key.Kind, work);

    private bool IsFalse(AlarmKind kind, TrueWork work) => kind switch
    {
        AlarmKind.MixtureTooOld => work.LoadEnd is null && work.InHand is not StepAction.Load
            && world.Now + Known < work.MixEarliest + work.Assay.MixToLoad,
        AlarmKind.WindowClosed => work.ReadStart is null && work.InHand is not StepAction.Move
            && world.Now + Known < work.LoadEarliest + work.Assay.Incubation + work.Assay.ReadWindow,
        _ => false,
    };
}
