using NodaTime;

namespace Incubation.Service.People;

/// <summary>What is counted: tries for a name from a place.</summary>
/// <param name="Name">Whose secret is tried; "" stands for every name that nobody can have.</param>
/// <param name="Place">Where the tries come from; "" for all places together.</param>
internal readonly record struct GuessKey(string Name, string Place);

/// <summary>How often a secret was guessed wrongly, and from when on the next try is heard.</summary>
/// <param name="Wrong">Wrong ones one after the other.</param>
/// <param name="NotBefore">A try before this must wait.</param>
/// <param name="Last">When it was last tried.</param>
/// <param name="IsTold">Whether this wait stands in the log.</param>
internal sealed record GuessCount(int Wrong, Instant NotBefore, Instant Last, bool IsTold);

/// <summary>
/// Counts in a memory that is fixed: at most <see cref="MaxKept"/>, none longer than <see cref="KeptFor"/> after its
/// last try. Where it is full, what was tried longest ago is forgotten first. Not safe for several threads at once.
/// </summary>
internal sealed class GuessCounts
{
    /// <summary>So many counts are kept: a few megabytes.</summary>
    public const int MaxKept = 10_000;

    /// <summary>A count is forgotten so long after its last try.</summary>
    public static readonly Duration KeptFor = Duration.FromHours(24);

    private readonly Dictionary<GuessKey, LinkedListNode<(GuessKey Key, GuessCount Count)>> byKey = [];

    // By their last try, the oldest first.
    private readonly LinkedList<(GuessKey Key, GuessCount Count)> byAge = [];

    /// <summary>How many are kept.</summary>
    public int Size => byKey.Count;

    /// <summary>A count, or null.</summary>
    public GuessCount? Find(GuessKey key, Instant now) =>
        byKey.TryGetValue(key, out var node) && !IsOld(node.Value.Count, now) ? node.Value.Count : null;

    /// <summary>Keeps a count as the latest.</summary>
    public void Keep(GuessKey key, GuessCount count, Instant now)
    {
        Forget(key);
        while (byAge.First is { } oldest && (byKey.Count >= MaxKept || IsOld(oldest.Value.Count, now)))
            Forget(oldest.Value.Key);
        byKey[key] = byAge.AddLast((key, count));
    }

    /// <summary>Forgets a count.</summary>
    public void Forget(GuessKey key)
    {
        if (byKey.Remove(key, out var node))
            byAge.Remove(node);
    }

    /// <summary>Forgets every count of a name.</summary>
    public void ForgetAll(string name)
    {
        foreach (var key in byKey.Keys.Where(key => key.Name == name).ToList())
            Forget(key);
    }

    private static bool IsOld(GuessCount count, Instant now) => count.Last + KeptFor <= now;
}
