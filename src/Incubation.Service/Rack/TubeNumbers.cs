using Incubation.Clinic.Stock;
using Incubation.Model.Terms;
using Incubation.Service.Text;

namespace Incubation.Service.Rack;

/// <summary>
/// What is scanned beside a tube's number: a kit lies there too, with the number of its lot, of its item, and an
/// address. Each could be a tube's number all the same, so that it is asked and not refused.
/// </summary>
public static class TubeNumbers
{
    private static readonly string[] AddressesBegin = ["http://", "https://", "www."];

    /// <summary>What a number looks like beside a tube's, in a sentence; null where it is nothing else's.</summary>
    /// <param name="number">As it was scanned or typed.</param>
    /// <param name="stock">What the clinic holds.</param>
    public static string? LooksOtherwise(string number, StockState stock)
    {
        ArgumentNullException.ThrowIfNull(number);
        ArgumentNullException.ThrowIfNull(stock);
        if (AddressesBegin.Any(begin => number.StartsWith(begin, StringComparison.OrdinalIgnoreCase)))
            return Say.Of(RackWords.LooksLikeAddress, number);
        if (stock.Items.Values.Any(item => string.Equals(item.Lot.Value, number, StringComparison.OrdinalIgnoreCase)))
            return Say.Of(RackWords.LooksLikeLot, number);
        return IsItem(number, stock) ? Say.Of(RackWords.LooksLikeItem, number) : null;
    }

    /// <summary>
    /// An item number of 14 digits, alone or as GS1 element strings write it (GS1 General Specifications: "(01)", or 01
    /// as sent); a shorter one only where the stock knows it, for numbers of 8, 12 and 13 digits are also tubes'.
    /// </summary>
    private static bool IsItem(string number, StockState stock)
    {
        var item = number.StartsWith("(01)", StringComparison.Ordinal) ? number[4..]
            : number.Length == Gtin.Digits + 2 && number.StartsWith("01", StringComparison.Ordinal) ? number[2..]
            : number;
        return Gtin.IsValid(item) && (item.Length == Gtin.Digits
            || stock.Items.Values.Any(known => known.Item == new Gtin(item)));
    }
}
