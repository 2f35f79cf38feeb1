using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What the reader showed as the specimen's identity when a result was entered.</summary>
public enum ResultIdentity
{
    /// <summary>Nobody asked: entered before this was asked for, or by the bench itself.</summary>
    NotAsked,

    /// <summary>The specimen's.</summary>
    Matches,

    /// <summary>None.</summary>
    Missing,

    /// <summary>Another.</summary>
    Different,
}

/// <summary>A result as it was before it was amended.</summary>
/// <param name="Was">What it was.</param>
/// <param name="At">When it was amended.</param>
/// <param name="By">By whom.</param>
/// <param name="Why">Why, in words.</param>
public sealed record EarlierResult(ReadResult Was, Instant At, PersonId By, string Why)
{
    /// <summary>Which of the usual reasons it was; null where nobody chose one.</summary>
    public AmendmentReason? Reason { get; init; }

    /// <summary>Who had been told of it, or null.</summary>
    public CriticalNotice? Told { get; init; }

    /// <summary>Who confirmed the amendment; null where no second look was asked for.</summary>
    public SecondLook? Second { get; init; }

    /// <summary>That nobody need be told of it, or null.</summary>
    public TellingWaiver? Waived { get; init; }
}

/// <summary>A held result was released.</summary>
/// <param name="Why">Why, in words.</param>
/// <param name="At">When.</param>
/// <param name="By">By whom.</param>
public sealed record ResultRelease(string Why, Instant At, PersonId By);

/// <summary>What has become of a result since it was entered.</summary>
/// <param name="Identity">What the reader showed as the specimen's identity.</param>
/// <param name="EnteredAt">When it was entered.</param>
/// <param name="EnteredBy">By whom.</param>
/// <param name="Released">Why a held one was released, in words; null where it was not.</param>
/// <param name="Earlier">What it was before, the first one first.</param>
/// <param name="Told">Who was told of it as it stands, or null.</param>
/// <param name="NotChecked">Whether it was entered under a name that was not checked.</param>
/// <param name="Sender">Who sent it under another's name, or null.</param>
public sealed record ResultStatus(
    ResultIdentity Identity, Instant EnteredAt, PersonId EnteredBy, string? Released,
        ImmutableArray<EarlierResult> Earlier, CriticalNotice? Told, bool NotChecked = false,
        PersonId? Sender = null)
{
    /// <summary>What was corrected so that nothing else holds it; null where nothing was.</summary>
    public KeptHold? Kept { get; init; }

    /// <summary>The identity that the reader showed, where it was another's; null where that is not known.</summary>
    public string? Shown { get; init; }

    /// <summary>What is asked about its value; null where it is possible.</summary>
    public ValueQuestion? Question { get; init; }

    /// <summary>That nobody need be told of it as it stands, or null.</summary>
    public TellingWaiver? Waived { get; init; }

    /// <summary>When and by whom it was released, or null.</summary>
    public ResultRelease? Release { get; init; }

    /// <summary>The last release of it that does not cover what was learnt of it since; null where none was.</summary>
    public ResultRelease? EndedRelease { get; init; }

    /// <summary>
    /// What was entered before it and typed anew, the first first: no amendment, since nobody was told of it or had to
    /// be. The record keeps it.
    /// </summary>
    public ImmutableArray<EarlierResult> Replaced { get; init; } = [];

    /// <summary>When it was first entered with nothing that held it; null where something held it then.</summary>
    public Instant? Out { get; init; }

    /// <summary>The amendment that waits for a second person; null where none does.</summary>
    public AmendmentProposal? Proposal { get; init; }

    /// <summary>Amendments that a second person declined, the first first.</summary>
    public ImmutableArray<DeclinedAmendment> Declined { get; init; } = [];
}

