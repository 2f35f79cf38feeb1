using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>Steps and cards: what makes up the batch's story.</summary>
public abstract partial record BenchEvent
{
    /// <summary>
    /// Tells of a step or a card, and so belongs to the batch's story: with all that telling, judging and correcting it
    /// needs.
    /// </summary>
    public abstract record StoryEvent : BenchEvent
    {
        /// <summary>The cartridge that it is about, or null.</summary>
        public abstract RequestId? Subject { get; }

        /// <summary>
        /// Where a cartridge was put or taken from, or whose card it is about; null where it names no place.
        /// </summary>
        public abstract CartridgePlace? Where { get; }

        /// <summary>Whether a person told it, and may correct it or take it back.</summary>
        public abstract bool IsReport { get; }

        /// <summary>In what it differs, as judged last.</summary>
        public ImmutableArray<Deviation> DiffersIn => (this as JudgedStep)?.Deviations ?? [];

        /// <summary>The same, judged otherwise; itself where it is never judged.</summary>
        public StoryEvent Judged(ImmutableArray<Deviation> deviations) =>
            this is JudgedStep step ? step with { Deviations = deviations } : this;

        /// <summary>The same as corrected. A place of the wrong kind changes nothing.</summary>
        internal abstract StoryEvent Corrected(Correction correction);
    }

    /// <summary>A step that hands have done.</summary>
    public abstract record StepEvent : StoryEvent
    {
        /// <summary>Whose hands.</summary>
        public abstract HandsNumber Hands { get; init; }

        /// <summary>When the hands began.</summary>
        public abstract Instant Begun { get; init; }

        /// <inheritdoc/>
        public override bool IsReport => true;

        /// <summary>If the corrected end is before the recorded begin, the begin moves back to it.</summary>
        private protected Instant BegunBefore(Instant? end) => end is { } at ? Instant.Min(Begun, at) : Begun;

        /// <summary>
        /// The interval of a time that a person states: <see cref="ReportDecisions.StatedWithin"/> on either side.
        /// </summary>
        private protected static InstantRange Around(Instant stated) =>
            new(stated.Later(-ReportDecisions.StatedWithin), stated.Later(ReportDecisions.StatedWithin));
    }

    /// <summary>A step that may differ from what is believed or allowed.</summary>
    public abstract record JudgedStep : StepEvent
    {
        /// <summary>In what it differs, as judged when it was told.</summary>
        public abstract ImmutableArray<Deviation> Deviations { get; init; }
    }

    public sealed record Mixed(RequestId Request, HandsNumber Hands, Instant Begun, InstantRange End,
        ImmutableArray<Deviation> Deviations) : JudgedStep
    {
        public override RequestId? Subject => Request;

        public override CartridgePlace? Where => null;

        internal override StoryEvent Corrected(Correction correction) => correction.At is { } at
            ? this with { Begun = BegunBefore(Around(at).Earliest), End = Around(at) }
            : this;
    }

    public sealed record Loaded(
        RequestId Request, HandsNumber Hands, CartridgePlace Place, Instant Begun, InstantRange End,
            ImmutableArray<Deviation> Deviations) : JudgedStep
    {
        public override RequestId? Subject => Request;

        public override CartridgePlace? Where => Place;

        internal override StoryEvent Corrected(Correction correction)
        {
            var placed = this with { Place = correction.Place ?? Place };
            return correction.At is { } at ? placed with { Begun = BegunBefore(Around(at).Earliest), End = Around(at) }
                : placed;
        }
    }

    public sealed record ReadStarted(
        RequestId Request, HandsNumber Hands, ReaderNumber Reader, Instant Begun, Instant Start,
            ImmutableArray<Deviation> Deviations) : JudgedStep
    {
        public override RequestId? Subject => Request;

        public override CartridgePlace? Where => new CartridgePlace.InReader(Reader);

        internal override StoryEvent Corrected(Correction correction) =>
            this with
            {
                Reader = correction.Reader ?? Reader,
                Begun = BegunBefore(correction.At),
                Start = correction.At
                ?? Start
            };
    }

    /// <param name="Request">Whose cartridge.</param>
    /// <param name="Hands">Whose hands.</param>
    /// <param name="Reader">Out of which reader.</param>
    /// <param name="Begun">When the hands began.</param>
    /// <param name="End">When it was out.</param>
    /// <param name="ReadStartedByItself">For a cartridge that reacted in the reader: the latest that its read started;
    /// else null.</param>
    /// <param name="Deviations">In what this differs.</param>
    public sealed record Cleared(
        RequestId Request, HandsNumber Hands, ReaderNumber Reader, Instant Begun, Instant End,
            Instant? ReadStartedByItself,
        ImmutableArray<Deviation> Deviations) : JudgedStep
    {
        public override RequestId? Subject => Request;

        public override CartridgePlace? Where => new CartridgePlace.InReader(Reader);

        internal override StoryEvent Corrected(Correction correction) =>
            this with
            {
                Reader = correction.Reader ?? Reader,
                Begun = BegunBefore(correction.At),
                End = correction.At
                ?? End
            };
    }

    public sealed record CardChanged(
        ReaderNumber Reader, LotCode Lot, HandsNumber Hands, Instant Begun, Instant End,
            ImmutableArray<Deviation> Deviations) : JudgedStep
    {
        public override RequestId? Subject => null;

        public override CartridgePlace? Where => new CartridgePlace.InReader(Reader);

        internal override StoryEvent Corrected(Correction correction) => this with
        {
            Reader = correction.Reader ?? Reader,
            Lot = correction.Lot ?? Lot,
            Begun = BegunBefore(correction.At),
            End = correction.At ?? End,
        };
    }

    public sealed record Discarded(
        RequestId Request, HandsNumber Hands, Instant Begun, Instant End, DiscardReason Reason, string? InWords)
            : StepEvent
    {
        public override RequestId? Subject => Request;

        public override CartridgePlace? Where => null;

        internal override StoryEvent Corrected(Correction correction) =>
            this with { Begun = BegunBefore(correction.At), End = correction.At ?? End };
    }

    /// <summary>Which card is in a reader is not known any more until somebody sees it.</summary>
    public sealed record CardDoubted(ReaderNumber Reader, CardDoubtCause Cause) : StoryEvent
    {
        public override RequestId? Subject => null;

        public override CartridgePlace? Where => new CartridgePlace.InReader(Reader);

        public override bool IsReport => false;

        internal override StoryEvent Corrected(Correction correction) => this;
    }

    /// <summary>
    /// A person has seen which card is in a reader; its lot was scanned or its last characters typed.
    /// </summary>
    public sealed record CardSeen(ReaderNumber Reader, LotCode Lot) : StoryEvent
    {
        public override RequestId? Subject => null;

        public override CartridgePlace? Where => new CartridgePlace.InReader(Reader);

        public override bool IsReport => true;

        internal override StoryEvent Corrected(Correction correction) =>
            this with { Reader = correction.Reader ?? Reader, Lot = correction.Lot ?? Lot };
    }
}
