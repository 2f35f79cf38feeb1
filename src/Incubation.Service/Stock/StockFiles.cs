using Incubation.Clinic.Stock;
using Incubation.Model;
using Incubation.Records.Export;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Stock;

/// <summary>Lots and reorder points as files: every number that their page shows, and of what it is made.</summary>
public sealed class StockFiles(ClinicHost clinic, StockQueries room, BenchClock clock)
{
    private static readonly string[] OfLot =
    [
        "kind", "lot", "assay", "item", "lastDay", "deliveries", "received", "lastReceived", "counted", "countedFrom",
        "used", "left", "waiting", "mayBeUsed", "standing", "opened", "quarantined", "quarantineWords", "finished",
        "reorderCounts",
    ];

    /// <summary>A line for each lot, finished ones too, by kind and lot.</summary>
    public IEnumerable<string> Lots()
    {
        var state = clinic.Log.Stock;
        var today = clock.Now.InZone(clinic.Facts.Zone).Date;
        yield return Csv.Line(OfLot);
        foreach (var item in state.Items.Values.OrderBy(item => item.Kind)
            .ThenBy(item => item.Lot.Value, StringComparer.Ordinal))
        {
            var line = room.LineOf(item);
            yield return Csv.Line([KebabCase.Of(item.Kind), item.Lot.Value, item.Assay?.Value, item.Item?.Value,
                Say.Day(item.Expiry), item.Shipments.Length, item.Shipments.Sum(one => one.Count),
                Text(item.Shipments[^1].At), item.Counted, Text(item.CountedAt), item.Counted - line.Left, line.Left,
                room.WaitingFor(item.Lot).Count, line.IsStopped ? "no" : "yes", line.Status, Text(item.OpenedAt),
                Text(item.Quarantine?.At), item.Quarantine?.Why, Text(item.FinishedAt),
                item.Kind is StockKind.Kit or StockKind.Control
                    ? KebabCase.Of(Reorder.CountsOf(state, item, today, room.ExpiryWarningDays)) : null]);
        }
    }

    /// <summary>A line for each reorder point, in the order of the page.</summary>
    public IEnumerable<string> ReorderPoints()
    {
        yield return Csv.Line(["kind", "assay", "least", "left", "expiring", "notCounted", "order", "warningDays"]);
        foreach (var line in room.ToReorder())
            yield return Csv.Line([KebabCase.Of(line.Key.Kind), line.Key.Assay?.Value, line.Least, line.Left,
                line.Expiring, line.NotCounted, line.NotCounted > 0 ? null : line.IsBelow ? "yes" : "no",
                room.ExpiryWarningDays]);
    }

    private static string? Text(Instant? at) => at is { } known ? InstantPattern.ExtendedIso.Format(known) : null;
}
