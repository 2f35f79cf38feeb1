using System.Collections.Immutable;
using Incubation.Clinic.Instruments;
using Incubation.Model;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>There is a link to an instrument, or it is another than before.</summary>
    /// <param name="Instrument">Names it in the log.</param>
    /// <param name="Link">The link.</param>
    public sealed record InstrumentSet(InstrumentId Instrument, InstrumentLink Link) : ClinicEvent;

    /// <summary>A link to an instrument is used no more.</summary>
    /// <param name="Instrument">Which.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record InstrumentEnded(InstrumentId Instrument, string Why) : ClinicEvent;

    /// <summary>A message of an instrument is on the disk; its bytes lie beside the log.</summary>
    /// <param name="Instrument">Whose.</param>
    /// <param name="Message">Its number in the clinic, from 1.</param>
    /// <param name="Fingerprint">SHA-256 of its bytes, in hexadecimal digits.</param>
    /// <param name="Body">The same of its bytes after the first record.</param>
    /// <param name="Length">How many bytes it has.</param>
    /// <param name="IsWhole">Whether it came to its end.</param>
    public sealed record WireMessageTaken(InstrumentId Instrument, long Message, string Fingerprint, string Body,
        int Length, bool IsWhole) : ClinicEvent;

    /// <summary>It is decided what becomes of a message's results.</summary>
    /// <param name="Message">The message.</param>
    /// <param name="Fates">Of each result; empty where it has none.</param>
    public sealed record WireMessageJudged(long Message, ImmutableArray<WireFate> Fates) : ClinicEvent;

    /// <summary>A person has decided about a result that came by wire.</summary>
    /// <param name="Message">Its message.</param>
    /// <param name="Result">Which of its results, from 1; 0 for the message as a whole.</param>
    /// <param name="Settling">What was done.</param>
    /// <param name="Request">For which cartridge, where it was entered; else null.</param>
    /// <param name="Why">Why, in words; empty where it was matched again.</param>
    public sealed record WireQuestionSettled(long Message, int Result, WireSettling Settling, RequestId? Request,
        string Why) : ClinicEvent;

    /// <summary>For how long the bytes of messages are kept, from now on.</summary>
    /// <param name="Days">So many days after the last of a message was decided.</param>
    public sealed record WireMessagesKept(int Days) : ClinicEvent;

    /// <summary>The bytes of messages were erased: all of them was decided so many days before.</summary>
    /// <param name="Messages">Their numbers.</param>
    /// <param name="Days">After so many days.</param>
    public sealed record WireMessagesErased(ImmutableArray<long> Messages, int Days) : ClinicEvent;
}
