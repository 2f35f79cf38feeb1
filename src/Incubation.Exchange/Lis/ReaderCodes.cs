namespace Incubation.Exchange.Lis;

/// <summary>The letters by which LIS02-A2 says what the typed message enumerates.</summary>
internal static class ReaderCodes
{
    public static ReaderResultStatus StatusOf(string code) => code switch
    {
        "" or "F" => ReaderResultStatus.Final,
        "V" => ReaderResultStatus.Verified,
        "R" => ReaderResultStatus.SentBefore,
        "C" => ReaderResultStatus.Correction,
        "P" or "S" => ReaderResultStatus.Preliminary,
        "I" or "N" => ReaderResultStatus.Pending,
        "W" => ReaderResultStatus.Doubted,
        "X" => ReaderResultStatus.NotMeasured,
        _ => ReaderResultStatus.Unknown,
    };

    /// <summary>
    /// Whether a remark of this type (C.5) can say something against a result: the instrument's own (I), and one of no
    /// type or of an unknown one. Generic words (G), a test's name (T), and positive and negative remarks (P, N) do
    /// not.
    /// </summary>
    public static bool IsWarning(string type) => type is not ("G" or "T" or "P" or "N");

    /// <summary>
    /// Whether a flag (R.7) is none of those that only place a value: low, high, beyond the scale, normal, abnormal,
    /// up, down, better, worse.
    /// </summary>
    public static bool IsNoPlainFlag(string flag) => flag.ToUpperInvariant() is not ("L" or "H" or "LL" or "HH" or "<"
        or ">" or "N" or "A" or "U" or "D" or "B" or "W");

    public static string CodeOf(ReaderResultStatus status) => status switch
    {
        ReaderResultStatus.Final => "F",
        ReaderResultStatus.Verified => "V",
        ReaderResultStatus.SentBefore => "R",
        ReaderResultStatus.Correction => "C",
        ReaderResultStatus.Preliminary => "P",
        ReaderResultStatus.Pending => "I",
        ReaderResultStatus.Doubted => "W",
        ReaderResultStatus.NotMeasured => "X",
        _ => throw new ArgumentOutOfRangeException(nameof(status), status, "No letter says this status."),
    };

    public static MessageUse UseOf(string code) => code switch
    {
        "" or "P" => MessageUse.Production,
        "T" => MessageUse.Training,
        "D" => MessageUse.Debugging,
        "Q" => MessageUse.QualityControl,
        _ => MessageUse.Unknown,
    };

    public static string CodeOf(MessageUse use) => use switch
    {
        MessageUse.Production => "P",
        MessageUse.Training => "T",
        MessageUse.Debugging => "D",
        MessageUse.QualityControl => "Q",
        _ => throw new ArgumentOutOfRangeException(nameof(use), use, "No letter says this use."),
    };

    /// <summary>F ends an answer to a question as it should.</summary>
    public static MessageEnd EndOf(string code) => code switch
    {
        "" or "N" or "F" => MessageEnd.Normal,
        "T" or "R" => MessageEnd.BrokenOff,
        "E" or "Q" => MessageEnd.Fault,
        _ => MessageEnd.Unknown,
    };
}
