using System.Globalization;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Service.Text;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Service.Record;

/// <summary>What stands in the address of the record's page, as a person typed it.</summary>
/// <param name="Specimen">How the specimen begins.</param>
/// <param name="Lot">How the lot begins.</param>
/// <param name="From">The first day.</param>
/// <param name="To">The last day.</param>
/// <param name="Bench">The bench.</param>
/// <param name="Order">In which order.</param>
/// <param name="Page">Which page, from 1.</param>
public sealed record RecordSearch(string? Specimen = null, string? Lot = null, string? From = null, string? To = null,
    string? Bench = null, string? Order = null, int Page = 1)
{
    /// <summary>So many cartridges stand on a page.</summary>
    public const int PageRows = 50;

    /// <summary>An order that is turned round ends so.</summary>
    private const string Down = "-down";

    /// <summary>By what the cartridges are put in order.</summary>
    public CartridgeOrder By => Enum.TryParse<CartridgeOrder>(OrderName, ignoreCase: true, out var order)
        && Enum.IsDefined(order) ? order : CartridgeOrder.Time;

    /// <summary>Whether the order is turned round; the newest come first where nothing is said.</summary>
    public bool IsDescending => string.IsNullOrEmpty(Order) || Order.EndsWith(Down, StringComparison.Ordinal);

    private string OrderName => Order?.Replace(Down, "", StringComparison.Ordinal) ?? "";

    /// <summary>What is looked for; a sentence for each field that cannot be understood.</summary>
    public (CartridgeQuery Query, string? FromFault, string? ToFault) Read(DateTimeZone zone)
    {
        var (from, fromFault) = Day(From);
        var (to, toFault) = Day(To);
        if (from > to)
            toFault ??= RecordWords.FindOrderFault;
        var page = Math.Clamp(Page, 1, int.MaxValue / PageRows);
        return (new CartridgeQuery(
            Specimen, Lot, from?.AtStartOfDayInZone(zone).ToInstant(), to?.PlusDays(1).AtStartOfDayInZone(zone)
                .ToInstant(),
            TextId.IsValid(Bench) ? new BenchId(Bench!) : null, By, IsDescending, (page - 1) * PageRows, PageRows),
                fromFault, toFault);
    }

    /// <summary>The address of the page that looks so.</summary>
    public string Address =>
        "record?" + string.Join('&', Parts().Select(part => $"{part.Name}={Uri.EscapeDataString(part.Value)}"));

    /// <summary>The same in another order; the one that stands is turned round.</summary>
    public RecordSearch OrderedBy(CartridgeOrder order)
    {
        var name = order.ToString().ToLowerInvariant();
        return this with { Order = By == order && !IsDescending ? name + Down : name, Page = 1 };
    }

    private IEnumerable<(string Name, string Value)> Parts()
    {
        (string, string?)[] all =
        [
            ("specimen", Specimen), ("lot", Lot), ("from", From), ("to", To), ("bench", Bench), ("order", Order),
            ("page", Page == 1 ? null : Page.ToString(CultureInfo.InvariantCulture)),
        ];
        return all.Where(part => !string.IsNullOrEmpty(part.Item2)).Select(part => (part.Item1, part.Item2!));
    }

    private static (LocalDate? Day, string? Fault) Day(string? text)
    {
        if (string.IsNullOrWhiteSpace(text))
            return (null, null);
        var read = LocalDatePattern.Iso.Parse(text.Trim());
        // The data file holds the years 1678 to 2261.
        return read.Success && read.Value.Year is > 1678 and < 2261
            ? (read.Value, null) : (null, Say.Of(RecordWords.FindDateFault, text));
    }
}
