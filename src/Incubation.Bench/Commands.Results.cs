using System.Collections.Immutable;
using Incubation.Model;

namespace Incubation.Bench;

/// <summary>Instructions about results that were entered.</summary>
public abstract partial record BenchCommand
{
    /// <summary>An instruction about a result that was entered.</summary>
    public abstract record OfResult(RequestId Request) : Instruction
    {
        /// <summary>The value, or the amendment's, that was shown: of another nothing is said. Null: any.</summary>
        public ReadResult? Seen { get; init; }

        /// <summary>The same, as the reader shows it: what a program names. Null: any.</summary>
        public ShownResult? Named { get; init; }
    }

    /// <summary>A held result goes out all the same.</summary>
    /// <param name="Request">Whose.</param>
    /// <param name="Why">Why, in a person's words.</param>
    public sealed record ReleaseResult(RequestId Request, string Why) : OfResult(Request)
    {
        /// <summary>In what its cartridge differed as it was shown: nothing more is released. Null: any.</summary>
        public ImmutableArray<Deviation>? Differs { get; init; }
    }

    /// <summary>A result was another; the first one stays on the record.</summary>
    /// <param name="Request">Whose.</param>
    /// <param name="Result">What the reader shows.</param>
    /// <param name="Why">Why, in a person's words.</param>
    /// <param name="Reason">Which of the usual reasons it is; null where nobody chose one.</param>
    public sealed record AmendResult(RequestId Request, ShownResult Result, string Why,
        AmendmentReason? Reason = null) : OfResult(Request)
    {
        /// <summary>Which amendments of whoever says it count at once; the host knows.</summary>
        public AmendsAlone Alone { get; init; }
    }

    /// <summary>
    /// A result was another, and that waits for a supervisor, or for another one: what the bench makes of an
    /// amendment, or of another entry, that does not count at once.
    /// </summary>
    /// <param name="Request">Whose.</param>
    /// <param name="Result">What the reader shows.</param>
    /// <param name="Why">Why, in a person's words.</param>
    /// <param name="Reason">Which of the usual reasons it is; null where nobody chose one.</param>
    public sealed record ProposeAmendment(RequestId Request, ShownResult Result, string Why,
        AmendmentReason? Reason = null) : OfResult(Request);

    /// <summary>The amendment that waits is right: said by another supervisor than who entered it.</summary>
    /// <param name="Request">Whose result.</param>
    /// <param name="Why">Why, in a supervisor's words.</param>
    public sealed record ConfirmAmendment(RequestId Request, string Why) : OfResult(Request);

    /// <summary>The amendment that waits is not right; whoever entered it may say so too.</summary>
    /// <param name="Request">Whose result.</param>
    /// <param name="Why">Why, in a supervisor's words.</param>
    public sealed record DeclineAmendment(RequestId Request, string Why) : OfResult(Request);

    /// <summary>Somebody was told of a critical result, or of a correction.</summary>
    /// <param name="Request">Whose.</param>
    /// <param name="Whom">Who was told, in words.</param>
    /// <param name="ReadBack">Whether it was read back.</param>
    /// <param name="Why">Of a correction: why not the person who was told of the earlier value, in words.</param>
    public sealed record TellCritical(RequestId Request, string Whom, bool ReadBack, string? Why = null)
        : OfResult(Request);

    /// <summary>Nobody need be told of a result, although its value or an earlier one asks for it.</summary>
    /// <param name="Request">Whose.</param>
    /// <param name="Why">Why, in a supervisor's words.</param>
    public sealed record WaiveTelling(RequestId Request, string Why) : OfResult(Request);
}
