using System.Collections.Immutable;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Why an instruction was refused; hosts have the words.</summary>
public enum Refusal
{
    BenchNotOpen,
    BenchAlreadyOpen,
    UnknownRequest,
    RequestAlreadyOnBench,
    TooManyRequests,
    AlreadyMixed,
    NothingToRepeat,
    NoSpecimenLeft,
    NothingRequested,
    BatchAlreadyRunning,
    BatchNotRunning,
    CartridgesInWork,
    ResultsMissing,
    PlanNotValid,
    NothingToUndo,
    NothingToSettle,
    UnknownHands,
    UnreadableTime,
    UnknownReport,
    NothingToCorrect,
    ReasonMissing,
    OthersRestOnIt,
    NoSuchQuestion,
    AnswerIncomplete,
    AlreadyOver,
    IntakeIsPaused,
    NoSuchThing,
    NotOutOfUse,
    WouldBeLost,
    TooManyHands,
    UnreadableLength,
    QuestionsOpen,
    NoResult,
    NotHeld,
    SameResult,
    ResultChanged,
    ResultThere,
    CriticalNotTold,
    NotReady,
    FatesMissing,
    FateStands,
    NoFate,
    HasItsValue,
    StillInWork,
    GivingUpNotConfirmed,
    NothingTold,
    NothingToTell,
    OtherPersonUnexplained,
    AmendmentWaits,
    NoAmendmentWaits,
    OwnAmendment,
    NotOneNumber,
    ResultKnown,
    TooManyProbes,
}

/// <summary>What the bench makes of a command.</summary>
public abstract record Decision
{
    private Decision() { }

    /// <summary>These events are to be recorded, in this order, all or none.</summary>
    public sealed record Accepted(ImmutableArray<BenchEvent> Events) : Decision
    {
        /// <summary>
        /// When they are recorded to have happened: the time that came with the command, or its arrival where that
        /// time cannot be. Null where the time is taken as it came.
        /// </summary>
        public Instant? At { get; init; }

        /// <summary>
        /// Of several reports told together: the touch of each event, in their order. Empty where all have the
        /// command's own.
        /// </summary>
        public ImmutableArray<Provenance> Touches { get; init; } = [];

        /// <summary>The entries to record for a command that was said so.</summary>
        public ImmutableArray<BenchEntry> Entries(Provenance said)
        {
            ArgumentNullException.ThrowIfNull(said);
            if (!Touches.IsEmpty)
                return [.. Events.Zip(Touches, (happened, touch) => new BenchEntry(happened, touch))];
            var recorded = At is { } at && at != said.At ? said with { At = at } : said;
            return [.. Events.Select(happened => new BenchEntry(happened, recorded))];
        }
    }

    /// <summary>This command was recorded before; nothing is to be done.</summary>
    public sealed record AlreadyRecorded : Decision;

    /// <summary>The instruction is refused, or the report names nothing that exists.</summary>
    /// <param name="Why">The reason.</param>
    /// <param name="Detail">The thing meant, or the rule broken, as data for the sentence.</param>
    public sealed record Refused(Refusal Why, string? Detail = null) : Decision
    {
        /// <summary>Of several things told together: which could not be recorded; else null.</summary>
        public Told? Of { get; init; }
    }
}
