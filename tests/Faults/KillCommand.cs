using System.Globalization;

namespace Incubation.Faults;

/// <summary>Under what the program is killed.</summary>
internal enum KillKind
{
    /// <summary>Reports of two aides.</summary>
    Reports,

    /// <summary>Results of controls and patients, and their gates.</summary>
    Results,

    /// <summary>Results of which a receiver is told.</summary>
    Deliveries,
}

/// <summary>Kills as a command, with what came of them in words.</summary>
internal static class KillCommand
{
    /// <summary>Kills the program so many times; 1 where something was wrong.</summary>
    public static async Task<int> RunAsync(int kills, ulong seed, KillKind kind, TextWriter output,
        CancellationToken cancel)
    {
        var (faults, count, more) = await OfAsync(kills, seed, kind, cancel);
        foreach (var fault in faults)
            await output.WriteLineAsync(fault);
        await output.WriteLineAsync(string.Create(CultureInfo.InvariantCulture,
            $"{kills} kills with signal 9, {count} commands acknowledged, {faults.Count} faults"));
        if (more is not null)
            await output.WriteLineAsync(more);
        return faults.Count == 0 ? 0 : 1;
    }

    private static async Task<(IReadOnlyList<string> Faults, int Acknowledged, string? More)> OfAsync(int kills,
        ulong seed, KillKind kind, CancellationToken cancel)
    {
        switch (kind)
        {
            case KillKind.Results:
                var (faults, count, turned) = await ResultKillRun.RunAsync(kills, seed, cancel);
                return (faults, count, string.Create(CultureInfo.InvariantCulture,
                    $"{turned} starts with a gate that stood otherwise than its controls say"));
            case KillKind.Deliveries:
                (faults, count, var messages, var repeats) = await DeliveryKillRun.RunAsync(kills, seed, cancel);
                return (faults, count, string.Create(CultureInfo.InvariantCulture,
                    $"{messages} messages told, {repeats} of them came again under their ids"));
            default:
                (faults, count) = await KillRun.RunAsync(kills, seed, cancel);
                return (faults, count, null);
        }
    }
}
