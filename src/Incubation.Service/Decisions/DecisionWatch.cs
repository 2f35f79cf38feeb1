using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Snapshots;

namespace Incubation.Service.Decisions;

/// <summary>
/// Says when something may have come to wait for a decision, or not wait any more: to pages that stand open, a second
/// after something was recorded, once for whatever comes in that second.
/// </summary>
public sealed class DecisionWatch : IDisposable
{
    private static readonly TimeSpan Pause = TimeSpan.FromSeconds(1);
    private readonly BenchRegistry benches;
    private readonly ClinicHost clinic;
    private readonly ITimer timer;
    private int isNoted;

    /// <summary>Begins to watch.</summary>
    /// <param name="benches">The benches.</param>
    /// <param name="clinic">The clinic.</param>
    /// <param name="clock">Whose second it is.</param>
    public DecisionWatch(BenchRegistry benches, ClinicHost clinic, BenchClock clock)
    {
        ArgumentNullException.ThrowIfNull(benches);
        ArgumentNullException.ThrowIfNull(clinic);
        ArgumentNullException.ThrowIfNull(clock);
        (this.benches, this.clinic) = (benches, clinic);
        timer = clock.Time.CreateTimer(_ => Look(), null, Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        benches.Changed += Note;
        clinic.Log.Changed += Note;
    }

    /// <summary>Look again. On a thread of its own.</summary>
    public event Action? Changed;

    /// <inheritdoc/>
    public void Dispose()
    {
        benches.Changed -= Note;
        clinic.Log.Changed -= Note;
        timer.Dispose();
    }

    private void Note(BenchMoment view) => Note();

    private void Note()
    {
        // No page stands open.
        if (Changed is not null && Interlocked.Exchange(ref isNoted, 1) == 0)
            timer.Change(Pause, Timeout.InfiniteTimeSpan);
    }

    private void Look()
    {
        Interlocked.Exchange(ref isNoted, 0);
        Changed?.Invoke();
    }
}
