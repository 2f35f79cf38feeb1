using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Clock;

/// <summary>Why the server's time is in doubt.</summary>
/// <param name="Key">Names what it was compared with.</param>
/// <param name="Difference">How far the other is ahead of the server; negative where it is behind.</param>
/// <param name="Since">Since when, by the server's time.</param>
/// <param name="Sentence">For people: what differs and by how much.</param>
public sealed record ClockFault(string Key, Duration Difference, Instant Since, string Sentence);

/// <summary>
/// Whether the server's time is agreed: with the last event in the log, with the tablets' clocks, and with the
/// machine's own clock while the server runs. While it is not, verdicts that rest on the time are held until a person
/// confirms it. May be used from any thread.
/// </summary>
/// <param name="clock">The server's time.</param>
/// <param name="zone">The clinic's zone.</param>
/// <param name="isRealTime">False in a demo whose time runs faster, or has: its clock can be compared with the log
/// alone.</param>
public sealed class ClockGuard(BenchClock clock, Func<DateTimeZone> zone, bool isRealTime)
{
    /// <summary>A difference up to this is none.</summary>
    public static readonly Duration Tolerance = Duration.FromSeconds(5);

    /// <summary>More tablets than any clinic has: what names itself a tablet cannot fill the memory.</summary>
    private const int MaxTablets = 200;

    private const string LogKey = "log";
    private const string MachineKey = "machine";

    private readonly Lock gate = new();
    private readonly Dictionary<string, ClockFault> faults = [];
    private readonly HashSet<string> heard = [];

    /// <summary>Called when the time has come into doubt, or has been agreed.</summary>
    public event Action? Changed;

    /// <summary>The first thing that the time disagrees with, or null when it is agreed.</summary>
    public ClockFault? Doubt { get; private set; }

    /// <summary>Everything that the time disagrees with.</summary>
    public IReadOnlyList<ClockFault> Faults
    {
        get
        {
            lock (gate)
                return [.. faults.Values];
        }
    }

    /// <summary>The latest arrival in the log, where it lies after the server's time.</summary>
    public Instant? LogAhead { get; private set; }

    /// <summary>At start: the time of the last event may not lie after the server's.</summary>
    public void CompareWithLog(Instant lastArrived)
    {
        var ahead = lastArrived - clock.Now;
        if (ahead <= Tolerance)
            return;
        LogAhead = lastArrived;
        Raise(new ClockFault(LogKey, ahead, clock.Now,
            Say.Of(ServerClockWords.ClockLogAhead, Date(lastArrived), Date(clock.Now))));
    }

    /// <summary>A tablet says what its own clock shows; the first time after a start it is compared.</summary>
    public void CompareWithTablet(string tablet, Instant shows)
    {
        lock (gate)
        {
            if (!isRealTime || heard.Count >= MaxTablets || !heard.Add(tablet))
                return;
        }

        var ahead = shows - clock.Now;
        if (ahead > Tolerance || ahead < -Tolerance)
            Raise(new ClockFault("tablet/" + tablet, ahead, clock.Now,
                Say.Of(ServerClockWords.ClockTabletDiffers, Date(shows), Date(clock.Now))));
    }

    /// <summary>While it runs: the machine's clock against the lengths that the server has measured itself.</summary>
    public void CompareWithMachine(Duration ahead)
    {
        if (ahead > Tolerance || ahead < -Tolerance)
            Raise(new ClockFault(MachineKey, ahead, clock.Now,
                Say.Of(ServerClockWords.ClockMachineMoved, Date(clock.Now + ahead), Date(clock.Now))));
        else
            Settle(MachineKey);
    }

    /// <summary>A person has confirmed the server's time.</summary>
    public void Confirm() => Settle(null);

    private void Raise(ClockFault fault)
    {
        lock (gate)
        {
            if (!faults.TryAdd(fault.Key, fault))
                return;
            Doubt = faults.Values.First();
        }

        Changed?.Invoke();
    }

    private void Settle(string? key)
    {
        lock (gate)
        {
            if (key is null ? faults.Count == 0 : !faults.Remove(key))
                return;
            if (key is null)
                faults.Clear();
            Doubt = faults.Values.FirstOrDefault();
            if (Doubt is not null)
                return;
        }

        Changed?.Invoke();
    }

    private string Date(Instant at) => Say.DateAndTime(at, zone());
}
