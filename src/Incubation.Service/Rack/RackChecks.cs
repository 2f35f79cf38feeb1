using System.Globalization;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Record;
using Incubation.Service.Snapshots;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Rack;

/// <summary>
/// What is doubtful about a list of tubes: the same specimen again, a number that looks like another's, a type that an
/// assay does not take, a lot that does not last. Changes nothing.
/// </summary>
public sealed class RackChecks(ClinicHost clinic, BenchRegistry benches, CartridgeProjection book, BenchClock clock,
    StockQueries room)
{
    private readonly Lock gate = new();

    /// <summary>Names the question whether an order for an assay goes on waiting; js/rackorders.js settles it, too.
    /// </summary>
    internal static string OrderedCode(string assay) => "ordered:" + assay;

    private (string Of, IReadOnlyList<Known> Found) closed = ("", []);

    /// <summary>Everything that is asked, also what was settled; in the lines' order.</summary>
    public IReadOnlyList<RackDoubt> Of(IReadOnlyList<RackLine> lines)
    {
        ArgumentNullException.ThrowIfNull(lines);
        var known = Present().Concat(ClosedToday()).ToList();
        var ordered = clinic.Log.Worklist.WaitingSpecimens.Select(one => one.Value).ToHashSet(StringComparer.Ordinal);
        var lots = new Dictionary<LotCode, LotCount>();
        var before = new List<RackLine>();
        var doubts = new List<RackDoubt>();
        foreach (var line in lines)
        {
            doubts.AddRange(OfLine(line, before, known, ordered));
            doubts.AddRange(OfCancelled(line));
            doubts.AddRange(OfLots(line, lots));
            before.Add(line);
        }

        return doubts;
    }

    private IEnumerable<RackDoubt> OfLine(RackLine line, List<RackLine> before, List<Known> known,
        HashSet<string> ordered)
    {
        var (id, specimen) = (line.Id ?? "", line.Specimen?.Trim() ?? "");
        if (FaultOf(line, specimen) is { } fault)
            return [new RackDoubt(id, "fault", fault)];
        specimen = Bounds.Normal(specimen);
        var there = known.Where(one => one.Specimen == specimen && line.Assays!.Contains(one.Assay))
            .Select(one => new RackDoubt(id, "there:" + one.Assay, one.Sentence, RackWords.AddAgain))
            .DistinctBy(doubt => doubt.Code);
        var twice = before.Where(other => Bounds.IsIdentifier(other.Specimen?.Trim())
                && Bounds.Normal(other.Specimen!.Trim()) == specimen)
            .SelectMany(other => other.Assays ?? []).Intersect(line.Assays!)
            .Select(assay => new RackDoubt(id, "twice:" + assay, Say.Of(RackWords.Twice, specimen, NameOf(assay)),
                RackWords.AddAgain));
        var alike = known.Select(one => one.Specimen).Concat(before.Select(other => other.Specimen?.Trim() ?? ""))
            // A tube that is ordered by just this number is no other's.
            .Concat(ordered.Contains(specimen) ? [] : ordered)
            .Distinct().Where(other => LikeNames.AreAlike(other, specimen))
            .Select(other => new RackDoubt(id, "alike:" + other, Say.Of(RackWords.Alike, specimen, other),
                RackWords.IsAnother, other));
        // Where just this is ordered or here, it is a tube's.
        var other = ordered.Contains(specimen) || known.Any(one => one.Specimen == specimen) ? null
            : TubeNumbers.LooksOtherwise(specimen, clinic.Log.Stock);
        return [.. other is null ? [] : new[] { new RackDoubt(id, "other", other, RackWords.IsTheTubes) }, .. there,
            .. twice, .. alike, .. OfOrders(id, specimen, line), .. OfType(id, line)];
    }

    /// <summary>What would go on waiting for the tube: a screen that has not asked yet may not know it.</summary>
    private IEnumerable<RackDoubt> OfOrders(string id, string specimen, RackLine line) =>
        clinic.Log.Worklist.WaitingFor(new SpecimenId(specimen)).Select(order => order.Content.Assay.Value).Distinct()
            .Except(line.Assays ?? []).Select(assay => new RackDoubt(id, OrderedCode(assay),
                Say.Of(RackWords.OrderedToo, specimen, NameOf(assay)), RackWords.LeaveWaiting));

    /// <summary>
    /// What is asked because an order was cancelled, also since its tube was put on the list: named by the order, so
    /// that another's end is asked anew.
    /// </summary>
    public IReadOnlyList<RackDoubt> OfCancelled(IReadOnlyList<RackLine> lines)
    {
        ArgumentNullException.ThrowIfNull(lines);
        return [.. lines.SelectMany(OfCancelled)];
    }

    private IEnumerable<RackDoubt> OfCancelled(RackLine line)
    {
        if (line.Specimen?.Trim() is not { } specimen || !Bounds.IsIdentifier(specimen))
            return [];
        specimen = Bounds.Normal(specimen);
        var worklist = clinic.Log.Worklist;
        var waiting = worklist.WaitingFor(new SpecimenId(specimen)).Select(order => order.Content.Assay);
        return worklist.CancelledFor(new SpecimenId(specimen))
            .Where(order => (line.Assays ?? []).Contains(order.Content.Assay.Value))
            .ExceptBy(waiting, order => order.Content.Assay).GroupBy(order => order.Content.Assay)
            .Select(ofAssay => ofAssay.MaxBy(order => order.Cancelled!.At)!)
            .Select(order => new RackDoubt(line.Id ?? "",
                string.Create(CultureInfo.InvariantCulture, $"cancelled:{order.Row}"),
                Say.Of(RackWords.OrderCancelled, order.Number, NameOf(order.Content.Assay.Value),
                    Names.Of(order.Cancelled!.By, clinic.Log.People),
                    Say.DateAndTime(order.Cancelled.At, clinic.Facts.Zone), order.Cancelled.Why),
                RackWords.AddUnordered));
    }

    private string? FaultOf(RackLine line, string specimen)
    {
        if (specimen.Length == 0)
            return RackWords.NumberMissing;
        if (specimen.Length > TextId.MaximumLength)
            return Say.Of(RackWords.TooLong, TextId.MaximumLength, specimen.Length);
        if (!Bounds.IsIdentifier(specimen))
            return Words.IntakeTextFault;
        if (line.Assays is not { Count: > 0 })
            // Where others are ordered, that this one is not is worth a look at its label.
            return clinic.Log.Worklist is { WaitingCount: > 0 } orders
                && orders.WaitingFor(new SpecimenId(Bounds.Normal(specimen))).Count == 0
                ? RackWords.NotOrdered : RackWords.NothingChosen;
        if (line.Assays.FirstOrDefault(assay => SheetOf(assay) is null) is { } unknown)
            return Say.Of(RackWords.AssayUnknown, unknown);
        return !TimeOfDay.TryReadDateAndTime(line.Collected, clinic.Facts.Zone, out _)
            || !TimeOfDay.TryReadEither(line.Due, clock.Now, clinic.Facts.Zone, out _)
            ? RackWords.TimeUnreadable : null;
    }

    private IEnumerable<RackDoubt> OfType(string id, RackLine line) =>
        line.SpecimenType?.Trim() is not { Length: > 0 } type ? [] :
        from assay in line.Assays ?? []
        let types = SheetOf(assay)!.Specimens.Types
        where !types.IsEmpty && !types.Contains(type, StringComparer.OrdinalIgnoreCase)
        select new RackDoubt(id, "type:" + assay,
            Say.Of(RackWords.OtherType, NameOf(assay), type, string.Join(", ", types)));

    /// <summary>Whether the lots last for this line too: said of each tube that goes without.</summary>
    private List<RackDoubt> OfLots(RackLine line, Dictionary<LotCode, LotCount> used)
    {
        var doubts = new List<RackDoubt>();
        foreach (var assay in (line.Assays ?? []).Where(assay => SheetOf(assay) is not null).Distinct())
        {
            var usable = clinic.Log.Stock.Usable(new AssayCode(assay), clock.Now.InZone(clinic.Facts.Zone).Date);
            var named = line.Lots?.GetValueOrDefault(assay);
            if (usable.FirstOrDefault(kit => named is null || kit.Lot.Value == named) is not { } lot)
            {
                // A lot that was named and must not be used is said by the intake, with its reason.
                if (named is null)
                    doubts.Add(new RackDoubt(line.Id ?? "", "fault",
                        string.Join(' ', room.StopsFor(new AssayCode(assay)))));
                continue;
            }

            // Counted once for a list: the file is asked for it.
            if (!used.TryGetValue(lot.Lot, out var count))
                count = new LotCount(0, room.LeftOf(lot), room.FreeOf(lot));
            used[lot.Lot] = count = count with { Used = count.Used + 1 };
            if (count.Used > count.Free)
                doubts.Add(new RackDoubt(line.Id ?? "", "short:" + lot.Lot, count.Left > count.Free
                    ? Say.Of(RackWords.LotShortFree, lot.Lot, count.Left, count.Free)
                    : Say.Of(RackWords.LotShort, lot.Lot, count.Free), RackWords.AddAllTheSame));
        }

        return doubts;
    }

    /// <summary>
    /// How many of a lot a list needs so far, how many are left, and free of those; null where nobody has counted.
    /// </summary>
    private sealed record LotCount(int Used, int? Left, int? Free);

    private AssaySheet? SheetOf(string assay) =>
        TextId.IsValid(assay) ? clinic.Log.Assays.Latest(new AssayCode(assay))?.Sheet : null;

    private string NameOf(string assay) => SheetOf(assay)?.Assay.Name ?? assay;

    /// <summary>A cartridge of today.</summary>
    /// <param name="Specimen">Its specimen.</param>
    /// <param name="Assay">Its assay.</param>
    /// <param name="Sentence">Where it is, and when it will be done.</param>
    private sealed record Known(string Specimen, string Assay, string Sentence);

    private IEnumerable<Known> Present() =>
        from runner in benches.All
        let view = runner.Present
        from cartridge in view.State.Cartridges
        where cartridge.Stage is not CartridgeStage.Withdrawn
        let request = cartridge.Wanted.Request
        select new Known(request.Specimen.Value, request.Assay.Value, SentenceOf(view, cartridge));

    private string SentenceOf(BenchMoment view, Cartridge cartridge)
    {
        var zone = clinic.Facts.Zone;
        var done = view.State.StartedAt is null ? null : view.State.Adopted?.Remaining
            .Where(row => row.Step.Action is StepAction.Clear && row.Step.Action.Subject == cartridge.Id)
            .Select(row => (Instant?)row.Step.End).FirstOrDefault();
        return Say.Of(RackWords.There, cartridge.Wanted.Request.Specimen, cartridge.Wanted.Assay.Name, view.State.Name,
            Say.Dotted(BatchText.Stage(view, cartridge, zone),
                done is { } at ? Say.Of(RackWords.DoneAt, Say.Clock(at, zone)) : null));
    }

    /// <summary>
    /// Of batches that were closed today: read when one has been closed since, and not at every scan.
    /// </summary>
    private IReadOnlyList<Known> ClosedToday()
    {
        const int AtMost = 2000;
        var zone = clinic.Facts.Zone;
        var today = clock.Now.InZone(zone).Date;
        var of = string.Join('/', benches.All.Select(runner => $"{runner.Id} {runner.Present.State.Batch}")
            .Append(Say.Day(today)));
        lock (gate)
        {
            if (closed.Of != of)
                closed = (of, [.. book.Find(new CartridgeQuery(From: today.AtStartOfDayInZone(zone).ToInstant(),
                        Most: AtMost)).Cartridges
                    .Where(one => one.Standing != CartridgeStatus.Withdrawn
                        && benches.Find(one.Bench.Value)?.Present.State.Batch != one.Batch)
                    .Select(one => new Known(one.Specimen.Value, one.Assay.Value, Say.Of(RackWords.ThereClosed,
                        one.Specimen, one.AssayName, one.Batch, ResultStatusText.Of(one.Standing))))]);
            return closed.Found;
        }
    }
}
