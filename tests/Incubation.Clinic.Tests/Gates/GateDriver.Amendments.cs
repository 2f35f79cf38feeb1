using Incubation.Bench;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Model.Controls;
using NodaTime;

namespace Incubation.Clinic.Tests.Gates;

/// <content>Amendments, and those that wait for a second person.</content>
internal sealed partial class GateDriver
{
    private static readonly PersonId Second = new("second");

    private bool Amend(Step.Amended amended, Instant now)
    {
        var (bench, request) = Find(amended.Cart);
        if (bench >= 0)
            return Say(bench, now, AsSaid(amended.IsAide,
                new BenchCommand.AmendResult(request, Shown(amended.Value), "Typed wrongly.")));
        if (clinic.Amendments.NeedsSecond)
            return Propose(new Step.Proposed(amended.Wait, amended.Cart, amended.Value), now);
        var (state, cartridge) = closed[IdOf(amended.Cart)];
        return Waiting(cartridge.Id) is null && Record(now, new ClinicEvent.ClosedResultAmended(state.Id, state.Batch,
            cartridge.Id, ResultOf(state.Id, cartridge)!, Shown(amended.Value).In(cartridge.Wanted.Unit),
            "Typed wrongly.", "A doctor"));
    }

    private BenchCommand AsSaid(bool isAide, BenchCommand command) => AmendmentRule.Said(command,
        AmendmentRule.Of(clinic.Amendments.NeedsSecond, decides: !isAide));

    private bool Propose(Step.Proposed proposed, Instant now)
    {
        var (bench, request) = Find(proposed.Cart);
        if (bench >= 0)
            return Say(bench, now, new BenchCommand.ProposeAmendment(request, Shown(proposed.Value), "Typed wrongly."));
        var (state, cartridge) = closed[IdOf(proposed.Cart)];
        return Waiting(cartridge.Id) is null && Record(now, new ClinicEvent.ClosedAmendmentProposed(state.Id,
            state.Batch, cartridge.Id, ResultOf(state.Id, cartridge)!,
            Shown(proposed.Value).In(cartridge.Wanted.Unit), "Typed wrongly.", null, null));
    }

    private bool Look(Step.Looked looked, Instant now)
    {
        var by = looked.IsOwn ? Aide : Second;
        var (bench, request) = Find(looked.Cart);
        if (bench >= 0)
            return Say(bench, now, looked.IsConfirmed ? new BenchCommand.ConfirmAmendment(request, "Compared.")
                : new BenchCommand.DeclineAmendment(request, "Compared."), by: by);
        var (state, cartridge) = closed[IdOf(looked.Cart)];
        if (Waiting(cartridge.Id) is not { } waits)
            return false;
        List<ClinicEvent> events = [new ClinicEvent.ClosedAmendmentDecided(state.Id, state.Batch, cartridge.Id, waits,
            looked.IsConfirmed, "Compared.")];
        if (looked.IsConfirmed && ResultOf(state.Id, cartridge) != waits.After)
            events.Add(new ClinicEvent.ClosedResultAmended(state.Id, state.Batch, cartridge.Id,
                ResultOf(state.Id, cartridge)!, waits.After, waits.Why, null));
        return Record(now, by, [.. events]);
    }

    /// <summary>Of which results somebody must be told, and why.</summary>
    private IEnumerable<string> ToTell() => benches.SelectMany(bench => bench!.Cartridges)
        .Where(one => one.Telling is not null)
        .Select(one => $"{one.Id}!{one.Telling!.Cause switch
        {
            TellingCause.Critical => "critical",
            TellingCause.Correction => "correction",
            _ => "earlier",
        }}");

    /// <summary>A lot is compared with the other one of its assay by one specimen, and decided upon at once.</summary>
    private bool Compare(Step.Compared compared, Instant now)
    {
        var number = clinic.Comparisons.Cases.Count + 1;
        var other = assayOf.Keys.First(lot => lot != compared.Lot && assayOf[lot] == assayOf[compared.Lot]);
        return Record(now, Aide,
            new ClinicEvent.LotComparisonBegun(number, new AssayCode(assayOf[other]), new LotCode(other),
                new LotCode(compared.Lot), new LotCriterion(DifferenceUnit.Percent, 10, 1)),
            new ClinicEvent.LotPairSet(number, 1, "S1", new ComparedResult(100, null, null),
                new ComparedResult(105, null, null)),
            new ClinicEvent.LotComparisonSettled(number,
                compared.IsAccepted ? LotDecision.Accepted : LotDecision.Refused, "Looked at."));
    }

    /// <summary>The amendment of a closed batch's result that waits, entered before its close or after it.</summary>
    private AmendmentProposal? Waiting(RequestId request)
    {
        var (state, cartridge) = closed[request];
        return clinic.Amendments.ProposalOf(state.Id, request)?.Proposal
            ?? (clinic.Amendments.DecidedOf(state.Id, request).IsEmpty ? cartridge.Status?.Proposal : null);
    }

    /// <summary>A held result of a closed batch is released; not what can be read as more than one number.</summary>
    private bool ReleaseClosed(RequestId request, Instant now)
    {
        var (state, cartridge) = closed[request];
        return Waiting(request) is null
            && (cartridge.Status?.Question is not ValueQuestion.NotOneNumber
                || !clinic.Amendments.Of(state.Id, request).IsEmpty)
            && Record(now, new ClinicEvent.ClosedResultReleased(state.Id, state.Batch, request,
                "The label was read again."));
    }

    private ReadResult? ResultOf(BenchId bench, Cartridge cartridge) =>
        clinic.Amendments.Of(bench, cartridge.Id) is [.., var last] ? last.Amended.After : cartridge.Result;

    private ResultUse UseOf(BenchId bench, Cartridge cartridge)
    {
        if (Waiting(cartridge.Id) is not null)
            return ResultUse.Of(cartridge.Wanted.Request.Kind, ResultHold.AmendmentWaits);
        if (cartridge.Status is { Proposal: not null } decided)
            cartridge = cartridge with { Status = decided with { Proposal = null } };
        // What was asked was about the value before.
        if (!clinic.Amendments.Of(bench, cartridge.Id).IsEmpty && cartridge.Status is { } asked)
            cartridge = cartridge with { Status = asked with { Question = null } };
        return clinic.Amendments.ReleaseOf(bench, cartridge.Id) is not null && cartridge.IsHeld
            ? ResultUse.Of(cartridge.Wanted.Request.Kind, ResultHold.None) : cartridge.Use;
    }
}
