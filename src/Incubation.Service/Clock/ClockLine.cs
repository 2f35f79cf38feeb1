using System.Text.Json;
using Incubation.Service.Settings;

namespace Incubation.Service.Clock;

/// <summary>A line from real time to the server's time.</summary>
/// <param name="Real">A real instant.</param>
/// <param name="Server">The server's time at it.</param>
/// <param name="Rate">Seconds of the server's time in one real second, at least 1.</param>
public sealed record ClockLine(DateTimeOffset Real, DateTimeOffset Server, double Rate)
{
    /// <summary>The server's time at a real instant.</summary>
    public DateTimeOffset At(DateTimeOffset real) =>
        Rate == 1 ? Server + (real - Real) : Server + TimeSpan.FromTicks((long)((real - Real).Ticks * Rate));

    /// <summary>Real time.</summary>
    public static ClockLine RealTime(DateTimeOffset now) => new(now, now, 1);

    /// <summary>The same line from an instant on at another rate.</summary>
    public ClockLine BentAt(DateTimeOffset real, double rate) => rate == Rate
        ? this : new ClockLine(real, At(real), rate);

    /// <summary>
    /// The line that the data beside this file was written under, so that a restart never sets the clock back; bent to
    /// the rate asked for. Data that never ran faster than real time has no such file.
    /// </summary>
    /// <exception cref="InvalidDataException">The file is not one that <see cref="Save"/> wrote.</exception>
    public static ClockLine Continue(string path, DateTimeOffset now, double rate)
    {
        var line = File.Exists(path) ? Load(path) : RealTime(now);
        var bent = line.BentAt(now, rate);
        if (bent.Rate != 1 || bent.Server != bent.Real)
            bent.Save(path);
        return bent;
    }

    private static ClockLine Load(string path)
    {
        try
        {
            var line = JsonSerializer.Deserialize<ClockLine>(File.ReadAllText(path));
            if (line is { Rate: >= 1 and <= ServerSettings.MaximumPace })
                return line;
        }
        catch (JsonException)
        {
            // Falls through to the sentence below: the file's place matters, the parser's words do not.
        }

        throw new InvalidDataException(Text.Say.Of(ServerClockWords.ClockFileUnreadable, path));
    }

    private void Save(string path)
    {
        // Written aside and renamed, so that a kill in between leaves the old line or the new, never half of one.
        var aside = path + ".new";
        File.WriteAllText(aside, JsonSerializer.Serialize(this));
        File.Move(aside, path, overwrite: true);
    }
}
