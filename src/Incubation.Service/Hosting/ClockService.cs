using Incubation.Clinic;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using NodaTime;

namespace Incubation.Service.Hosting;

/// <summary>Compares the server's time at start, and takes a person's confirmation.</summary>
public sealed class ClockService(ClockGuard guard, ClinicHost clinic, BenchClock clock, DataFile file,
    TimeProvider time)
{
    /// <summary>
    /// The machine's own time, which the server's leaves where the machine's clock is set or the machine sleeps.
    /// </summary>
    public Instant MachineTime => clock.Now + MachineAhead;

    /// <summary>How far the machine's clock is ahead of the server's time.</summary>
    public Duration MachineAhead => time is PacedTimeProvider paced
        ? Duration.FromTimeSpan(paced.MachineAhead) : Duration.Zero;

    /// <summary>Before the first command: what in the log speaks against the time, or null.</summary>
    public ClockFault? CompareWithLog()
    {
        var settled = clinic.Log.ClockConfirmed;
        // Rows that were made by a clock that ran ahead are doubted once: a person has settled them.
        var last = file.Log.LastArrivals().Values
            .Where(arrived => settled is null || settled.LogAhead is not { } ahead || arrived > ahead
                || clock.Now < settled.Shown)
            .DefaultIfEmpty(Instant.MinValue).Max();
        if (last > Instant.MinValue)
            guard.CompareWithLog(last);
        return guard.Doubt;
    }

    /// <summary>
    /// Records that a person has confirmed the time. With <paramref name="machine"/> it is the machine's, which must be
    /// later than the server's: the server's time never runs backward. The sentence says why not, or is null.
    /// </summary>
    public string? Confirm(PersonId person, DeviceId device, bool machine)
    {
        if (guard.Doubt is null)
            return null;
        if (machine && (MachineAhead <= Duration.Zero || time is not PacedTimeProvider))
            return OpeningWords.ClockNotBackward;
        try
        {
            if (machine)
                ((PacedTimeProvider)time).GoForward(MachineAhead.ToTimeSpan());
            var provenance = Provenances.Of(person, device, clock);
            if (clinic.Log.IsOpen)
                clinic.Log.Record(new ClinicEvent.ClockConfirmed(provenance.At, guard.LogAhead), provenance);
            guard.Confirm();
            return null;
        }
        catch (AppendException fault)
        {
            return fault.Message;
        }
    }
}

/// <summary>While the server runs: notices that the machine's clock was set, or that the machine slept.</summary>
internal sealed class ClockWatch(ClockGuard guard, ClockService desk, TimeProvider time) : BackgroundService
{
    private static readonly TimeSpan Every = TimeSpan.FromSeconds(5);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        using var tick = new PeriodicTimer(Every, time);
        try
        {
            while (await tick.WaitForNextTickAsync(stoppingToken))
                guard.CompareWithMachine(desk.MachineAhead);
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }
}
