namespace Incubation.Records.Log;

/// <summary>In what a stream differs from what was once written.</summary>
public enum LogDifference
{
    /// <summary>The row that should stand here is missing; a later one was found.</summary>
    RowMissing,

    /// <summary>The header does not have the hash that stands beside it.</summary>
    HeaderDiffers,

    /// <summary>The row does not carry the hash of the row before it.</summary>
    LinkDiffers,

    /// <summary>The payload does not have the hash that its header carries.</summary>
    PayloadDiffers,

    /// <summary>The payload is gone, and nothing says that it was erased by rule.</summary>
    PayloadMissing,

    /// <summary>The row holds something that no program ever wrote there.</summary>
    Unreadable,

    /// <summary>A payload stands without its header: rows were cut off the end of the stream.</summary>
    HeaderMissing,

    /// <summary>The stream ends before the row that was signed last: its end was cut off.</summary>
    TailCut,

    /// <summary>The chain leads to another row than the one that was signed: it was made anew.</summary>
    ChainAnew,

    /// <summary>Rows stand after the one that was signed last: another program wrote them.</summary>
    RowsUnsigned,

    /// <summary>The signed head is not there.</summary>
    HeadMissing,

    /// <summary>The signed head was not signed with the record's key.</summary>
    HeadDiffers,

    /// <summary>A stream of the signed list is not there.</summary>
    StreamMissing,

    /// <summary>The stream does not stand in the signed list: another program wrote it.</summary>
    StreamUnlisted,

    /// <summary>The list of streams was not signed with the record's key.</summary>
    ListDiffers,

    /// <summary>A rule that keeps other programs from changing the log is not there, or is another.</summary>
    TriggerDiffers,

    /// <summary>
    /// What lies beside the log was not sealed with the record's key, or with another value: a row of a table was
    /// changed or put there.
    /// </summary>
    SealDiffers,

    /// <summary>A sealed row beside the log is none that the log knows in force: an older one was put back.</summary>
    PutBack,

    /// <summary>A table, index, trigger or view is not there, is one too many, or is another.</summary>
    FormDiffers,
}

/// <summary>The log does not hold what was written. Nothing may be built on a stream from this row on.</summary>
public sealed class LogBrokenException : Exception
{
    internal LogBrokenException(string stream, long sequence, LogDifference difference, Exception? inner = null)
        : base(Say(stream, sequence, difference), inner)
    {
        Stream = stream;
        Sequence = sequence;
        Difference = difference;
    }

    /// <summary>
    /// The stream, as it names itself; for a trigger, a table or an index its name, for a row beside the log its table
    /// and key.
    /// </summary>
    public string Stream { get; }

    /// <summary>The first row that differs.</summary>
    public long Sequence { get; }

    /// <summary>What differs.</summary>
    public LogDifference Difference { get; }

    /// <summary>A secret can be set again; a sign-in or a snapshot is left out where a backup is restored.</summary>
    private static string AdviceOn(string row) =>
        row.StartsWith("Secrets", StringComparison.Ordinal) ? Words.SealSetAgain : Words.SealLeftOut;

    private static string Say(string stream, long sequence, LogDifference difference)
    {
        if (difference == LogDifference.ListDiffers)
            return Words.LogListBroken;
        if (difference == LogDifference.SealDiffers)
            return Sentence.Of(Words.SealBroken, stream, AdviceOn(stream));
        if (difference == LogDifference.PutBack)
            return Sentence.Of(Words.SealPutBack, stream, AdviceOn(stream));
        if (difference == LogDifference.TriggerDiffers)
            return Sentence.Of(Words.LogTriggerBroken, stream);
        if (difference == LogDifference.FormDiffers)
            return Sentence.Of(Words.LogFormBroken, stream);
        var what = difference switch
        {
            LogDifference.RowMissing => Words.DifferenceRowMissing,
            LogDifference.HeaderDiffers => Words.DifferenceHeader,
            LogDifference.LinkDiffers => Words.DifferenceLink,
            LogDifference.PayloadDiffers => Words.DifferencePayload,
            LogDifference.PayloadMissing => Words.DifferencePayloadMissing,
            LogDifference.HeaderMissing => Words.DifferenceHeaderMissing,
            LogDifference.TailCut => Words.DifferenceTailCut,
            LogDifference.ChainAnew => Words.DifferenceChainAnew,
            LogDifference.RowsUnsigned => Words.DifferenceRowsUnsigned,
            LogDifference.HeadMissing => Words.DifferenceHeadMissing,
            LogDifference.HeadDiffers => Words.DifferenceHeadDiffers,
            LogDifference.StreamMissing => Words.DifferenceStreamMissing,
            LogDifference.StreamUnlisted => Words.DifferenceStreamUnlisted,
            _ => Words.DifferenceUnreadable,
        };
        return Sentence.Of(Words.LogBroken, stream, sequence, what);
    }
}

/// <summary>Why nothing was written.</summary>
public enum AppendFailure
{
    /// <summary>The stream has moved on since it was last read.</summary>
    Conflict,

    /// <summary>This command has been recorded before.</summary>
    AlreadyRecorded,

    /// <summary>A time lies outside the years 1678 to 2261, which the log can hold.</summary>
    TimeOutOfRange,

    /// <summary>No room is left on the disk.</summary>
    DiskFull,

    /// <summary>Another program holds the data file.</summary>
    Locked,

    /// <summary>The data file may not be written.</summary>
    ReadOnly,

    /// <summary>The disk reported an error.</summary>
    DiskFailed,

    /// <summary>The data file is damaged.</summary>
    Damaged,
}

/// <summary>An append wrote nothing: the stream stands as it stood before.</summary>
public sealed class AppendException : Exception
{
    internal AppendException(AppendFailure failure, StreamName stream, string message, Exception? inner = null)
        : base(message, inner)
    {
        Failure = failure;
        Stream = stream;
    }

    /// <summary>Why.</summary>
    public AppendFailure Failure { get; }

    /// <summary>The stream.</summary>
    public StreamName Stream { get; }
}

/// <summary>What is wrong with an event that cannot be read although its hashes are right.</summary>
public enum UnreadableEvent
{
    /// <summary>This program knows no event of this name.</summary>
    UnknownType,

    /// <summary>The payload has a form that is newer than this program.</summary>
    NewerVersion,

    /// <summary>No upcaster leads from this old form to the present one.</summary>
    NoUpcaster,

    /// <summary>The payload does not have the form that its type and version promise.</summary>
    OtherForm,
}

/// <summary>A row is whole, but this program cannot understand its event.</summary>
public sealed class UnreadableEventException : Exception
{
    internal UnreadableEventException(LogHeader header, UnreadableEvent why, Exception? inner = null)
        : base(Say(header, why, inner), inner)
    {
        Header = header;
        Why = why;
    }

    /// <summary>The row's header.</summary>
    public LogHeader Header { get; }

    /// <summary>What is wrong.</summary>
    public UnreadableEvent Why { get; }

    private static string Say(LogHeader header, UnreadableEvent why, Exception? inner)
    {
        var what = why switch
        {
            UnreadableEvent.UnknownType => Words.EventUnknownType,
            UnreadableEvent.NewerVersion => Words.EventNewerVersion,
            UnreadableEvent.NoUpcaster => Words.EventNoUpcaster,
            _ => Sentence.Of(Words.EventOtherForm, inner?.Message),
        };
        return Sentence.Of(
            Words.EventUnreadable, header.Stream, header.Sequence, header.EventType, header.SchemaVersion, what);
    }
}
