using System.Globalization;
using Incubation.Service.Rack;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Worklist;

/// <summary>Orders as the tubes of a rack: one line for each specimen.</summary>
public static class OrderLines
{
    /// <summary>The lines.</summary>
    /// <param name="waiting">What waits.</param>
    /// <param name="chosen">Those that are wanted; the others of the same specimens are meant to wait.</param>
    /// <param name="now">The present: what was due before is due no more.</param>
    /// <param name="zone">The clinic's zone.</param>
    /// <param name="settled">What was asked about them and answered: it is meant so.</param>
    public static IReadOnlyList<RackLine> Of(IReadOnlyList<OrderLine> waiting, IReadOnlySet<long> chosen, Instant now,
        DateTimeZone zone, IReadOnlyList<RackDoubt> settled)
    {
        ArgumentNullException.ThrowIfNull(waiting);
        ArgumentNullException.ThrowIfNull(chosen);
        ArgumentNullException.ThrowIfNull(settled);
        return [.. waiting.Where(order => chosen.Contains(order.Order)).GroupBy(order => order.Specimen).Select(tube =>
        {
            var id = IdOf(tube.First());
            var due = tube.Select(order => order.Due).Where(at => at > now).Min();
            var collected = tube.Select(order => order.Collected).Max();
            return new RackLine(id, tube.Key, [.. tube.Select(order => order.Assay).Distinct()],
                tube.Any(order => order.IsUrgent), null,
                [.. settled.Where(doubt => doubt.Line == id).Select(doubt => doubt.Code),
                    .. waiting.Where(order => order.Specimen == tube.Key)
                        .Select(order => RackChecks.OrderedCode(order.Assay)).Distinct()],
                tube.Select(order => order.Identifier).FirstOrDefault(one => one is not null),
                tube.Select(order => order.SpecimenType).FirstOrDefault(one => one is not null),
                collected is { } then ? TimeOfDay.WriteDateAndTime(then, zone) : null,
                due is { } at ? TimeOfDay.Write(at, now, zone) : null);
        })];
    }

    /// <summary>Names the line of an order, where it is the first of its specimen.</summary>
    public static string IdOf(OrderLine order)
    {
        ArgumentNullException.ThrowIfNull(order);
        return order.Order.ToString(CultureInfo.InvariantCulture);
    }
}
