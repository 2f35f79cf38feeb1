namespace Incubation.Service.People;

/// <summary>
/// Lets a few secrets be hashed at once, a few more wait, and no others in: hashing is slow on purpose, and whoever may
/// ask for it without limit stops the bench.
/// </summary>
public sealed class HashingQueue(int atOnce, int maxWaiting) : IDisposable
{
    private readonly SemaphoreSlim turns = new(atOnce);
    private int inside;

    /// <summary>The usual one: half of the processors, and a queue of some seconds.</summary>
    public HashingQueue() : this(Math.Max(1, Environment.ProcessorCount / 2), 32)
    {
    }

    /// <summary>Waits for a turn; disposing of it gives it back. Null where too many wait already.</summary>
    public async Task<IDisposable?> EnterAsync()
    {
        if (Interlocked.Increment(ref inside) > atOnce + maxWaiting)
        {
            Interlocked.Decrement(ref inside);
            return null;
        }

        await turns.WaitAsync();
        return new Turn(this);
    }

    /// <summary>Gives the turns back.</summary>
    public void Dispose() => turns.Dispose();

    private sealed class Turn(HashingQueue queue) : IDisposable
    {
        private int isOver;

        public void Dispose()
        {
            if (Interlocked.Exchange(ref isOver, 1) != 0)
                return;
            Interlocked.Decrement(ref queue.inside);
            queue.turns.Release();
        }
    }
}
