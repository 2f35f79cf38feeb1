using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Clinic;

public abstract partial record ClinicEvent
{
    /// <summary>
    /// A result was amended after its batch had been closed; while a batch is open its own stream says so.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Before">What the result was.</param>
    /// <param name="After">What it is.</param>
    /// <param name="Why">Why, in words.</param>
    /// <param name="Told">Who was told of it, in words; null where nobody was.</param>
    /// <param name="Reason">Which of the usual reasons it is; null where nobody chose one.</param>
    public sealed record ClosedResultAmended(BenchId Bench, int Batch, RequestId Request, ReadResult Before,
        ReadResult After, string Why, string? Told, AmendmentReason? Reason = null) : ClinicEvent;

    /// <summary>
    /// The value to which a result was amended with this cannot be: it is held until a supervisor releases it, or it is
    /// amended to one that can.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Question">What is asked.</param>
    public sealed record ClosedResultQuestioned(BenchId Bench, int Batch, RequestId Request, ValueQuestion Question)
        : ClinicEvent;

    /// <summary>Somebody must be told of what a result was amended to with this.</summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Cause">Why.</param>
    public sealed record ClosedTellingDue(BenchId Bench, int Batch, RequestId Request, TellingCause Cause)
        : ClinicEvent;

    /// <summary>Somebody was told of a result after its batch had been closed.</summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Whom">Who was told, in words.</param>
    /// <param name="ReadBack">Whether it was read back.</param>
    /// <param name="Why">Why not the person who was told of the earlier value, in words; null where it was.</param>
    /// <param name="Of">Of which value: how many amendments since the close were shown to who says it; null in logs of
    /// former versions, and where it is said with an amendment.</param>
    public sealed record ClosedResultTold(BenchId Bench, int Batch, RequestId Request, string Whom, bool ReadBack,
        string? Why, int? Of = null) : ClinicEvent;

    /// <summary>A supervisor says that nobody need be told of a result of a closed batch.</summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Why">Why, in words.</param>
    /// <param name="Of">Of which value: how many amendments since the close were shown to who says it; null in logs of
    /// former versions, and where it is said with an amendment.</param>
    public sealed record ClosedTellingWaived(BenchId Bench, int Batch, RequestId Request, string Why, int? Of = null)
        : ClinicEvent;

    /// <summary>
    /// From now on an amendment waits for another supervisor than who entered it, or does not any more.
    /// </summary>
    /// <param name="Second">Whether it waits.</param>
    public sealed record AmendmentRuleSet(bool Second) : ClinicEvent;

    /// <summary>
    /// An amendment of a closed batch's result was entered that waits for a second person: the result is held until
    /// then.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Before">What the result is.</param>
    /// <param name="After">What it is to be.</param>
    /// <param name="Why">Why, in words.</param>
    /// <param name="Reason">Which of the usual reasons it is; null where nobody chose one.</param>
    /// <param name="Due">Why somebody must be told of it once it is confirmed; null where nobody need be.</param>
    public sealed record ClosedAmendmentProposed(BenchId Bench, int Batch, RequestId Request, ReadResult Before,
        ReadResult After, string Why, AmendmentReason? Reason, TellingCause? Due) : ClinicEvent;

    /// <summary>
    /// A second person decided an amendment that waited, whether it was entered before or after its batch was closed. A
    /// confirmed one is made with this.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Proposal">What waited.</param>
    /// <param name="Confirmed">Whether it was confirmed; else it was declined.</param>
    /// <param name="Why">Why, in words.</param>
    public sealed record ClosedAmendmentDecided(BenchId Bench, int Batch, RequestId Request,
        AmendmentProposal Proposal, bool Confirmed, string Why) : ClinicEvent;

    /// <summary>
    /// A result that was held when its batch was closed goes out all the same, or is judged where it is a control's.
    /// </summary>
    /// <param name="Bench">The bench that ran it.</param>
    /// <param name="Batch">Number of the batch.</param>
    /// <param name="Request">The cartridge.</param>
    /// <param name="Why">Why, in words.</param>
    /// <param name="Of">Of which value: how many amendments since the close were shown to who says it; null in logs of
    /// former versions, and where it is said with an amendment.</param>
    public sealed record ClosedResultReleased(BenchId Bench, int Batch, RequestId Request, string Why, int? Of = null)
        : ClinicEvent;
}
