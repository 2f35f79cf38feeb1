namespace Incubation.Records.Log;

/// <summary>What a check of a whole stream found.</summary>
/// <param name="Stream">The stream, as it names itself.</param>
/// <param name="Head">The last row that can be trusted.</param>
/// <param name="Broken">The first fault, or null when the stream is whole.</param>
public sealed record StreamVerdict(string Stream, LogHead Head, LogBrokenException? Broken);

/// <summary>What a check of the whole record found.</summary>
/// <param name="Streams">Each stream, by name.</param>
/// <param name="Beside">Faults of what belongs to no stream that is there: streams that are gone, their list, the
/// tables, indexes, triggers and views.</param>
/// <param name="IsSigned">Whether the file holds signed heads; one of an older program does not.</param>
public sealed record RecordVerdict(IReadOnlyList<StreamVerdict> Streams, IReadOnlyList<LogBrokenException> Beside,
    bool IsSigned)
{
    /// <summary>All faults, those of the streams first.</summary>
    public IEnumerable<LogBrokenException> Faults => Streams.Select(verdict => verdict.Broken)
        .OfType<LogBrokenException>().Concat(Beside);
}
