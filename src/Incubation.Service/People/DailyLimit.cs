using NodaTime;

namespace Incubation.Service.People;

/// <summary>Lets something happen so many times in a day, so that nobody fills a log with it.</summary>
/// <param name="most">How often.</param>
public sealed class DailyLimit(int most)
{
    private readonly Lock one = new();
    private Instant since;
    private int taken;

    /// <summary>Takes one; false where the day's are used up.</summary>
    public bool Take(Instant now)
    {
        lock (one)
        {
            if (now - since >= Duration.FromDays(1) || now < since)
                (since, taken) = (now, 0);
            return ++taken <= most;
        }
    }

    /// <summary>Whether the last one was the first of this day that was not let through.</summary>
    public bool IsFirstBeyond
    {
        get
        {
            lock (one)
                return taken == most + 1;
        }
    }
}
