using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Clinic.Record;
using Incubation.Model;

namespace Incubation.Records.Batches;

/// <summary>A closed batch's result as it stands after what was said of it since.</summary>
internal static class ClosedResult
{
    /// <summary>The cartridge with its result as it stands; the same where nothing was said.</summary>
    /// <param name="closed">The cartridge as its batch's own rows tell of it.</param>
    /// <param name="amendments">What was said since, by the clinic's stream.</param>
    /// <param name="rule">How its assay's results are marked.</param>
    public static CartridgeRecord Of(CartridgeRecord closed, AmendmentsState amendments, ResultRule rule)
    {
        var isThrownAway = closed.Standing == CartridgeStatus.Discarded;
        var decided = amendments.DecidedOf(closed.Bench, closed.Request);
        if (!decided.IsEmpty)
            closed = WithoutProposal(closed) with
            {
                Declined = [.. closed.Declined, .. decided.Where(one => !one.Decided.Confirmed)
                    .Select(one => new DeclinedAmendment(one.Decided.Proposal, one.Look))],
            };
        var stands = Standing(closed, amendments, rule);
        if (amendments.Of(closed.Bench, closed.Request).Count is > 0 and var amended)
            stands = stands with { AmendedSinceClose = amended };
        if (amendments.ProposalOf(closed.Bench, closed.Request) is { Proposal: var proposal })
            stands = stands with
            {
                Standing = CartridgeStatus.ResultHeld,
                Hold = ResultHold.AmendmentWaits,
                HoldUnamended = stands.Hold,
                Proposal = proposal,
            };
        // Whatever is decided of it: what was thrown away is used for nothing.
        return isThrownAway ? stands with { Standing = CartridgeStatus.Discarded, Hold = ResultHold.NoResult } : stands;
    }

    private static CartridgeRecord Standing(CartridgeRecord closed, AmendmentsState amendments, ResultRule rule)
    {
        var release = amendments.ReleaseOf(closed.Bench, closed.Request);
        var all = amendments.Of(closed.Bench, closed.Request);
        // Of a value that cannot be nothing was released yet, whatever was of the one before it: nor of the next one.
        if (closed.Released is not null && all.Exists(one => one.Question is not null))
            closed = Unreleased(closed);
        if (release is not null && closed.AwaitsDecision)
            closed = Released(closed, release);
        var tellings = amendments.TellingsOf(closed.Bench, closed.Request);
        if (all.IsEmpty && tellings.IsEmpty)
            return closed;
        var values = closed.Values is { } own ? Values(own, all, tellings) : null;
        var told = closed with
        {
            Values = values,
            Telling = values is not null && closed.Kind == RequestKind.Patient
                ? TellingDuty.Of(rule, values.Values) : null,
        };
        return all is [.., var last] ? Amended(told with
        {
            Amendments = [.. closed.Amendments, .. all.Select(one => new EarlierResult(one.Amended.Before,
                one.EnteredAt, one.EnteredBy, one.Amended.Why)
            {
                Reason = one.Amended.Reason,
                Second = one.Proposal?.Confirmed,
            })],
        }, last, release, rule) : told;
    }

    /// <summary>What was entered before the close was decided after it: its result is held no more by that.</summary>
    private static CartridgeRecord WithoutProposal(CartridgeRecord closed) => closed.Proposal is null ? closed
        : closed with
        {
            Standing = closed.HoldUnamended == ResultHold.None ? CartridgeStatus.Done : CartridgeStatus.ResultHeld,
            Hold = closed.HoldUnamended,
            Proposal = null,
        };

    /// <summary>What held it before somebody released it holds it again.</summary>
    private static CartridgeRecord Unreleased(CartridgeRecord closed) => closed with
    {
        Standing = closed.HoldUnreleased == ResultHold.None ? closed.Standing : CartridgeStatus.ResultHeld,
        Hold = closed.HoldUnreleased == ResultHold.None ? closed.Hold : closed.HoldUnreleased,
        HoldUnamended = closed.HoldUnreleased,
        HoldOtherwise = closed.HoldUnreleased,
        Released = null,
        Release = RecordedStep.None,
    };

    private static CartridgeRecord Released(CartridgeRecord held, ClosedRelease release) => held with
    {
        Standing = CartridgeStatus.Done,
        Hold = ResultHold.None,
        HoldOtherwise = ResultHold.None,
        Question = null,
        Released = release.Released.Why,
        Release = new RecordedStep(null, release.Provenance.At, release.Provenance.At, null,
            release.Provenance.Person, release.Provenance.Device),
        IsDecidedSinceClose = true,
    };

    private static CartridgeRecord Amended(CartridgeRecord closed, ClosedAmendment last, ClosedRelease? release,
        ResultRule rule)
    {
        var after = last.Amended.After;
        var amended = closed with
        {
            Result = after,
            First = closed.First ?? closed.Result,
            Marked = after is ReadResult.Measured measured ? MarkedResult.Of(rule, measured.Value) : null,
        };
        if (last.Question is { } question)
        {
            var asked = amended with
            {
                Standing = CartridgeStatus.ResultHeld,
                Hold = amended.HoldOtherwise is var other and not ResultHold.None && other < ResultHold.ImpossibleValue
                    ? other : ResultHold.ImpossibleValue,
                Question = question,
                Released = null,
                Release = RecordedStep.None,
            };
            return release is null ? asked : Released(asked, release);
        }

        // The question that held it was about the value before.
        return amended.Question is null ? amended : amended with
        {
            Standing = amended.HoldOtherwise == ResultHold.None ? CartridgeStatus.Done : amended.Standing,
            Hold = amended.HoldOtherwise,
            Question = null,
        };
    }

    private static ResultHistory Values(ResultHistory own, ImmutableList<ClosedAmendment> all,
        ImmutableList<ClosedTelling> tellings)
    {
        var values = Told(own, tellings, 0);
        for (var index = 0; index < all.Count; index++)
        {
            var (said, by) = (all[index].Amended, all[index].Provenance);
            values = Told(values.With(new ResultValue(said.After, all[index].EnteredAt, all[index].EnteredBy, said.Why,
                said.Told is { } whom ? new CriticalNotice(whom, by.At, by.Person, ReadBack: false) : null, null)
            {
                Reason = said.Reason,
                Second = all[index].Proposal?.Confirmed,
            }), tellings, index + 1);
        }

        return values;
    }

    private static ResultHistory Told(ResultHistory values, ImmutableList<ClosedTelling> tellings, int of) =>
        tellings.FindLast(telling => telling.Of == of) is { } telling
            ? values.WithLast(last => last with
            {
                Told = telling.Told ?? last.Told,
                Waived = telling.Waived ?? last.Waived,
            }) : values;
}