/// <summary>What becomes of results after they were entered: released, amended, told.</summary>
internal static class Results
{
    /// <summary>
    /// The events for a result that is entered: with its assay's unit, compared with its specimen, and held if anything
    /// holds it. One under a name that nobody checked is held whoever's name it is.
    /// </summary>
    public static ImmutableArray<BenchEvent> Entered(BenchState state, Cartridge cartridge,
        BenchCommand.ResultEntered entered, Provenance provenance)
    {
        var identity = entered.Identity?.Against(cartridge.Wanted) ?? ResultIdentity.NotAsked;
        var isChecked = provenance.Identity == Identity.Checked;
        var shown = entered.Result.In(cartridge.Wanted.Unit);
        var questioned = Questioned(cartridge, shown);
        var held = !isChecked || !questioned.IsEmpty || !cartridge.Deviations.IsEmpty
            || LotGates.GateOf(state, cartridge) is not null
            || identity is ResultIdentity.Missing or ResultIdentity.Different
            // What held it before is for a supervisor to settle, whoever takes it back or types it anew.
            || cartridge.HoldsNextEntry;
        var result = new BenchEvent.ResultEntered(cartridge.Id, shown, held, identity,
            identity == ResultIdentity.Different ? ShownAs(entered.Identity) : null);
        return isChecked ? [result, .. questioned]
            : [result, new BenchEvent.ResultNotChecked(cartridge.Id, provenance.Sender), .. questioned];
    }

    /// <summary>
    /// What a value that is said comes to: an amendment that does not count at once is proposed, and another result for
    /// a cartridge that has one is an amendment, however it is entered.
    /// </summary>
    public static BenchCommand AsMade(BenchState state, BenchCommand command, Identity identity) => command switch
    {
        BenchCommand.AmendResult amend when state.Find(amend.Request)?.AmendmentWaits(amend.Alone) == true =>
            new BenchCommand.ProposeAmendment(amend.Request, amend.Result, amend.Why, amend.Reason)
            {
                Seen = amend.Seen,
            },
        // What is taken only as the first is refused where there is one.
        BenchCommand.ResultEntered { OnlyFirst: false } entered when entered.Alone != AmendsAlone.All
            && identity == Identity.Checked
            && state.Find(entered.Request) is { Result: { } result, Wanted.Unit: var unit } cartridge
            && entered.Result.In(unit) != result
            && (entered.Alone == AmendsAlone.None || cartridge.EntryIsAmendment) =>
            new BenchCommand.ProposeAmendment(entered.Request, entered.Result, Words.EnteredAgain),
        _ => command,
    };

    private static bool IsOfDoubtfulIdentity(Cartridge cartridge) => cartridge is
    { Result: not null, Status: { Identity: ResultIdentity.Missing or ResultIdentity.Different, Released: null } };

    /// <summary>What a reader showed, as it can stand in a record; null where it cannot.</summary>
    private static string? ShownAs(ShownIdentity? identity) =>
        identity?.Specimen?.Trim() is { } shown && Bounds.IsWords(shown) ? shown : null;

    /// <summary>A value that cannot be is recorded like any other, with what is asked about it beside it.</summary>
    private static ImmutableArray<BenchEvent> Questioned(Cartridge cartridge, ReadResult shown) =>
        shown is ReadResult.Measured measured && PossibleValue.QuestionOf(
            cartridge.Wanted.Facts?.Results ?? ResultRule.AsDisplayed, measured.Value) is { } question
            ? [new BenchEvent.ResultQuestioned(cartridge.Id, question)] : [];

