using System.Globalization;

namespace Incubation.Hostile;

/// <summary>Many cases inside the process, with what became of them.</summary>
internal static class InsideCommand
{
    private const int MostShown = 12;

    /// <summary>Plays the cases; 0 where nothing was found, else 1.</summary>
    public static async Task<int> RunAsync(int first, int count, ulong seed, string? keep, TextWriter output)
    {
        await using var run = await InsideRun.OpenAsync();
        var outcomes = new SortedDictionary<string, int>(StringComparer.Ordinal);
        var failing = new List<(InsideCase Case, string Finding)>();
        for (var number = first; number < first + count; number++)
        {
            var one = run.Draw(number, seed);
            if (keep is not null)
                one = one.Keep(keep.Split(','));
            var report = await run.PlayAsync(one);
            foreach (var outcome in report.Outcomes)
                outcomes[outcome] = outcomes.GetValueOrDefault(outcome) + 1;
            if (report.Findings.Count > 0)
                failing.Add((one, report.Findings[0]));
        }

        // Of those that fail alike, one is shown.
        foreach (var group in failing.GroupBy(one => Alike(one.Finding)).Take(MostShown))
        {
            var (one, finding) = group.First();
            await output.WriteLineAsync($"{group.Count()} x {finding[..Math.Min(finding.Length, 1500)]}");
            await output.WriteLineAsync("  " + (keep is null ? await run.ReduceAsync(one) : keep));
            if (keep is not null)
                foreach (var command in one.Commands)
                    await output.WriteLineAsync(
                        "  " + command + " " + string.Join(' ', command.Extreme.Select(part =>
                            part.Member + "=" + part.Json[..Math.Min(part.Json.Length, 80)])));
        }

        await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture,
            $"{count} cases from {first} of seed {seed}: {failing.Count} found something; commands: ")
            + string.Join(", ", outcomes.Select(outcome => outcome.Key + " " + outcome.Value)));
        return failing.Count == 0 ? 0 : 1;
    }

    /// <summary>A finding without its numbers and names.</summary>
    private static string Alike(string finding)
    {
        var line = finding.Split('\n');
        var where = line.FirstOrDefault(one => one.Contains("   at Incubation", StringComparison.Ordinal)) ?? "";
        return new string([.. (line[0][(line[0].IndexOf(':', StringComparison.Ordinal) + 1)..])
            .Where(letter => !char.IsDigit(letter)).Take(60)]) + where;
    }
}
