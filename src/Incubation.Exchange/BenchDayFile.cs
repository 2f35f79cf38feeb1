using Incubation.Exchange.Json;
using Incubation.Model;

namespace Incubation.Exchange;

/// <summary>
/// Reads and writes bench-day files: planning problems as JSON. The README of this room describes every member.
/// </summary>
public static class BenchDayFile
{
    /// <summary>
    /// Reads a bench day. What cannot be understood, and what contradicts the rest, comes back as faults with their
    /// places; a day that is read can be planned, though perhaps not every request on it.
    /// </summary>
    /// <param name="json">The text of the file.</param>
    public static ParseResult<BenchDay> Parse(string json)
    {
        ArgumentNullException.ThrowIfNull(json);
        var faults = new FaultList();
        var day = JsonText.Read(json, faults) is { } root ? BenchDayReader.Read(root, faults) : null;
        return faults.Result(day);
    }

    /// <summary>
    /// Writes a bench day as a file that <see cref="Parse"/> reads back as the same day. Members that say what is so
    /// anyway are left out. Throws <see cref="ArgumentException"/> where a length is not of whole seconds or a time is
    /// finer than a millisecond, which no file can hold.
    /// </summary>
    public static string Write(BenchDay day)
    {
        ArgumentNullException.ThrowIfNull(day);
        return BenchDayWriter.Write(day);
    }
}
