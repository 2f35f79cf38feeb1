using System.Globalization;
using NodaTime;

namespace Incubation.Faults;

/// <summary>Plays days and adds them up.</summary>
internal static class FaultRun
{
    /// <summary>So many broken days are named.</summary>
    private const int MaxNamed = 20;

    /// <summary>Plays one day of a run and says what it found; 1 where an invariant did not hold.</summary>
    public static int One(int day, ulong seed, bool trace, TextWriter output, bool extremes = true)
    {
        var report = World.Play(day, seed, trace, extremes);
        foreach (var line in report.Trace)
            output.WriteLine(line);
        Write([report], seed, output);
        return report.Violations.IsEmpty ? 0 : 1;
    }

    /// <summary>Plays the days of a run and prints their table; 1 where an invariant did not hold.</summary>
    public static int Many(int days, ulong seed, TextWriter output, int first = 0)
    {
        var reports = Play(days, seed, first);
        Write(reports, seed, output);
        return reports.All(report => report.Violations.IsEmpty) ? 0 : 1;
    }

    /// <summary>
    /// The days of a run, spread over the machine's cores; what each is depends on the seed and its number alone.
    /// </summary>
    public static IReadOnlyList<DayReport> Play(int days, ulong seed, int first = 0)
    {
        var reports = new DayReport[days];
        Parallel.For(0, days, number => reports[number] = World.Play(first + number, seed, tracing: false));
        return reports;
    }

    private static void Write(IReadOnlyList<DayReport> reports, ulong seed, TextWriter output)
    {
        foreach (var kinds in reports.GroupBy(report => report.Kind).OrderBy(group => group.Key))
        {
            var hours = kinds.Aggregate(Duration.Zero, (sum, report) => sum + report.Running).TotalHours;
            output.WriteLine(Line($"{kinds.Key}: {kinds.Count()} days, {hours:0} h"));
            foreach (var (what, count) in kinds.SelectMany(report => report.Counts).GroupBy(c => c.Key)
                .Select(g => (g.Key, g.Sum(c => c.Value))).OrderBy(c => c.Key, StringComparer.Ordinal))
            {
                var isAlarm = what.StartsWith("alarm", StringComparison.Ordinal);
                output.WriteLine(Line($"  {what,-58}{count,9}{(isAlarm ? Line($"   {count / hours:0.00}/h") : "")}"));
            }
        }

        var broken = reports.Where(report => !report.Violations.IsEmpty).ToList();
        output.WriteLine(
            Line($"{reports.Count} days of seed {seed}: {broken.Sum(report => report.Violations.Length)} violations ")
                + Line($"on {broken.Count} days"));
        foreach (var kind in broken.SelectMany(report => report.Violations).GroupBy(v => v.Split(':')[0])
            .OrderByDescending(g => g.Count()))
            output.WriteLine(Line($"  {kind.Count(),6} {kind.Key}"));
        foreach (var report in broken.Take(MaxNamed))
            output.WriteLine(Line($"  --day {report.Number} --seed {seed}: {report.Violations[0]}"));
    }

    private static string Line(FormattableString line) => line.ToString(CultureInfo.InvariantCulture);
}
