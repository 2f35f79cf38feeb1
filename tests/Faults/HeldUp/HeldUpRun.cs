using System.Globalization;
using NodaTime;

namespace Incubation.Faults.HeldUp;

/// <summary>Plays days on which people are called away, and adds them up.</summary>
internal static class HeldUpRun
{
    private const int MaxNamed = 100;

    /// <summary>Plays one day and says what it found; 1 where something was lost that could have been saved.</summary>
    public static int One(int day, ulong seed, bool trace, TextWriter output)
    {
        var report = LateWorld.Play(day, seed, trace);
        foreach (var line in report.Trace)
            output.WriteLine(line);
        Write([report], seed, output);
        return report.Broken.IsEmpty ? 0 : 1;
    }

    /// <summary>Plays the days of a run and prints their table; 1 where something was lost needlessly.</summary>
    public static int Many(int days, ulong seed, TextWriter output, int first = 0)
    {
        var reports = Play(days, seed, first);
        Write(reports, seed, output);
        return reports.All(report => report.Broken.IsEmpty) ? 0 : 1;
    }

    /// <summary>The days of a run; what each is depends on the seed and its number alone.</summary>
    public static IReadOnlyList<LateReport> Play(int days, ulong seed, int first = 0)
    {
        var reports = new LateReport[days];
        Parallel.For(0, days, number => reports[number] = LateWorld.Play(first + number, seed, tracing: false));
        return reports;
    }

    private static void Write(IReadOnlyList<LateReport> reports, ulong seed, TextWriter output)
    {
        foreach (var kinds in reports.GroupBy(report => report.Kind).OrderBy(group => group.Key))
        {
            var hours = kinds.Aggregate(Duration.Zero, (sum, report) => sum + report.Running).TotalHours;
            var counts = kinds.SelectMany(report => report.Counts).GroupBy(count => count.Key)
                .ToDictionary(group => group.Key, group => group.Sum(count => count.Value));
            int Of(string what) => counts.GetValueOrDefault(what);
            output.WriteLine(Line($"{kinds.Key}: {kinds.Count()} days, {hours:0} h; ")
                + Line($"{Of("tap") / (double)Math.Max(1, Of("cartridges")):0.00} taps a cartridge; ")
                + Line($"{Of("alarm") / hours:0.00} alarms an hour, ")
                + Line($"{Of("alarm that needed no act") / hours:0.00} that needed no act"));
            foreach (var (what, count) in counts.OrderBy(count => count.Key, StringComparer.Ordinal))
                output.WriteLine(Line($"  {what,-58}{count,9}"));
        }

        var (lost, needlessly) = (reports.Sum(r => r.Counts["cartridges lost"]), reports.Sum(r => r.LostNeedlessly));
        output.WriteLine(Line($"{lost} cartridges lost, of which {lost - needlessly} ")
            + Line($"({100.0 * (lost - needlessly) / Math.Max(1, lost):0} %) when nobody looked, or past saving"));
        var broken = reports.Where(report => !report.Broken.IsEmpty).ToList();
        output.WriteLine(Line($"{reports.Count} days of seed {seed}: {reports.Sum(report => report.LostNeedlessly)} ")
            + Line($"cartridges lost that could have been saved, on {broken.Count} days"));
        foreach (var report in broken.Take(MaxNamed))
            output.WriteLine(Line($"  --held-up --day {report.Number} --seed {seed}: {report.Broken[0]}"));
    }

    private static string Line(FormattableString line) => line.ToString(CultureInfo.InvariantCulture);
}
