namespace Incubation.Records.Storage;

/// <summary>
/// A header as it is stored, in raw values: a row that someone has altered must still be readable, so that it can be
/// found to be altered. Times are nanoseconds since the Unix epoch.
/// </summary>
internal sealed record EventHeaderRow
{
    public required string Stream { get; init; }
    public required long Sequence { get; init; }
    public required long Arrived { get; init; }
    public required long Reported { get; init; }
    public required string Person { get; init; }
    public required string Device { get; init; }
    public required string Report { get; init; }
    public required long IndexInCommand { get; init; }
    public required string EventType { get; init; }
    public required long SchemaVersion { get; init; }
    public required byte[] PayloadHash { get; init; }
    public required byte[] PreviousHash { get; init; }
    public required byte[] Hash { get; init; }
}

/// <summary>
/// A payload as it is stored, beside its header, so that it can be erased by rule while the header stays.
/// </summary>
internal sealed record EventPayloadRow
{
    public required string Stream { get; init; }
    public required long Sequence { get; init; }
    public required string Json { get; init; }
}

/// <summary>The signed head of a stream.</summary>
internal sealed class HeadRow
{
    public required string Stream { get; init; }
    public required long Sequence { get; set; }
    public required byte[] Hash { get; set; }
    public required byte[] Signature { get; set; }
}

/// <summary>The names of all streams, signed: one row.</summary>
internal sealed class StreamListRow
{
    /// <summary>The one row's id.</summary>
    public const int Only = 1;

    public required int Id { get; init; }

    /// <summary>Name of the key that signed this and every head.</summary>
    public required string Key { get; set; }

    /// <summary>The names in order, as a JSON list.</summary>
    public required string Streams { get; set; }
    public required byte[] Signature { get; set; }
}

/// <summary>
/// Rows of a stream whose payloads were erased by rule. A convenience, without which no payload can be deleted: that
/// they were erased stands as an event in the clinic's stream.
/// </summary>
internal sealed class ErasureRow
{
    public required string Stream { get; init; }
    public required long First { get; init; }
    public required long Last { get; init; }

    /// <summary>
    /// In a bench's stream: the row that says what the bench knew after the last of them. In the clinic's: the row that
    /// says so.
    /// </summary>
    public required long Event { get; init; }
}

/// <summary>
/// A bench's state at a row of its stream, so that a start need not replay everything. A convenience, no record: it may
/// be deleted at any time, and only the program that wrote it reads it.
/// </summary>
internal sealed record SnapshotRow
{
    public required string Stream { get; init; }
    public required long Sequence { get; init; }

    /// <summary>Hash of the row that the state stands after.</summary>
    public required byte[] RowHash { get; init; }

    /// <summary>Names the build of the program that made the state.</summary>
    public required string Program { get; init; }

    public required string Json { get; init; }

    /// <summary>Seal of all of the above; a program that sealed nothing wrote their hash.</summary>
    public required byte[] Hash { get; init; }
}
