using System.Collections.Concurrent;
using Incubation.Model;
using NodaTime;

namespace Incubation.Service.Instruments;

/// <summary>What is known of an instrument's line since this server started.</summary>
/// <param name="Trouble">Why it cannot be used now, in a sentence; null where it can.</param>
/// <param name="Connections">How many connections there are; of a serial line, 1 while it is open.</param>
/// <param name="Heard">When something came last; null before the first byte.</param>
/// <param name="Strangers">How many connections came from addresses that may not connect, or were too many.</param>
/// <param name="Refused">How many frames were not taken, and their sender told so.</param>
/// <param name="Cut">How many messages ended before their end.</param>
/// <param name="Again">How many messages were the same again, and ignored.</param>
/// <param name="NotStored">How many times something could not be put on the disk.</param>
public sealed record LineFigures(string? Trouble, int Connections, Instant? Heard, long Strangers, long Refused,
    long Cut, long Again, long NotStored)
{
    /// <summary>Of a line that nothing is known of.</summary>
    public static LineFigures None { get; } = new(null, 0, null, 0, 0, 0, 0, 0);
}

/// <summary>The figures of all lines. They are kept in memory: one for each instrument, and no more.</summary>
public sealed class LineBook
{
    private readonly ConcurrentDictionary<InstrumentId, LineFigures> figures = new();

    /// <summary>What is known of an instrument's line.</summary>
    public LineFigures Of(InstrumentId instrument) => figures.GetValueOrDefault(instrument, LineFigures.None);

    /// <summary>Notes something of an instrument's line.</summary>
    internal void Note(InstrumentId instrument, Func<LineFigures, LineFigures> change) =>
        figures.AddOrUpdate(instrument, _ => change(LineFigures.None), (_, before) => change(before));
}
