using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Service.Text;

namespace Incubation.Service.Clinic;

/// <summary>The words of what the clinic's log says of instruments.</summary>
public static class InstrumentText
{
    /// <summary>Why the clinic's log refused something about an instrument; null for what is not about one.</summary>
    public static string? Of(ClinicRefusal why) => why switch
    {
        ClinicRefusal.UnknownInstrument => InstrumentWords.RefusedUnknownInstrument,
        ClinicRefusal.InstrumentImpossible => InstrumentWords.RefusedInstrument,
        ClinicRefusal.LineTaken => InstrumentWords.RefusedLineTaken,
        ClinicRefusal.WireMessageIsSo => InstrumentWords.RefusedMessageIsSo,
        _ => null,
    };

    /// <summary>What happened, in a sentence; null for what is not about an instrument.</summary>
    public static string? Of(ClinicEvent happened) => happened switch
    {
        ClinicEvent.InstrumentSet set => Say.Of(InstrumentWords.LogSet, set.Link.Name, set.Instrument,
            set.Link.Reader, set.Link.Bench, Of(set.Link.Transport),
            set.Link.OnlyListens ? InstrumentWords.LogOnlyListens : InstrumentWords.LogEnters),
        ClinicEvent.InstrumentEnded ended => Say.Of(InstrumentWords.LogEnded, ended.Instrument, ended.Why),
        ClinicEvent.WireMessageTaken taken => Say.Of(taken.IsWhole ? InstrumentWords.LogTaken
            : InstrumentWords.LogTakenCut, taken.Message, taken.Instrument, taken.Length),
        ClinicEvent.WireMessageJudged judged => Say.Of(InstrumentWords.LogJudged, judged.Message,
            Count(judged, WireVerdict.Entered), Count(judged, WireVerdict.AlreadyThere),
            Count(judged, WireVerdict.Asked) + Count(judged, WireVerdict.Proposed), Count(judged, WireVerdict.Shown)),
        ClinicEvent.WireQuestionSettled { Settling: WireSettling.Entered } settled => Say.Of(
            InstrumentWords.LogSettledEntered, settled.Message, settled.Result, settled.Request, settled.Why),
        ClinicEvent.WireQuestionSettled { Settling: WireSettling.Matched } settled => Say.Of(
            InstrumentWords.LogSettledMatched, settled.Message, settled.Result, settled.Request),
        ClinicEvent.WireQuestionSettled settled => Say.Of(InstrumentWords.LogSettledAside, settled.Message,
            settled.Result, settled.Why),
        ClinicEvent.WireMessagesKept kept => Say.Of(InstrumentWords.LogKept, kept.Days),
        ClinicEvent.WireMessagesErased erased => Say.Of(InstrumentWords.LogErased, erased.Messages.Length,
            erased.Days),
        _ => null,
    };

    /// <summary>By what an instrument is reached.</summary>
    public static string Of(WireTransport transport) => transport switch
    {
        WireTransport.Tcp tcp => Say.Of(InstrumentWords.ByTcp, tcp.Address, tcp.Port, string.Join(", ", tcp.Peers)),
        WireTransport.Serial serial => Say.Of(InstrumentWords.BySerial, serial.Device, serial.Speed),
        _ => throw new ArgumentOutOfRangeException(nameof(transport), transport, "This line has no words."),
    };

    private static int Count(ClinicEvent.WireMessageJudged judged, WireVerdict verdict) =>
        judged.Fates.Count(fate => fate.Verdict == verdict);
}
