using System.Text.Json;
using System.Text.Json.Serialization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Clinic.Record;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Log;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Record;

/// <summary>A late report as a supervisor sees it.</summary>
/// <param name="Late">The report.</param>
/// <param name="What">What was reported, in words.</param>
/// <param name="Who">Whose report it is.</param>
public sealed record LateReportLine(LateReport Late, string What, string Who);

/// <summary>Late reports that wait for a decision.</summary>
/// <param name="Count">How many.</param>
/// <param name="First">The oldest of them.</param>
public sealed record WaitingReports(int Count, IReadOnlyList<LateReportLine> First);

/// <summary>
/// Reports that come after their batch was closed: a tablet was alone, or the log could not be written. What was done
/// has been done, so they are recorded against the batch, as amendments are; they change no result by themselves, and
/// wait for a supervisor's decision.
/// </summary>
public sealed class LateReportService(CartridgeProjection book, ClinicHost clinic, BenchClock clock)
{
    /// <summary>So many stand on a page; the others come up as these are decided.</summary>
    public const int MostShown = 50;

    private const int MaxWords = 200;

    /// <summary>More cartridges than a bench has in work in a day.</summary>
    private const int MostReacted = 500;

    private static readonly JsonSerializerOptions Flat = new(JsonSerializerOptions.Web)
    {
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    };

    /// <summary>
    /// Records a report that a bench does not know the request of, where that stands in a closed batch of it; null
    /// where it does not.
    /// </summary>
    /// <param name="bench">The bench.</param>
    /// <param name="report">What was reported.</param>
    /// <param name="said">By whom, when, through what, as it came.</param>
    public CommandAnswer? Take(BenchState bench, BenchCommand.Report report, Provenance said)
    {
        ArgumentNullException.ThrowIfNull(bench);
        ArgumentNullException.ThrowIfNull(said);
        var flat = CommandWriter.Write(report, said.At, said.Device.Value);
        if (flat.Request is not { } named || bench.Find(new RequestId(named)) is not null
            || !clinic.Log.Requests.Contains(new RequestId(named))
            || book.LastClosed(bench.Id, new RequestId(named)) is not { } cartridge)
            return null;
        var (at, claimed) = TimeOf(said, cartridge);
        var late = new ClinicEvent.ReportedAfterClose(bench.Id, cartridge.Batch, cartridge.Request,
            JsonSerializer.Serialize(flat, Flat), said.Identity == Identity.Checked, claimed, said.Sender);
        try
        {
            return clinic.Log.Record(late, said with { At = at }) is ClinicOutcome.Refused
                ? null : CommandAnswer.Stands(bench.Revision);
        }
        catch (AppendException)
        {
            return CommandAnswer.Later(Words.LogUnwritable, bench.Revision);
        }
    }

    /// <summary>
    /// Records a temperature outside the tolerance that is told of a time before the last batch was closed, against
    /// each cartridge of a closed batch that reacted in the incubator then; null where there was none. Of a cartridge
    /// of which one waits already, no other is kept.
    /// </summary>
    /// <param name="bench">The bench.</param>
    /// <param name="measured">What was measured.</param>
    /// <param name="said">By whom, when, through what, as it came.</param>
    public CommandAnswer? Take(BenchState bench, BenchCommand.TemperatureMeasured measured, Provenance said)
    {
        ArgumentNullException.ThrowIfNull(bench);
        ArgumentNullException.ThrowIfNull(measured);
        ArgumentNullException.ThrowIfNull(said);
        if (said.Claimed is not null || said.At >= bench.Run.Since || said.At > said.Arrived)
            return null;
        var reacted = ReactedAt(bench.Id, said.At, measured.Value);
        if (reacted.Count == 0)
            return null;
        var flat = JsonSerializer.Serialize(CommandWriter.Write(measured, said.At, said.Device.Value), Flat);
        try
        {
            foreach (var one in reacted.Where(one => !clinic.Log.LateReports.Waiting.Any(late =>
                late.Report.Bench == one.Bench && late.Report.Request == one.Request
                && LateReportText.IsTemperature(late.Report.Said))))
                if (clinic.Log.Record(new ClinicEvent.ReportedAfterClose(one.Bench, one.Batch, one.Request, flat,
                    said.Identity == Identity.Checked, null, said.Sender), said with
                    {
                        At = BenchClock.ToMilliseconds(said.At),
                        Id = new ReportId($"{one.Request}.{said.Id}"[..Math.Min(TextId.MaximumLength,
                            one.Request.Value.Length + 1 + said.Id.Value.Length)]),
                    }) is ClinicOutcome.Refused)
                    return null;
            return CommandAnswer.Stands(bench.Revision);
        }
        catch (AppendException)
        {
            return CommandAnswer.Later(Words.LogUnwritable, bench.Revision);
        }
    }