    /// <summary>What a bench makes of an instruction about a result.</summary>
    public static Decision Decide(BenchState state, BenchCommand.OfResult instruction, Provenance provenance)
    {
        if (state.Find(instruction.Request) is not { Result: { } result } cartridge)
            return Decisions.Refuse(Refusal.NoResult, instruction.Request.Value);
        var proposal = cartridge.Status?.Proposal;
        // Which of two values is right is decided first; what is said of a result would be said of neither.
        if (proposal is not null && instruction is BenchCommand.ReleaseResult or BenchCommand.AmendResult
            or BenchCommand.ProposeAmendment)
            return Decisions.Refuse(Refusal.AmendmentWaits, cartridge.Id.Value);
        var meant = instruction is BenchCommand.ConfirmAmendment or BenchCommand.DeclineAmendment
            ? proposal?.After : result;
        if ((instruction.Seen is { } seen && seen != meant)
            || (instruction.Named is { } named && named.In(cartridge.Wanted.Unit) != meant))
            return Decisions.Refuse(Refusal.ResultChanged, cartridge.Id.Value);
        if (instruction is BenchCommand.ReleaseResult { Differs: { } shown }
            && !shown.SequenceEqual(cartridge.Deviations))
            return Decisions.Refuse(Refusal.ResultChanged, cartridge.Id.Value);
        // Nothing can be said of a value before it was there; a server whose clock went back knows no earlier time.
        if (cartridge.Status is { EnteredAt: var entered } && provenance.At < Instant.Min(entered, provenance.Arrived))
            return Decisions.Refuse(Refusal.UnreadableTime);
        return instruction switch
        {
            BenchCommand.ReleaseResult release => string.IsNullOrWhiteSpace(release.Why)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : !cartridge.IsHeld ? Decisions.Refuse(Refusal.NotHeld, cartridge.Id.Value)
                : cartridge is { Status.Question: ValueQuestion.NotOneNumber, Result: ReadResult.Measured doubtful }
                ? Decisions.Refuse(Refusal.NotOneNumber, doubtful.Value)
                : Decisions.Accept(new BenchEvent.ResultReleased(cartridge.Id, release.Why)
                {
                    // That nobody need be told was said of a value that was not to go out.
                    EndsWaiver = cartridge.Status?.Waived is null ? null : true,
                }),
            BenchCommand.AmendResult amend => string.IsNullOrWhiteSpace(amend.Why)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : amend.Result.In(cartridge.Wanted.Unit) is var amended && amended == result
                ? Decisions.Refuse(Refusal.SameResult, cartridge.Id.Value)
                : Decisions.Accept([
                    new BenchEvent.ResultAmended(cartridge.Id, result, amended, amend.Why, amend.Reason),
                    .. Questioned(cartridge, amended)]),
            BenchCommand.ProposeAmendment amend => string.IsNullOrWhiteSpace(amend.Why)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : amend.Result.In(cartridge.Wanted.Unit) is var wanted && wanted == result
                ? Decisions.Refuse(Refusal.SameResult, cartridge.Id.Value)
                : Decisions.Accept(
                    new BenchEvent.AmendmentProposed(cartridge.Id, result, wanted, amend.Why, amend.Reason)),
            BenchCommand.ConfirmAmendment confirm => AgainstLook(cartridge, confirm.Why, provenance)
                ?? Decisions.Accept([
                    new BenchEvent.AmendmentConfirmed(cartridge.Id, confirm.Why),
                    new BenchEvent.ResultAmended(cartridge.Id, result, proposal!.After, proposal.Why, proposal.Reason),
                    .. Questioned(cartridge, proposal.After)]),
            BenchCommand.DeclineAmendment decline => AgainstLook(cartridge, decline.Why, provenance, ownToo: true)
                ?? Decisions.Accept(new BenchEvent.AmendmentDeclined(cartridge.Id, decline.Why)),
            BenchCommand.TellCritical tell => string.IsNullOrWhiteSpace(tell.Whom)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                // Whoever was told is to be told of a correction: another does not take their place.
                : cartridge.Status is { Told: not null } ? Decisions.Refuse(Refusal.NothingToTell, cartridge.Id.Value)
                : cartridge.Telling is { Known: { } known } duty && !duty.IsKnown(tell.Whom)
                    && string.IsNullOrWhiteSpace(tell.Why)
                ? Decisions.Refuse(Refusal.OtherPersonUnexplained, known.Whom)
                : Decisions.Accept(new BenchEvent.CriticalTold(cartridge.Id, tell.Whom, tell.ReadBack, tell.Why)),
            BenchCommand.WaiveTelling waive => string.IsNullOrWhiteSpace(waive.Why)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : !cartridge.MustBeTold ? Decisions.Refuse(Refusal.NothingToTell, cartridge.Id.Value)
                : Decisions.Accept(new BenchEvent.TellingWaived(cartridge.Id, waive.Why)),
            _ => throw new InvalidOperationException($"The instruction {instruction.GetType().Name} is not known."),
        };
    }

