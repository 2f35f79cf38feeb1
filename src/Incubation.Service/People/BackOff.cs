using System.Collections.Concurrent;
using Incubation.Model;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Extensions;

namespace Incubation.Service.People;

/// <summary>
/// Makes guessing slow: after some wrong secrets each further try must wait, twice as long as the one before. What is
/// counted is a person together with where the tries come from (an enrolled device, or a network address), so that
/// nobody can keep a colleague out from somewhere else.
/// </summary>
public sealed class BackOff([FromKeyedServices(Sessions.RealTime)] TimeProvider real)
{
    /// <summary>So many wrong ones cost nothing: fingers slip.</summary>
    public const int Free = 4;

    /// <summary>
    /// At most so many wrong ones one after the other on one side: NIST SP 800-63B. Then the secret must be set anew.
    /// </summary>
    public const int MaxInARow = 100;

    private const int MaxKept = 10_000;
    private static readonly Duration First = Duration.FromSeconds(5);
    private static readonly Duration Longest = Duration.FromMinutes(15);
    private readonly ConcurrentDictionary<(string Name, string Place), Count> counts = new();

    private sealed record Count(int Wrong, Instant NotBefore, bool IsTold);

    private Instant Now => real.GetUtcNow().ToInstant();

    /// <summary>How long a try for a name from a place must still wait; zero where it need not.</summary>
    public Duration Wait(string name, string place) =>
        counts.TryGetValue((name, place), out var count) && count.NotBefore > Now
            ? count.NotBefore - Now : Duration.Zero;

    /// <summary>
    /// Takes one try before it is judged, as if it were wrong: many at the same moment count as many one after the
    /// other.
    /// <see cref="Right"/> gives it back.
    /// </summary>
    /// <returns>How long it must still wait, and no try is taken; or zero.</returns>
    public Duration Take(string name, string place)
    {
        while (true)
        {
            if (!counts.TryGetValue((name, place), out var count))
            {
                Thin();
                if (counts.TryAdd((name, place), Next(1)))
                    return Duration.Zero;
            }
            else if (count.NotBefore > Now)
            {
                return count.NotBefore - Now;
            }
            else if (counts.TryUpdate((name, place), Next(count.Wrong + 1), count))
            {
                return Duration.Zero;
            }
        }
    }

    /// <summary>As above, in a sentence: how long it must still wait, or null where the try was taken.</summary>
    public string? MustWait(string name, string place) => Take(name, place) is var wait && wait > Duration.Zero
        ? Sentence(wait) : null;

    /// <summary>Says how long to wait.</summary>
    public static string Sentence(Duration wait) => Say.Of(PeopleWords.SignInMustWait, Say.Length(wait));

    private void Thin()
    {
        // A flood of invented names must not fill the memory: those that have waited longest are forgotten first.
        if (counts.Count >= MaxKept)
            foreach (var (key, count) in counts)
                if (count.NotBefore + Longest <= Now)
                    counts.TryRemove(key, out _);
    }

    /// <summary>
    /// Whether this is the first try of a wait: it stands in the log, those after it would only flood it.
    /// </summary>
    public bool IsFirstOfWait(string name, string place)
    {
        while (true)
        {
            if (!counts.TryGetValue((name, place), out var count))
            {
                if (counts.TryAdd((name, place), new Count(0, Now, true)))
                    return true;
            }
            else if (count.IsTold)
            {
                return false;
            }
            else if (counts.TryUpdate((name, place), count with { IsTold = true }, count))
            {
                return true;
            }
        }
    }

    /// <summary>Notes that the right secret was given.</summary>
    public void Right(string name, string place) => counts.TryRemove((name, place), out _);

    /// <summary>Forgets a person's counts: the secret was set anew.</summary>
    public void Forget(PersonId person)
    {
        foreach (var key in counts.Keys.Where(key => key.Name == person.Value))
            counts.TryRemove(key, out _);
    }

    private Count Next(int wrong)
    {
        if (wrong <= Free)
            return new Count(wrong, Now, false);
        var doubled = First * Math.Pow(2, Math.Min(wrong - Free - 1, 20));
        return new Count(wrong, Now + Duration.Min(doubled, Longest), false);
    }
}
