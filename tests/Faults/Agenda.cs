using NodaTime;

namespace Incubation.Faults;

/// <summary>
/// True time, and what happens at which instant of it. What is due at one instant happens in the order in which it was
/// put down.
/// </summary>
internal sealed class Agenda(Instant start)
{
    private readonly PriorityQueue<Action, (Instant At, long Order)> coming = new();
    private long order;

    /// <summary>The true time.</summary>
    public Instant Now { get; private set; } = start;

    /// <summary>Puts something down; what should have happened before now happens now.</summary>
    public void At(Instant at, Action what) => coming.Enqueue(what, (Instant.Max(at, Now), order++));

    /// <summary>Puts something down for so much later.</summary>
    public void In(Duration after, Action what) => At(Now + after, what);

    /// <summary>Lets the next thing happen; false where nothing is left.</summary>
    public bool Next()
    {
        if (!coming.TryDequeue(out var what, out var when))
            return false;
        Now = when.At;
        what();
        return true;
    }
}