    /// <summary>
    /// What stands of a result that is entered once more: an amendment that waits is decided whatever is entered, and
    /// what was told, or is to be told, of the value before is not forgotten by it; nor is its release, where the same
    /// value is entered and nothing holds it.
    /// </summary>
    private static ResultStatus After(Cartridge cartridge, BenchEvent.ResultEntered said, ResultStatus status)
    {
        var entered = said.Result;
        if (cartridge is not { Result: { } before, Status: { } was })
            return status;
        status = status with
        {
            Proposal = was.Proposal,
            Declined = was.Declined,
            EndedRelease = was.EndedRelease ?? (said.Held ? was.Release : null),
            Out = was.Out ?? status.Out,
            Replaced = was.Replaced,
        };
        if (before == entered && !said.Held)
            status = status with { Released = was.Released, Release = was.Release };
        if (was is { Told: null, Waived: null, Earlier.IsEmpty: true } && cartridge.Telling is null)
            return before == entered ? status : status with
            {
                Replaced = was.Replaced.Add(
                    new EarlierResult(before, status.EnteredAt, status.EnteredBy, Words.EnteredAgain)),
            };
        var kept = status with { EnteredAt = was.EnteredAt, EnteredBy = was.EnteredBy, Earlier = was.Earlier };
        return before == entered ? kept with { Told = was.Told, Waived = was.Waived } : kept with
        {
            Earlier = was.Earlier.Add(new EarlierResult(before, status.EnteredAt, status.EnteredBy, Words.EnteredAgain)
            {
                Told = was.Told,
                Waived = was.Waived,
            }),
        };
    }

    /// <summary>What speaks against a second look, or null. Whoever entered an amendment may decline it.</summary>
    private static Decision? AgainstLook(Cartridge cartridge, string why, Provenance provenance,
        bool ownToo = false) => cartridge.Status?.Proposal is not { } proposal
            ? Decisions.Refuse(Refusal.NoAmendmentWaits, cartridge.Id.Value)
            : (!ownToo && proposal.By == provenance.Person) || provenance.Identity != Identity.Checked
            ? Decisions.Refuse(Refusal.OwnAmendment, cartridge.Id.Value)
            : string.IsNullOrWhiteSpace(why) ? Decisions.Refuse(Refusal.ReasonMissing) : null;

    /// <summary>
    /// How a result stands that was entered: one that is held because the identity of the one before was in doubt keeps
    /// that doubt.
    /// </summary>
    private static ResultStatus StatusOf(Cartridge cartridge, BenchEvent.ResultEntered entered, Provenance by)
    {
        var (identity, shown) =
            entered is { Held: true, Identity: ResultIdentity.Matches or ResultIdentity.NotAsked }
                && IsOfDoubtfulIdentity(cartridge)
                ? (cartridge.Status!.Identity, cartridge.Status.Shown) : (entered.Identity, entered.Shown);
        return new ResultStatus(identity, by.At, by.Person, null, [], null)
        {
            Shown = shown,
            Out = entered.Held ? null : by.At,
        };
    }

