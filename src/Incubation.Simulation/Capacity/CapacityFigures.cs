using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation.Capacity;

/// <summary>Which part of its time a resource was taken, 0 to 1.</summary>
public sealed record Use(double Hands, double Slots, double Readers)
{
    /// <summary>Of so many of each over so long.</summary>
    internal static Use Of(Taken taken, Duration time, BenchSetup bench) => new(
        taken.Hands / (time * bench.Hands), bench.Slots == 0
            ? 0 : taken.Slots / (time * bench.Slots), taken.Readers / (time * bench.Readers));
}

/// <summary>What played days come to.</summary>
/// <param name="Days">Days played.</param>
/// <param name="Requests">Requests that came in.</param>
/// <param name="Missed">Cartridges read outside their window or thrown away.</param>
/// <param name="NotRun">Requests that were never mixed.</param>
/// <param name="PerHour">Results for each hour that the bench is open.</param>
/// <param name="Median">Time from coming in to being taken out with a result: its median; null where there was no
/// result.</param>
/// <param name="Ninetieth">Its 90th percentile.</param>
/// <param name="UrgentMedian">The same of urgent requests; null where none came.</param>
/// <param name="UrgentNinetieth">Its 90th percentile.</param>
/// <param name="Over">Mean time after closing until the last request had left.</param>
/// <param name="Use">Use of hands, slots and readers while the bench is open.</param>
/// <param name="Little">The two sides of Little's law.</param>
public sealed record CapacityFigures(
    int Days, long Requests, long Missed, long NotRun, Estimate PerHour, TimeEstimate? Median, TimeEstimate? Ninetieth,
    TimeEstimate? UrgentMedian, TimeEstimate? UrgentNinetieth, Duration Over, Use Use, LittlesLaw Little)
{
    /// <summary>Windows missed for every 1,000 cartridges that were mixed.</summary>
    public double MissedPerThousand => Requests == NotRun ? 0 : 1000.0 * Missed / (Requests - NotRun);

    /// <summary>
    /// Its 95 % confidence interval by <see cref="Statistics.Wilson95"/>, as if cartridges were independent.
    /// </summary>
    public (double Low, double High) MissedPerThousandInterval
    {
        get
        {
            if (Requests == NotRun)
                return (0, 1000);
            var (low, high) = Statistics.Wilson95(Missed, Requests - NotRun);
            return (1000 * low, 1000 * high);
        }
    }

    /// <summary>Adds days up.</summary>
    /// <param name="question">The bench that they were played at.</param>
    /// <param name="days">The days, at least one.</param>
    public static CapacityFigures Of(CapacityQuestion question, IReadOnlyList<PlayedDay> days)
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(days);
        ArgumentOutOfRangeException.ThrowIfZero(days.Count, nameof(days));
        var open = question.Demand.Close - question.Demand.Open;
        var all = TimesOf(days, null);
        var urgent = TimesOf(days, Priority.Urgent);
        var taken = new Taken(Sum(days, day => day.Taken.Hands), Sum(days, day => day.Taken.Slots),
            Sum(days, day => day.Taken.Readers));
        return new CapacityFigures(
            days.Count, Count(days, _ => true), Count(days, request => request.End == CartridgeEnd.Missed),
                Count(days, request => request.End == CartridgeEnd.NotRun),
            Sections.Of(all, some => some.Sum(day => day.Count) / (some.Count * open.TotalHours))!,
            Sections.Percentile(all, 0.5), Sections.Percentile(all, 0.9), Sections.Percentile(urgent, 0.5),
                Sections.Percentile(urgent, 0.9),
            Sum(days, day => day.Until - question.Demand.Close) / days.Count,
            Use.Of(taken, open * days.Count, question.Bench),
            LittlesLaw.Of(days));
    }

    private static List<IReadOnlyList<Duration>> TimesOf(IReadOnlyList<PlayedDay> days, Priority? priority) =>
    [
        .. days.Select(day => (IReadOnlyList<Duration>)[.. day.Requests
            .Where(request => request.End == CartridgeEnd.ReadInWindow
                && (priority is null || request.Priority == priority)).Select(request => request.Stayed)]),
    ];

    private static long Count(IReadOnlyList<PlayedDay> days, Func<PlayedRequest, bool> which) =>
        days.Sum(day => (long)day.Requests.Count(which));

    private static Duration Sum(IReadOnlyList<PlayedDay> days, Func<PlayedDay, Duration> length) =>
        days.Aggregate(Duration.Zero, (sum, day) => sum + length(day));
}

/// <summary>
/// Little's law, L = λW: the mean number of requests in a system is the rate at which they come times the mean time
/// that they stay (Little and Graves, Building Intuition, 2008, ch. 5). The number is taken from the bench's record,
/// the times from what became of each request; where they differ, something was lost or counted twice.
/// </summary>
/// <param name="Number">L: the mean number waiting or in work, from opening until the last has left.</param>
/// <param name="PerHour">λ: requests an hour over the same time.</param>
/// <param name="Stay">W: how long they stayed on average.</param>
public sealed record LittlesLaw(double Number, double PerHour, Duration Stay)
{
    /// <summary>Which part of the number the two sides differ by.</summary>
    public double Difference => Number == 0 ? 0 : Math.Abs(Number - (PerHour * Stay.TotalHours)) / Number;

    /// <summary>That of days that begin and end with nobody waiting.</summary>
    public static LittlesLaw Of(IReadOnlyList<PlayedDay> days)
    {
        ArgumentNullException.ThrowIfNull(days);
        var hours = days.Sum(day => (day.Until - day.From).TotalHours);
        var stays = days.SelectMany(day => day.Requests).Select(request => request.Stayed).ToList();
        var stayed = stays.Aggregate(Duration.Zero, (sum, stay) => sum + stay);
        return new LittlesLaw(
            days.Sum(day => day.InSystem) / hours, stays.Count / hours, stays.Count == 0
                ? Duration.Zero : stayed / stays.Count);
    }
}