    /// <summary>
    /// Cartridges of closed batches that reacted in the incubator while that was outside its tolerance.
    /// </summary>
    private List<CartridgeRecord> ReactedAt(BenchId bench, Instant at, Celsius measured) =>
    [
        .. book.Find(new CartridgeQuery(From: at - Bounds.PlannedWithin, To: at + Bounds.PlannedWithin, Bench: bench,
            Most: MostReacted))
            .Cartridges
            .Where(one => one is { Slot: not null, Load.From: { } loaded } && loaded <= at
                && !((one.Read.From ?? one.Clear.To ?? one.Discard.To) <= at))
            .GroupBy(one => one.Batch)
            .SelectMany(batch => book.Batch(bench, batch.Key) is { Closed: not null, State: var state }
                && Readiness.RuleOf(state)?.IsOutside(measured) == true ? batch.ToList() : []),
    ];

    /// <summary>
    /// Where an instruction is given about a result that its bench does not have any more since its batch was closed;
    /// null where it is not so.
    /// </summary>
    public CommandAnswer? OfClosed(BenchState bench, BenchCommand.OfResult instruction)
    {
        ArgumentNullException.ThrowIfNull(bench);
        ArgumentNullException.ThrowIfNull(instruction);
        return bench.Find(instruction.Request) is null
            && book.LastClosed(bench.Id, instruction.Request) is { } closed
            ? CommandAnswer.Refuse(Say.Of(RecordWords.ResultOfClosed, closed.Request, closed.Batch), bench.Revision)
            : null;
    }

    /// <summary>
    /// Those that wait for a decision of this actor, the oldest first, at most <see cref="MostShown"/>; none for who
    /// may not decide.
    /// </summary>
    /// <param name="actor">Who.</param>
    /// <param name="bench">Only those of this bench's batch; null for all.</param>
    /// <param name="batch">Number of the batch.</param>
    public WaitingReports Waiting(Actor? actor, string? bench = null, int batch = 0)
    {
        var waiting = clinic.Log.LateReports.Waiting
            .Where(late => Access.May(actor, Right.Supervise, late.Report.Bench.Value)
                && (bench is null || (late.Report.Bench.Value == bench && late.Report.Batch == batch)))
            .ToList();
        return new WaitingReports(waiting.Count, [.. waiting.Take(MostShown).Select(LineOf)]);
    }

    /// <summary>A late report that waits; null where there is none of that name in the batch.</summary>
    public LateReportLine? Find(string bench, int batch, string? report) =>
        TextId.IsValid(report) && clinic.Log.LateReports.Find(new ReportId(report!)) is { Decision: null } late
            && late.Report.Bench.Value == bench && late.Report.Batch == batch ? LineOf(late) : null;

    /// <summary>Decides that a late report is noted and changes nothing.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="late">The report.</param>
    /// <param name="why">Why.</param>
    /// <returns>What is wrong, by member; empty where it stands in the record.</returns>
    public IReadOnlyList<FormFault> Note(Actor? actor, LateReport late, string? why)
    {
        ArgumentNullException.ThrowIfNull(late);
        var report = late.Report;
        if (!Access.May(actor, Right.Supervise, report.Bench.Value))
            return [new FormFault("", actor is null ? Words.SignInFirst : Words.NotAllowed)];
        var reason = why?.Trim() ?? "";
        if (reason.Length is 0 or > MaxWords)
            return [new FormFault("why", RecordWords.WhyMissing)];
        var outcome = Outcome.Of(() => clinic.Log.Record(
            new ClinicEvent.LateReportSettled(report.Bench, report.Request, late.Provenance.Id,
                LateReportDecision.Noted, reason), Provenances.Of(actor!, clock)));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>A late report in words.</summary>
    public LateReportLine LineOf(LateReport late)
    {
        var cartridge = book.LastClosed(late.Report.Bench, late.Report.Request);
        var people = clinic.Log.People;
        return new LateReportLine(late, LateReportText.Of(late, cartridge is null ? [] : [cartridge], people),
            Names.Of(late.Provenance.Person, people));
    }

    /// <summary>As of its arrival, with the time as it came, where that cannot be.</summary>
    private static (Instant At, string? Claimed) TimeOf(Provenance said, CartridgeRecord cartridge)
    {
        var arrived = BenchClock.ToMilliseconds(said.Arrived);
        return said.Claimed is null && said.At <= arrived && said.At >= cartridge.At - Bounds.PlannedWithin
            ? (BenchClock.ToMilliseconds(said.At), null)
            : (arrived, said.Claimed ?? InstantPattern.ExtendedIso.Format(said.At));
    }
}
