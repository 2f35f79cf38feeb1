using Incubation.Model.Terms;

namespace Incubation.Exchange.Gs1;

/// <summary>
/// Reads GS1 Digital Link addresses (GS1 Digital Link standard, URI syntax):
/// "https://…/01/09521234543213/10/ABC123?17=261231".
/// </summary>
internal static class Gs1Link
{
    /// <summary>
    /// Reads an address. What stands before the item number, and members of the query that are no identifier, is left
    /// alone.
    /// </summary>
    public static Gs1Reading Read(string address, int currentYear)
    {
        var withoutFragment = address.Split('#', 2)[0].Split('?', 2);
        var parts = withoutFragment[0].Split('/').Skip(3).ToList();
        var start = parts.FindIndex(part => part is "01" or "02");
        if (start < 0)
            return Gs1Reader.No(Gs1Words.NoLink, Gs1Reader.Shown(address));
        if (parts[^1].Length == 0)
            parts.RemoveAt(parts.Count - 1);
        if ((parts.Count - start) % 2 != 0)
            return Gs1Reader.No(Gs1Words.LinkCut, Gs1Reader.Shown(parts[^1]));
        var query = withoutFragment.Length == 1 ? [] : withoutFragment[1].Split('&', ';')
            .Select(member => member.Split('=', 2))
            .Where(member => member[0].Length >= 2 && member[0].All(char.IsAsciiDigit))
            .Select(member => (member[0], member.Length == 2 ? member[1] : ""));
        var elements = new List<Gs1Element>();
        foreach (var (identifier, value) in parts.Skip(start).Chunk(2).Select(pair => (pair[0], pair[1])).Concat(query))
        {
            if (Decoded(value) is not { } plain)
                return Gs1Reader.No(Gs1Words.LinkEscape, Gs1Reader.Shown(value));
            elements.Add(new Gs1Element(identifier, identifier == "01" && Gtin.HasForm(plain)
                ? plain.PadLeft(Gtin.Digits, '0') : plain));
        }

        return Gs1Reader.Checked(elements, currentYear);
    }

    /// <summary>
    /// The text with its percent signs undone; null where one of them is followed by something else than two
    /// hexadecimal digits.
    /// </summary>
    private static string? Decoded(string value)
    {
        for (var at = value.IndexOf('%', StringComparison.Ordinal); at >= 0; at = value.IndexOf('%', at + 1))
            if (at + 2 >= value.Length || !char.IsAsciiHexDigit(value[at + 1]) || !char.IsAsciiHexDigit(value[at + 2]))
                return null;
        return Uri.UnescapeDataString(value);
    }
}
