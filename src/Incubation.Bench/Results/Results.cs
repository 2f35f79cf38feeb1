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

/// <summary>Somebody was told of a critical result.</summary>
/// <param name="Whom">Who was told, in words.</param>
/// <param name="At">When.</param>
/// <param name="By">Who told.</param>
/// <param name="ReadBack">Whether it was read back.</param>
public sealed record CriticalNotice(string Whom, Instant At, PersonId By, bool ReadBack);

/// <summary>A result as it was before it was amended.</summary>
/// <param name="Was">What it was.</param>
/// <param name="At">When it was amended.</param>
/// <param name="By">By whom.</param>
/// <param name="Why">Why, in words.</param>
public sealed record EarlierResult(ReadResult Was, Instant At, PersonId By, string Why);

/// <summary>What has become of a result since it was entered.</summary>
/// <param name="Identity">What the reader showed as the specimen's identity.</param>
/// <param name="EnteredAt">When it was entered.</param>
/// <param name="EnteredBy">By whom.</param>
/// <param name="Released">Why a held one was released, in words; null where it was not.</param>
/// <param name="Earlier">What it was before, the first one first.</param>
/// <param name="Told">Who was told of a critical one, or null.</param>
/// <param name="NotChecked">Whether it was entered under a name that was not checked.</param>
/// <param name="Sender">Who sent it under another's name, or null.</param>
public sealed record ResultStatus(
    ResultIdentity Identity, Instant EnteredAt, PersonId EnteredBy, string? Released,
        ImmutableArray<EarlierResult> Earlier, CriticalNotice? Told, bool NotChecked = false,
        PersonId? Sender = null);

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
        var identity = entered.Identity?.Against(cartridge.Wanted.Request.Specimen) ?? ResultIdentity.NotAsked;
        var isChecked = provenance.Identity == Identity.Checked;
        var held = !isChecked || !cartridge.Deviations.IsEmpty || LotGates.GateOf(state, cartridge) is not null
            || identity is ResultIdentity.Missing or ResultIdentity.Different;
        var result = new BenchEvent.ResultEntered(cartridge.Id, entered.Result.In(cartridge.Wanted.Unit), held,
            identity);
        return isChecked ? [result] : [result, new BenchEvent.ResultNotChecked(cartridge.Id, provenance.Sender)];
    }

    /// <summary>What a bench makes of an instruction about a result.</summary>
    public static Decision Decide(BenchState state, BenchCommand.OfResult instruction)
    {
        if (state.Find(instruction.Request) is not { Result: { } result } cartridge)
            return Decisions.Refuse(Refusal.NoResult, instruction.Request.Value);
        return instruction switch
        {
            BenchCommand.ReleaseResult release => string.IsNullOrWhiteSpace(release.Why)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : !cartridge.IsHeld ? Decisions.Refuse(Refusal.NotHeld, cartridge.Id.Value)
                : Decisions.Accept(new BenchEvent.ResultReleased(cartridge.Id, release.Why)),
            BenchCommand.AmendResult amend => string.IsNullOrWhiteSpace(amend.Why)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : amend.Result.In(cartridge.Wanted.Unit) is var amended && amended == result
                ? Decisions.Refuse(Refusal.SameResult, cartridge.Id.Value)
                : Decisions.Accept(new BenchEvent.ResultAmended(cartridge.Id, result, amended, amend.Why)),
            BenchCommand.TellCritical tell => string.IsNullOrWhiteSpace(tell.Whom)
                ? Decisions.Refuse(Refusal.ReasonMissing)
                : Decisions.Accept(new BenchEvent.CriticalTold(cartridge.Id, tell.Whom, tell.ReadBack)),
            _ => throw new InvalidOperationException($"The instruction {instruction.GetType().Name} is not known."),
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
                HeldForControls = entered.Held && LotGates.GateOf(state, cartridge) is not null,
                Status = new ResultStatus(entered.Identity, provenance.At, provenance.Person, null, [], null),
            }),
            BenchEvent.ResultNotChecked not => WithStatus(state, not.Request, status =>
                status with { NotChecked = true, Sender = not.Sender }),
            BenchEvent.ResultReleased released =>
                WithStatus(state, released.Request, status => status with { Released = released.Why }),
            BenchEvent.ResultAmended amended => With(
                WithStatus(state, amended.Request, status => status with
                {
                    Earlier =
                        status.Earlier.Add(new EarlierResult(amended.Before, provenance.At, provenance.Person,
                            amended.Why)),
                    // The person told knows the first result only: whether somebody was told the amended one is asked
                    // again.
                    Told = null,
                }),
                amended.Request, cartridge => cartridge with { Result = amended.After }),
            BenchEvent.CriticalTold told =>
                WithStatus(state, told.Request, status =>
                    status with
                    { Told = new CriticalNotice(told.Whom, provenance.At, provenance.Person, told.ReadBack) }),
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
