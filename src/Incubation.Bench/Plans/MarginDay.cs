using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// A day seen with a margin: read windows, and times from mix to load, are shorter for cartridges that are still ahead
/// of them. A plan that is valid on it is valid on the day itself.
/// </summary>
internal static class MarginDay
{
    /// <summary>The day with the margin; the day itself where the margin is zero.</summary>
    public static BenchDay Of(BenchDay day, Duration margin)
    {
        if (margin <= Duration.Zero)
            return day;
        var assays = day.Assays.ToDictionary(assay => assay.Key);
        // An assay whose cartridges have different margins gets one version for each.
        var made = new Dictionary<(AssayKey, Ahead), Assay>();
        var requests = day.Requests.Select(request =>
        {
            var ahead = AheadOf(day.MidRun, request.Id);
            var assay = assays[request.AssayKey];
            if (!made.TryGetValue((assay.Key, ahead), out var seen))
                made[(assay.Key, ahead)] = seen = With(assay, day.Bench, ahead, margin) with
                { Version = made.Count + 1 };
            return request with { AssayVersion = seen.Version };
        }).ToList();
        return day with { Assays = [.. made.Values], Requests = requests };
    }

    /// <summary>Which times of a cartridge can still keep a margin.</summary>
    private enum Ahead
    {
        /// <summary>Not mixed: both.</summary>
        Both,

        /// <summary>Mixed or being mixed: the read window.</summary>
        Window,

        /// <summary>Its load has begun: none.</summary>
        Nothing,
    }

    private static Ahead AheadOf(MidRun? run, RequestId request)
    {
        if (run is null)
            return Ahead.Both;
        var ahead = run.Cartridges.FirstOrDefault(cartridge => cartridge.Request == request)?.Phase switch
        {
            null => Ahead.Both,
            CartridgePhase.Mixed => Ahead.Window,
            _ => Ahead.Nothing,
        };
        return run.Steps.FirstOrDefault(step => step.Action.Subject == request)?.Action switch
        {
            null => ahead,
            StepAction.Mix => Ahead.Window,
            _ => Ahead.Nothing,
        };
    }

    private static Assay With(Assay assay, BenchSetup bench, Ahead ahead, Duration margin)
    {
        var window = ahead == Ahead.Nothing
            ? Duration.Zero
            : Within(margin, assay.ReadWindow - bench.ReadGuard - (assay.Load - assay.LoadShortest));
        var keeping = ahead == Ahead.Both
            ? Within(margin, assay.MixToLoad - (assay.Mix - assay.MixShortest))
            : Duration.Zero;
        return assay with
        {
            ReadWindow = assay.ReadWindow - window,
            MixToLoad = assay.MixToLoad - keeping,
        };
    }

    /// <summary>The margin, but at most half of the room, in whole milliseconds; none where there is no room.</summary>
    private static Duration Within(Duration margin, Duration room) =>
        room <= Duration.Zero
            ? Duration.Zero : Duration.FromMilliseconds(Math.Floor(Duration.Min(margin, room / 2).TotalMilliseconds));
}
