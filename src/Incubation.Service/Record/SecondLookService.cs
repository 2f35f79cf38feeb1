using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>
/// The second look at amendments, where the clinic asks for one: another supervisor than who entered an amendment
/// confirms or declines it, with a sentence. Until then the result is held, and neither value is used.
/// </summary>
/// <remarks>ISO 15189:2022, 7.4.1.2 (results are reviewed and authorized before they are released) and 7.4.1.8 (amended
/// results, with times and persons); from memory. That the second is another person is the clinic's own rule.</remarks>
public sealed class SecondLookService(CartridgeProjection book, ClinicHost clinic, LotGateService gates,
    BenchClock clock)
{
    private const int MaxWords = 200;

    /// <summary>Whether an amendment waits for another supervisor than who entered it.</summary>
    public bool IsOn => clinic.Log.Amendments.NeedsSecond;

    /// <summary>Who may give a second look now: every supervisor and administrator who can sign in.</summary>
    public IReadOnlyList<ClinicPerson> Supervisors =>
        [.. clinic.Log.People.Persons.Values.Where(one => one is { IsActive: true, Role: >= Role.Supervisor })
            .OrderBy(one => one.Name, StringComparer.CurrentCulture)];

    /// <summary>Switches the second look on or off; what waits already is decided all the same.</summary>
    public Outcome Set(Actor actor, bool on) =>
        !Access.May(actor, Right.Administer) ? new Outcome(Words.NotAllowed)
        : on == IsOn ? Outcome.Done()
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.AmendmentRuleSet(on), Provenances.Of(actor, clock)));

    /// <summary>The cartridge of a closed batch of which an amendment waits; null where there is none.</summary>
    public CartridgeRecord? Find(string bench, int batch, string? request) =>
        TextId.IsValid(bench) && book.Batch(new BenchId(bench), batch) is { Closed: not null } closed
            ? closed.Cartridges.FirstOrDefault(one => one.Request.Value == request && one.Proposal is not null) : null;

    /// <summary>Confirms or declines an amendment of a closed batch's result.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="shown">The cartridge as it was shown, with the amendment that waits.</param>
    /// <param name="confirmed">Whether it is confirmed.</param>
    /// <param name="why">Why, in words.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public async Task<IReadOnlyList<FormFault>> DecideAsync(Actor? actor, CartridgeRecord shown, bool confirmed,
        string? why)
    {
        ArgumentNullException.ThrowIfNull(shown);
        if (!Access.May(actor, Right.Supervise, shown.Bench.Value))
            return [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)];
        if (shown.Proposal is not { } proposal)
            return [new FormFault("", RecordWords.NoAmendmentWaits)];
        if (confirmed && actor!.InLog == proposal.By)
            return [new FormFault("", RecordWords.OwnAmendment)];
        if (why?.Trim() is not { Length: > 0 and <= MaxWords } words)
            return [new FormFault("why", RecordWords.WhyMissing)];
        List<ClinicEvent> events = [new ClinicEvent.ClosedAmendmentDecided(shown.Bench, shown.Batch, shown.Request,
            proposal, confirmed, words)];
        // Where the same was entered once more meanwhile, nothing is left to be amended.
        if (confirmed && shown.Result != proposal.After)
            events.AddRange(Made(shown, proposal));
        var outcome = Outcome.Of(() => clinic.Log.RecordOfClosed(shown, events,
            Provenances.Of(actor!, clock)));
        if (!outcome.IsDone)
            return [new FormFault("", outcome.Fault!)];
        await gates.SettleAsync();
        return [];
    }

    /// <summary>What a confirmed amendment makes of a result.</summary>
    private IEnumerable<ClinicEvent> Made(CartridgeRecord shown, AmendmentProposal proposal)
    {
        yield return new ClinicEvent.ClosedResultAmended(shown.Bench, shown.Batch, shown.Request, shown.Result!,
            proposal.After, proposal.Why, null, proposal.Reason);
        var rule = clinic.Log.Assays.ResultRuleOf(shown.Assay, shown.AssayVersion);
        if (proposal.After is ReadResult.Measured measured
            && PossibleValue.QuestionOf(rule, measured.Value) is { } question)
            yield return new ClinicEvent.ClosedResultQuestioned(shown.Bench, shown.Batch, shown.Request, question);
        if (shown is { Kind: RequestKind.Patient, Values: { } values } && TellingDuty.Of(rule, values.With(
            new ResultValue(proposal.After, clock.Now, proposal.By, proposal.Why, null, null)).Values) is { } duty)
            yield return new ClinicEvent.ClosedTellingDue(shown.Bench, shown.Batch, shown.Request, duty.Cause);
    }

    /// <summary>A command as its bench is told it: with which amendments of an actor count at once.</summary>
    public BenchCommand Said(BenchCommand command, Actor actor, BenchId bench) => AmendmentRule.Said(command,
        AmendmentRule.Of(IsOn, Access.May(actor, Right.Supervise, bench.Value)));
}
