using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// An amendment that one person entered where the clinic asks for a second look: it waits for another supervisor, and
/// until then the result is used for nothing, for nobody knows which of the two values is right.
/// </summary>
/// <param name="Before">What the result is.</param>
/// <param name="After">What it is to be.</param>
/// <param name="Why">Why, in words.</param>
/// <param name="Reason">Which of the usual reasons it is; null where nobody chose one.</param>
/// <param name="At">When it was entered.</param>
/// <param name="By">By whom: who decides it is another.</param>
public sealed record AmendmentProposal(ReadResult Before, ReadResult After, string Why, AmendmentReason? Reason,
    Instant At, PersonId By)
{
    /// <summary>Who confirmed it: with that it is made, and waits no more.</summary>
    public SecondLook? Confirmed { get; init; }
}

/// <summary>What a second person said of an amendment.</summary>
/// <param name="Why">Why it is right, or is not, in words.</param>
/// <param name="At">When.</param>
/// <param name="By">Who: never who entered it.</param>
public sealed record SecondLook(string Why, Instant At, PersonId By);

/// <summary>An amendment that was declined: the result stayed what it was.</summary>
/// <param name="Proposal">What was declined.</param>
/// <param name="Look">Who declined it, when and why.</param>
public sealed record DeclinedAmendment(AmendmentProposal Proposal, SecondLook Look)
{
    /// <summary>Whether whoever entered it has undone it.</summary>
    public bool IsOwn => Look.By == Proposal.By;
}
