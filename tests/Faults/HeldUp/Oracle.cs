namespace Incubation.Faults.HeldUp;

/// <summary>
/// Knows the truth of a moment but not the future: finds the least loss that is still possible when every step takes
/// its allowed time, by trying every order of hands, cards and readers. It shares no code with the planner.
/// </summary>
internal static class Oracle
{
    /// <summary>So many tries to save one choice of cartridges, by default.</summary>
    private const int MaxTries = 20_000;

    /// <summary>So many where a loss would follow from having given up the search.</summary>
    public const int ManyTries = 400_000;

    /// <summary>The best that can still come of a moment.</summary>
    /// <param name="moment">The moment.</param>
    /// <param name="maxTries">After so many tries a choice of cartridges counts as not to be saved.</param>
    public static BestCourse Best(Moment moment, int maxTries = MaxTries)
    {
        var works = moment.Works;
        var forced = 0;
        var proved = true;
        bool Save(int given, out List<(string, long)> acts)
        {
            var orders = new Orders(moment, given, maxTries);
            var saved = orders.Find();
            proved &= saved || !orders.GaveUp;
            acts = orders.Acts;
            return saved;
        }

        if (Save(0, out var all))
            return new BestCourse(moment.Lost, [], [.. all], true);
        var everything = (1 << works.Length) - 1;
        for (var index = 0; index < works.Length; index++)
            if (!Save(everything & ~(1 << index), out _))
                forced |= 1 << index;
        Loss Of(int given) => Enumerable.Range(0, works.Length).Where(index => (given >> index & 1) != 0)
            .Aggregate(Loss.None, (sum, index) => sum + works[index].Weight);
        foreach (var given in Enumerable.Range(1, everything).Where(given => (given & forced) == forced)
            .OrderBy(Of).ThenBy(given => given))
            if (Save(given, out var acts))
                return new BestCourse(moment.Lost + Of(given),
                    [.. works.Where((_, index) => (given >> index & 1) != 0).Select(work => work.Name)],
                    [.. acts], proved);
        throw new InvalidOperationException("Giving up everything is always possible.");
    }
}
