using Incubation.Bench;
using Incubation.Clinic.Instruments;
using Incubation.Records.Batches;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Record;

namespace Incubation.Service.Instruments;

/// <summary>
/// Whose result it is that a reader sends when the batch of its cartridge is closed. Another value than the one that
/// stands waits as an amendment, and the one that stands is held until a supervisor has decided.
/// </summary>
public sealed class ClosedMatching(CartridgeProjection book, AmendmentService amendments, BenchClock clock)
{
    /// <summary>So many of a specimen's cartridges are looked at, the newest first.</summary>
    private const int Most = 50;

    /// <summary>What becomes of a result; null where no cartridge of a closed batch alone can be meant.</summary>
    /// <exception cref="Records.Log.AppendException">The log could not be written.</exception>
    internal async Task<WireFate?> FateOfAsync(WireMessage message, InstrumentLink link, WiredResult result, int number)
    {
        if (!ReaderMatching.IsAboutTheValue(result.Objection) || Find(link, result) is not { } one)
            return null;
        var value = result.Shown!.In(amendments.UnitOf(one));
        if (value == one.Result)
            return new WireFate(number, WireVerdict.AlreadyThere, null, one.Request);
        var asked = new WireFate(number, WireVerdict.Asked, MatchQuestion.OtherValue, one.Request);
        if (one.Proposal is { } waiting)
            return waiting.After == value ? asked with { Verdict = WireVerdict.Proposed, Question = null } : asked;
        return !ReaderMatching.IsSameNumber(one.Result, value) && await amendments.ProposeAsync(one, value,
            ReaderMatching.WhyOf(result.Objection ?? MatchQuestion.OtherValue),
            Provenances.Of(WireJudge.By(message.Instrument), WireJudge.On(message.Instrument), clock))
            ? asked with { Verdict = WireVerdict.Proposed, Question = null } : asked;
    }

    /// <summary>
    /// The one cartridge of a closed batch that this reader read, of its specimen, its test and its time.
    /// </summary>
    private CartridgeRecord? Find(InstrumentLink link, WiredResult result)
    {
        if (ReaderMatching.TestOf(link.Tests, result.Test) is not { } test || result.Shown is null
            || result.Specimen?.Trim() is not { Length: > 0 } specimen || !ReaderMatching.IsOfUnit(result, test))
            return null;
        var found = book.Find(new CartridgeQuery(specimen, Bench: link.Bench, Most: Most)).Cartridges
            .Where(one => string.Equals(one.Specimen.Value, specimen, StringComparison.OrdinalIgnoreCase)
                && one.Assay == test.Assay && one.Reader == link.Reader.Value && one.Read.From is { } from
                && (result.ReadAt is not { } at || (at.Latest >= from - ReaderMatching.Tolerance
                    && (one.Clear.To is not { } to || at.Earliest <= to + ReaderMatching.Tolerance))))
            .ToList();
        return found is [var only] ? amendments.Find(only.Bench.Value, only.Batch, only.Request.Value) : null;
    }
}
