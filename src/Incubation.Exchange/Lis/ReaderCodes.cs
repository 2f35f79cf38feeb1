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
