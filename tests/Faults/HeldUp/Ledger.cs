using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>
/// Holds what becomes of the day against the best over the looks of those who were there. What could be saved at a look
/// must be saved, as long as nobody is called away after it; what is lost while somebody is away is told apart.
/// </summary>
internal sealed class Ledger(LateWorld world)
{
    private static readonly Duration LongestAway = Duration.FromMinutes(20);

    private Loss? promised;
    private BestCourse? promise;

    /// <summary>What was lost although it could have been saved: when, by what, and what would have saved it.</summary>
    public List<string> Broken { get; } = [];

    /// <summary>How many cartridges that were.</summary>
    public int LostNeedlessly { get; private set; }

    /// <summary>Searches that were given up.</summary>
    public int NotProved { get; private set; }

    /// <summary>Somebody who is there looks.</summary>
    public void Look()
    {
        if (world.People.All(person => person.IsAway) || world.People.Any(person => person.BelievedUntil > world.Now))
            return;
        var best = Best(TrueMoments.Of(world, isPromise: true));
        if (promised is { } earlier && !(best.Loss < earlier))
            return;
        promised = best.Loss;
        promise = best;
    }

    /// <summary>What could be saved must still be possible.</summary>
    public void Check(string after)
    {
        if (promised is not { } best)
            return;
        var moment = TrueMoments.Of(world, isPromise: false);
        var left = Best(moment);
        if (left.Loss > best && !left.IsProved)
            left = Oracle.Best(moment, Oracle.ManyTries);
        if (!(left.Loss > best))
            return;
        if (left.IsProved)
            Break(left, best, after);
        else
            world.Count("oracle could not say");
    }

    /// <summary>
    /// A pair of hands has been called away: nobody can promise any more what needs it. What those who stay can still
    /// do is promised anew.
    /// </summary>
    public void CalledAway()
    {
        (promised, promise) = (null, null);
        Look();
    }

    /// <summary>
    /// The last instant at which somebody who comes back can still save as much as now; null where that is not within
    /// the longest absence.
    /// </summary>
    public Instant? LastUseful(LatePerson who)
    {
        var now = world.Now;
        Loss At(Instant at) => Best(TrueMoments.Of(world, isPromise: true, at, who)).Loss;
        var best = At(now);
        var step = Duration.FromSeconds(30);
        for (var at = now + step; at <= now + LongestAway; at += step)
        {
            if (!(At(at) > best))
                continue;
            var (low, high) = (at - step, at);
            while (high - low > Duration.FromSeconds(1))
            {
                var middle = low + ((high - low) / 2);
                (low, high) = At(middle) > best ? (low, middle) : (middle, high);
            }

            return low;
        }

        return null;
    }

    /// <summary>The day is over.</summary>
    public void End() => Check("the end of the day");

    private void Break(BestCourse left, Loss best, string after)
    {
        LostNeedlessly += Math.Max(1, left.Loss.All - best.All);
        var line = $"at {Words.Of(world.Now)} s, after {after}: lost {left.Loss}, could be {best}; "
            + $"given up [{string.Join(", ", left.GivenUp)}]; what would have saved it: "
            + string.Join(", ", promise!.Acts.Select(act => $"{act.What} at "
                + Words.Of(Instant.FromUnixTimeMilliseconds(act.At))));
        Broken.Add(line);
        world.Trace("LOST NEEDLESSLY " + line);
        foreach (var id in left.GivenUp.Except(promise.GivenUp))
            world.Trace($"  the bench has {id} as {world.Server.State.Find(new(id))?.Stage}, mixed until "
                + $"{Words.Of(world.Find(new(id))!.MixEnd ?? world.Now)}, "
                + $"{world.Find(new(id))!.Assay}");
        promised = left.Loss;
    }

    private BestCourse Best(Moment moment)
    {
        var best = Oracle.Best(moment);
        if (!best.IsProved)
            NotProved++;
        return best;
    }
}
