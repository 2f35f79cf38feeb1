using Incubation.Clinic.People;
using Incubation.Service.Clock;

namespace Incubation.Service.Commands;

/// <summary>
/// How many commands one sender may have recorded: so many at once, and then so many a second, in the server's time.
/// What is beyond comes later; nothing true is lost by it. Two pairs of hands at a step every five seconds make 24 a
/// minute, and a tablet that was alone for a day keeps some hundreds of reports: the usual figures (120 at once, then
/// 2 a second) are above both, and keep whatever runs wild below 175,000 rows a day. A locked tablet, on which anybody
/// may report, has half of the first and a sixth of the second: 60 at once, then 20 a minute.
/// </summary>
public sealed class WriteBudget(BenchClock clock, double commandsASecond)
{
    /// <summary>Commands a second where nothing is set.</summary>
    public const double UsualRate = 2;

    /// <summary>The most that can be set.</summary>
    public const double MaximumRate = 1000;

    /// <summary>So many seconds' worth may come at once.</summary>
    private const double BurstSeconds = 60;

    private const double LockedBurstShare = 1.0 / 2;
    private const double LockedRateShare = 1.0 / 6;

    /// <summary>Beyond so many senders those are forgotten whose budget is whole again.</summary>
    private const int MaxRemembered = 1000;

    private readonly long start = clock.Time.GetTimestamp();

    // For each sender the time, in seconds since the start, at which its budget is whole again.
    private readonly Dictionary<string, double> wholeAt = new(StringComparer.Ordinal);
    private readonly Lock gate = new();

    /// <summary>
    /// Takes a command out of a sender's budget. Null where it was there; else the seconds, at least 1, until it is
    /// there again.
    /// </summary>
    /// <param name="sender">Who sends it.</param>
    /// <param name="reports">How many reports it holds: each counts, as far as a whole budget goes.</param>
    public int? Take(Actor sender, int reports = 1)
    {
        ArgumentNullException.ThrowIfNull(sender);
        var isLocked = sender is Actor.Tablet;
        var apart = 1 / (isLocked ? commandsASecond * LockedRateShare : commandsASecond);
        var burst = Math.Max(1, commandsASecond * BurstSeconds * (isLocked ? LockedBurstShare : 1));
        var now = clock.Time.GetElapsedTime(start).TotalSeconds;
        lock (gate)
        {
            if (wholeAt.Count > MaxRemembered)
                foreach (var (idle, _) in wholeAt.Where(one => one.Value <= now).ToList())
                    wholeAt.Remove(idle);
            var name = NameOf(sender);
            var whole = Math.Max(now, wholeAt.GetValueOrDefault(name)) + (Math.Min(reports, burst) * apart);
            var early = whole - now - (burst * apart);
            if (early > 0)
                return Math.Max(1, (int)Math.Ceiling(early / clock.Rate));
            wholeAt[name] = whole;
            return null;
        }
    }

    /// <summary>A person at a browser of their own counts as one, however many they open.</summary>
    private static string NameOf(Actor sender) => sender switch
    {
        Actor.Person { On: null } person => "person " + person.Who.Id.Value,
        Actor.Tablet tablet => "locked " + tablet.Device.Value,
        Actor.Person { On: { } device } => "device " + device.Id.Value,
        _ => "device " + sender.Device.Value,
    };
}
