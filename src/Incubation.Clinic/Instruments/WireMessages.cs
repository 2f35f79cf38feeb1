using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Instruments;

/// <summary>What became of a result that came by wire.</summary>
public enum WireVerdict
{
    /// <summary>It was entered.</summary>
    Entered,

    /// <summary>It was there already, and changed nothing.</summary>
    AlreadyThere,

    /// <summary>A person must say.</summary>
    Asked,

    /// <summary>It is shown, and nothing is entered: the link only listens.</summary>
    Shown,

    /// <summary>Another value stands: it waits as an amendment.</summary>
    Proposed,
}

/// <summary>
/// What became of a result of a message. It holds no specimen and no value: those stand in the message.
/// </summary>
/// <param name="Result">Which of the message's results, from 1; 0 for the message as a whole.</param>
/// <param name="Verdict">What became of it.</param>
/// <param name="Question">Why a person must say; null where nobody must.</param>
/// <param name="Request">The cartridge that it is of, or would be; null where there is none.</param>
/// <param name="Ahead">How far the instrument's clock was ahead of the bench's, where its specimen alone said whose the
/// result is; null where that is not known.</param>
public sealed record WireFate(int Result, WireVerdict Verdict, MatchQuestion? Question = null,
    RequestId? Request = null, Duration? Ahead = null)
{
    /// <summary>Stands for the message as a whole.</summary>
    public const int WholeMessage = 0;
}

/// <summary>What a person did about a question.</summary>
public enum WireSettling
{
    /// <summary>It was entered for a cartridge that the person chose.</summary>
    Entered,

    /// <summary>It was matched again, after something had been put right.</summary>
    Matched,

    /// <summary>It was put aside.</summary>
    Aside,
}

/// <summary>What was decided about a question.</summary>
/// <param name="Settling">What was done.</param>
/// <param name="Request">For which cartridge; null where it was put aside.</param>
/// <param name="Why">Why, in words; empty where it was matched again.</param>
/// <param name="By">Who said so; the instrument itself where it sent the same again.</param>
/// <param name="At">When.</param>
public sealed record WireSettled(WireSettling Settling, RequestId? Request, string Why, PersonId By, Instant At);

/// <summary>A message that was taken.</summary>
/// <param name="Number">Its number in the clinic, from 1.</param>
/// <param name="Instrument">Whose.</param>
/// <param name="Fingerprint">SHA-256 of its bytes, in hexadecimal digits.</param>
/// <param name="Body">The same of its bytes after the first record.</param>
/// <param name="Length">How many bytes it has.</param>
/// <param name="IsWhole">Whether it came to its end.</param>
/// <param name="At">When it was taken.</param>
public sealed record WireMessage(long Number, InstrumentId Instrument, string Fingerprint, string Body, int Length,
    bool IsWhole, Instant At)
{
    /// <summary>What became of its results; null while that is not decided.</summary>
    public ImmutableArray<WireFate>? Fates { get; init; }

    /// <summary>What was decided later about those of its results that were asked, by result.</summary>
    public ImmutableDictionary<int, WireSettled> Settled { get; init; } = ImmutableDictionary<int, WireSettled>.Empty;

    /// <summary>When the last of it was decided; null while anything of it is open.</summary>
    public Instant? DoneAt { get; init; }
}

/// <summary>A result that waits for a person.</summary>
/// <param name="Message">Its message.</param>
/// <param name="Fate">What is asked.</param>
public sealed record WireQuestion(WireMessage Message, WireFate Fate);
