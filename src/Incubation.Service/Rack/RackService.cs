using System.Globalization;
using Incubation.Clinic.People;
using Incubation.Clinic.Worklist;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Panels;
using Incubation.Service.Requests;
using Incubation.Service.Stock;
using Incubation.Service.Text;

namespace Incubation.Service.Rack;

/// <summary>Takes a rack of tubes in: what each is for was chosen once, what is doubtful is asked before.</summary>
public sealed class RackService(ClinicHost clinic, BenchClock clock, StockQueries room, RackChecks checks,
    Intake intake, PanelService panels)
{
    /// <summary>What a rack intake is made with.</summary>
    public RackSheet Sheet() => new(clock.Now, clock.Rate, [.. clinic.Catalogue.Assays().Select(AssayOf)],
        [.. panels.Usable().Select(panel =>
            new RackPanel(panel.Name.Value, [.. panel.Assays.Select(assay => assay.Value)]))]);

    /// <summary>What is asked about the lines of a list and not settled yet, in their order.</summary>
    public IReadOnlyList<RackDoubt> Check(IReadOnlyList<RackLine> lines)
    {
        ArgumentNullException.ThrowIfNull(lines);
        return Unsettled(lines, checks.Of(lines));
    }

    private static IReadOnlyList<RackDoubt> Unsettled(IReadOnlyList<RackLine> lines, IReadOnlyList<RackDoubt> doubts)
    {
        var settled = lines.SelectMany(line => (line.Settled ?? []).Select(code => (line.Id, code))).ToHashSet();
        return [.. doubts.Where(doubt => doubt.Settle is null || !settled.Contains((doubt.Line, doubt.Code)))];
    }

    /// <summary>What waits in the worklist for the specimens of a list.</summary>
    public IReadOnlyList<RackOrder> Orders(IReadOnlyList<RackLine> lines)
    {
        ArgumentNullException.ThrowIfNull(lines);
        return [.. from line in lines
                   let specimen = line.Specimen?.Trim()
                   where Bounds.IsIdentifier(specimen)
                   from order in clinic.Log.Worklist.WaitingFor(new SpecimenId(Bounds.Normal(specimen!)))
                   select OrderOf(line.Id ?? "", order)];
    }

    /// <summary>
    /// Puts a list on a bench: all of it, once however often it is sent, or nothing where something is asked first.
    /// </summary>
    /// <param name="bench">The bench.</param>
    /// <param name="lines">The tubes.</param>
    /// <param name="report">Names this list, so that sending it again is harmless.</param>
    /// <param name="actor">Who.</param>
    public async Task<RackOutcome> AddAsync(string bench, IReadOnlyList<RackLine>? lines, ReportId report, Actor actor)
    {
        ArgumentNullException.ThrowIfNull(actor);
        lines ??= [];
        return lines.All(line => line.Bench is null || line.Bench == bench)
            ? await AddHereAsync(bench, lines, report, actor, isAsked: true)
            : await AddPartsAsync(RackPart.Of(bench, lines, report), actor);
    }

    /// <summary>
    /// For several benches: everything is read and asked before any of it is recorded; then one bench after the other.
    /// Each part has a name that follows from the list's, so that a list that was cut short goes on where it was when
    /// it is sent again: what is there stays once, and what was settled before the first part is not asked anew.
    /// </summary>
    private async Task<RackOutcome> AddPartsAsync(IReadOnlyList<RackPart> parts, Actor actor)
    {
        if (parts.FirstOrDefault(part => !Access.May(actor, Right.AddRequests, part.Bench)
            || !Access.May(actor, Right.SeeNamed, part.Bench)) is { } barred)
            return Refused(Say.Of(RackWords.PartNotAllowed, barred.Bench));
        var isBegun = parts.Any(part => intake.IsRecorded(part.Bench, part.Report));
        if (!isBegun)
        {
            var asked = Check([.. parts.SelectMany(part => part.Lines)]);
            if (asked.Count > 0)
                return Refused(RackWords.AskedFirst) with { Doubts = asked };
            foreach (var part in parts)
            {
                var wanted = WantedOf(part.Lines);
                var read = await intake.ReadAsync(part.Bench, [.. wanted.Select(one => one.Request)]);
                if (!read.Taken)
                    return WithDoubts(read, wanted);
            }
        }

        List<string> ids = [];
        foreach (var part in parts)
        {
            var added = await AddHereAsync(part.Bench, part.Lines, part.Report, actor, isAsked: false);
            if (!added.Outcome.Taken)
                return added.Outcome.IsNotNow || ids.Count == 0 ? added : Refused(Say.Of(RackWords.PartLeft, part.Bench,
                    string.Join(' ', added.Outcome.Faults.Select(fault => fault.Sentence))));
            ids.AddRange(added.Outcome.Ids);
        }

        return new RackOutcome(new IntakeOutcome(ids, []), []);
    }

    private static RackOutcome Refused(string sentence) =>
        new(new IntakeOutcome([], [new IntakeFault("requests", sentence)]), []);

    private async Task<RackOutcome> AddHereAsync(string bench, IReadOnlyList<RackLine> lines, ReportId report,
        Actor actor, bool isAsked)
    {
        var wanted = WantedOf(lines);
        // Of tubes for which nothing is chosen, nothing can be there already: what is missing is said of each.
        if (isAsked && wanted.Count == 0 && Check(lines) is { Count: > 0 } missing)
            return Refused(RackWords.AskedFirst) with { Doubts = missing };
        IReadOnlyList<RackDoubt> asked = [];
        IReadOnlyList<IntakeFault> Doubts()
        {
            // Of a list that goes on where it was cut short nothing is asked again but what was cancelled meanwhile.
            asked = isAsked ? Check(lines) : Unsettled(lines, checks.OfCancelled(lines));
            return asked.Count == 0 ? [] : [new IntakeFault("requests", RackWords.AskedFirst)];
        }

        var outcome = await intake.AddAsync(bench, [.. wanted.Select(one => one.Request)], report, actor.InLog,
            actor.Device, Doubts);
        return outcome.Taken || outcome.IsNotNow || asked.Count > 0
            ? new RackOutcome(outcome, asked) : WithDoubts(outcome, wanted);
    }

    private List<(string Line, WantedRequest Request)> WantedOf(IReadOnlyList<RackLine> lines) =>
        [.. lines.SelectMany(line => (line.Assays ?? []).Distinct()
            .Select(assay => (line.Id ?? "", Wanted(line, assay))))];

    private static RackOutcome WithDoubts(IntakeOutcome outcome, List<(string Line, WantedRequest Request)> wanted) =>
        new(outcome, [.. outcome.Faults.Select(fault => DoubtOf(fault, wanted)).OfType<RackDoubt>()]);

    private RackAssay AssayOf(Records.Clinic.CatalogueAssay known)
    {
        var lots = room.ChoicesFor(known.Assay.Code);
        return new RackAssay(known.Assay.Code.Value, known.Assay.Name,
            [.. lots.Select(one => new RackLot(one.Lot.Value, one.Text))],
            lots.Count > 0 ? null : string.Join(' ', room.StopsFor(known.Assay.Code)),
            [.. known.Sheet.Specimens.Types]);
    }

    private RackOrder OrderOf(string line, Order order)
    {
        var (content, zone) = (order.Content, clinic.Facts.Zone);
        return new RackOrder(line, content.Assay.Value, Say.Dotted(order.Source.Value, order.Number.Value),
            content.Priority == Priority.Urgent, content.Identifier, content.SpecimenType,
            content.Collected is { } collected ? TimeOfDay.WriteDateAndTime(collected, zone) : null,
            content.Due is { } due && due > clock.Now ? TimeOfDay.Write(due, clock.Now, zone) : null,
            content.Comment);
    }

    private WantedRequest Wanted(RackLine line, string assay)
    {
        var zone = clinic.Facts.Zone;
        // What cannot be read is asked about before, and nothing is added.
        _ = TimeOfDay.TryReadDateAndTime(line.Collected, zone, out var collected);
        _ = TimeOfDay.TryReadEither(line.Due, clock.Now, zone, out var due);
        return new WantedRequest(line.Specimen, assay, line.Lots?.GetValueOrDefault(assay),
            Priority: line.Urgent == true ? "urgent" : null, Due: due, Identifier: line.Identifier,
            SpecimenType: line.SpecimenType, Collected: collected, TakenOut: Past(line.TakenOut));
    }

    /// <summary>A tablet's clock may be ahead by the part of a second that its round trip left in doubt.</summary>
    private NodaTime.Instant? Past(NodaTime.Instant? stated) => stated is { } at && at > clock.Now
        && at <= clock.Now + NodaTime.Duration.FromSeconds(5) ? clock.Now : stated;

    /// <summary>
    /// A fault of "requests[3].lot" at the line that the request came from; null for one of the whole.
    /// </summary>
    private static RackDoubt? DoubtOf(IntakeFault fault, List<(string Line, WantedRequest Request)> wanted)
    {
        const string Of = "requests[";
        var end = fault.Member.IndexOf(']', StringComparison.Ordinal);
        return fault.Member.StartsWith(Of, StringComparison.Ordinal) && end > 0
            && int.TryParse(fault.Member.AsSpan(Of.Length, end - Of.Length), NumberStyles.None,
                CultureInfo.InvariantCulture, out var at) && at < wanted.Count
            ? new RackDoubt(wanted[at].Line, "fault", fault.Sentence) : null;
    }
}