    /// <summary>The state after something became of a result.</summary>
    public static BenchState Apply(BenchState state, BenchEntry entry)
    {
        var provenance = entry.Provenance;
        return entry.Event switch
        {
            BenchEvent.ResultEntered entered => With(state, entered.Request, cartridge => cartridge with
            {
                Result = entered.Result,
                // A former version let it out: so it was.
                HeldBefore = entered.Held && cartridge.HoldsNextEntry && !IsOfDoubtfulIdentity(cartridge),
                HeldForControls = entered.Held && LotGates.GateOf(state, cartridge) is not null,
                Status = After(cartridge, entered, StatusOf(cartridge, entered, provenance)),
            }),
            BenchEvent.ResultNotChecked not => WithStatus(state, not.Request, status =>
                status with { NotChecked = true, Sender = not.Sender }),
            BenchEvent.ResultKeptHeld kept => WithStatus(state, kept.Request, status =>
                status with { Kept = new KeptHold(kept.From, kept.To) }),
            // Of a value that cannot be nothing was released yet, whatever was of the one before it.
            BenchEvent.ResultQuestioned questioned => WithStatus(state, questioned.Request, status =>
                status with
                {
                    Question = questioned.Question,
                    Released = null,
                    Release = null,
                    EndedRelease = status.Release ?? status.EndedRelease,
                }),
            BenchEvent.ResultReleased released => WithStatus(state, released.Request, status => status with
            {
                Released = released.Why,
                Release = new ResultRelease(released.Why, provenance.At, provenance.Person),
                Waived = released.EndsWaiver == true ? null : status.Waived,
            }),
            BenchEvent.ReleaseEnded ended => WithStatus(state, ended.Request, status => status with
            {
                Released = null,
                Release = null,
                EndedRelease = status.Release,
            }),
            BenchEvent.AmendmentProposed proposed => WithStatus(state, proposed.Request, status => status with
            {
                Proposal = new AmendmentProposal(proposed.Before, proposed.After, proposed.Why, proposed.Reason,
                    provenance.At, provenance.Person),
            }),
            BenchEvent.AmendmentConfirmed confirmed => WithStatus(state, confirmed.Request, status => status with
            {
                Proposal = status.Proposal is { } proposal ? proposal with
                {
                    Confirmed = new SecondLook(confirmed.Why, provenance.At, provenance.Person),
                } : null,
            }),
            BenchEvent.AmendmentDeclined declined => WithStatus(state, declined.Request, status => status with
            {
                Proposal = null,
                Declined = status.Proposal is { } proposal ? status.Declined.Add(new DeclinedAmendment(proposal,
                    new SecondLook(declined.Why, provenance.At, provenance.Person))) : status.Declined,
            }),
            BenchEvent.ResultAmended amended => With(
                WithStatus(state, amended.Request, status => status with
                {
                    Earlier =
                        status.Earlier.Add(new EarlierResult(amended.Before,
                            status.Proposal?.At ?? provenance.At, status.Proposal?.By ?? provenance.Person,
                            amended.Why)
                        {
                            Reason = amended.Reason,
                            Told = status.Told,
                            Waived = status.Waived,
                            Second = status.Proposal?.Confirmed,
                        }),
                    Proposal = null,
                    // Who was told knows the earlier result only.
                    Told = null,
                    Waived = null,
                    Question = null,
                }),
                amended.Request, cartridge => cartridge with { Result = amended.After }),
            BenchEvent.CriticalTold told =>
                WithStatus(state, told.Request, status =>
                    status with
                    {
                        Told = new CriticalNotice(told.Whom, provenance.At, provenance.Person, told.ReadBack,
                            told.Why),
                    }),
            BenchEvent.TellingWaived waived => WithStatus(state, waived.Request, status =>
                status with { Waived = new TellingWaiver(waived.Why, provenance.At, provenance.Person) }),
            _ => throw new InvalidOperationException($"The event {entry.Event.GetType().Name} is about no result."),
        };
    }

    private static BenchState WithStatus(BenchState state, RequestId request,
        Func<ResultStatus, ResultStatus> change) =>
        With(state, request, cartridge => cartridge.Status is { } status
            ? cartridge with { Status = change(status) } : cartridge);

    private static BenchState With(BenchState state, RequestId request, Func<Cartridge, Cartridge> change) =>
        state.InRun(run => run.With(request, change));
}
