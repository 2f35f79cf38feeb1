using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Alarms;

/// <summary>
/// Knows which benches have a screen that can be seen and heard: bench pages say so themselves, every few seconds.
/// While clocks run at a bench without one, that is an alarm. Measures in real time, however fast a demo runs. May be
/// used from any thread.
/// </summary>
public sealed class ScreenWatch(BenchRegistry benches, BenchClock clock, ClinicHost clinic,
    [FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>A bench is without a screen when none has said for so long that it can be seen and heard.</summary>
    public static readonly Duration Patience = Duration.FromSeconds(10);

    private readonly Lock gate = new();
    private readonly Dictionary<BenchId, Attention> all = [];

    private sealed class Attention
    {
        public long? Heard;
        public long? NeededSince;
        public HostAlarm? Alarm;
    }

    /// <summary>A screen says how it stands.</summary>
    public void Attend(string bench, bool visible, bool sound)
    {
        if (!visible || !sound || benches.Find(bench) is not { } runner)
            return;
        lock (gate)
            Of(runner.Id).Heard = real.GetTimestamp();
        Check(runner);
    }

    /// <summary>Whether a screen of a bench has said lately that it can be seen and heard.</summary>
    public bool IsHeard(BenchId bench)
    {
        lock (gate)
            return all.TryGetValue(bench, out var one) && one.Heard is { } heard
                && real.GetElapsedTime(heard) <= Patience.ToTimeSpan();
    }

    /// <summary>The alarm at a bench, or null.</summary>
    public HostAlarm? AlarmOf(BenchId bench)
    {
        lock (gate)
            return all.TryGetValue(bench, out var one) ? one.Alarm : null;
    }

    /// <summary>Looks at every bench; to be called every second or so.</summary>
    public void Check()
    {
        foreach (var runner in benches.All)
            Check(runner);
    }

    private void Check(BenchRunner runner)
    {
        var state = runner.Present.State;
        lock (gate)
        {
            var one = Of(runner.Id);
            var next = Next(one, state);
            if (next == one.Alarm)
                return;
            one.Alarm = next;
        }

        runner.LookAgain();
    }

    private HostAlarm? Next(Attention one, BenchState state)
    {
        one.NeededSince = IsNeeded(state) ? one.NeededSince ?? real.GetTimestamp() : null;
        var isMissing = one.NeededSince is { } needed
            && real.GetElapsedTime(Math.Max(needed, one.Heard ?? needed)) > Patience.ToTimeSpan();
        return (isMissing, one.Alarm) switch
        {
            (true, null or { Ended: not null }) => Raise(),
            (false, { Ended: null } stands) => Pass(stands),
            // Latched until somebody has seen it, or the batch is history.
            (false, { Ended: not null } passed) when state.Phase != BatchPhase.Running
                || state.Acknowledged.Contains(passed.Alarm.Key) => null,
            _ => one.Alarm,
        };
    }

    private HostAlarm Raise()
    {
        var since = clock.Now;
        return new HostAlarm(
            new Alarm(HostAlarm.KeyOf(AlarmKind.NoScreen, since), since, null, null, Acknowledged: false), null,
                AlarmsWords.AlarmNoScreen, AlarmsWords.AlarmNoScreenText);
    }

    private HostAlarm Pass(HostAlarm stands)
    {
        var (from, to) = (Say.ClockWithSeconds(stands.Alarm.From, clinic.Facts.Zone),
            Say.ClockWithSeconds(clock.Now, clinic.Facts.Zone));
        return stands with
        {
            Ended = clock.Now,
            Title = AlarmsWords.AlarmNoScreenPassed,
            Text = Say.Of(AlarmsWords.AlarmNoScreenPassedText, from, to)
        };
    }

    private static bool IsNeeded(BenchState state) =>
        state.Phase == BatchPhase.Running
            && state.Cartridges.Any(cartridge => cartridge.Phase is CartridgePhase.Mixed or CartridgePhase.Reacting);

    private Attention Of(BenchId bench)
    {
        if (!all.TryGetValue(bench, out var one))
            all[bench] = one = new Attention();
        return one;
    }
}
