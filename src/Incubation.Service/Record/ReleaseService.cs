using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Gates;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>
/// Releases results that were held when their batch was closed, and have been since: a patient's goes out, a control's
/// is judged.
/// </summary>
public sealed class ReleaseService(CartridgeProjection book, ClinicHost clinic, LotGateService gates, BenchClock clock)
{
    private const int MaxWords = 200;

    /// <summary>The cartridge of a closed batch whose result is held; null where there is none.</summary>
    public CartridgeRecord? Find(string bench, int batch, string? request) =>
        TextId.IsValid(bench) && book.Batch(new BenchId(bench), batch) is { Closed: not null } closed
            ? closed.Cartridges.FirstOrDefault(one => one.Request.Value == request
                && one is { AwaitsDecision: true, Proposal: null }) : null;

    /// <summary>
    /// What a patient's result would still wait for if its batch were not closed: its lot's gate as it stands now, in
    /// words; null where that is open.
    /// </summary>
    public string? StillWaits(CartridgeRecord cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge.Kind != RequestKind.Control
            && gates.GateOn(cartridge.Bench, cartridge.Assay, cartridge.Lot) is not LotGate.Open and var gate
            ? ResourceText.Gate(gate, cartridge.Lot) : null;
    }

    /// <summary>Releases a result.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="shown">The cartridge as it was shown.</param>
    /// <param name="why">Why, in words.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public async Task<IReadOnlyList<FormFault>> ReleaseAsync(Actor? actor, CartridgeRecord shown, string? why)
    {
        ArgumentNullException.ThrowIfNull(shown);
        if (!Access.May(actor, Right.Supervise, shown.Bench.Value))
            return [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)];
        if ((why?.Trim() ?? "") is not { Length: > 0 and <= MaxWords } words)
            return [new FormFault("why", RecordWords.WhyMissing)];
        if (shown is { Question: ValueQuestion.NotOneNumber, Result: ReadResult.Measured doubtful })
            return [new FormFault("", Say.Of(TypedWords.RefusedNotOneNumber, doubtful.Value))];
        var outcome = Outcome.Of(() => clinic.Log.RecordOfClosed(shown,
            [new ClinicEvent.ClosedResultReleased(shown.Bench, shown.Batch, shown.Request, words,
                shown.AmendedSinceClose)], Provenances.Of(actor!, clock)));
        if (!outcome.IsDone)
            return [new FormFault("", outcome.Fault!)];
        await gates.SettleAsync();
        return [];
    }
}
