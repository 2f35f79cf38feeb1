using System.Text;

namespace Incubation.Exchange.Gs1;

/// <summary>Writes what a GS1 code says in each of its forms.</summary>
public static class Gs1Writer
{
    /// <summary>
    /// The element string: the separator stands after each field whose length is not predefined, unless it is the last.
    /// </summary>
    public static string ElementString(IReadOnlyList<Gs1Element> elements)
    {
        ArgumentNullException.ThrowIfNull(elements);
        var text = new StringBuilder();
        for (var at = 0; at < elements.Count; at++)
        {
            text.Append(elements[at].Identifier).Append(elements[at].Value);
            if (at < elements.Count - 1 && Gs1Table.Find(elements[at].Identifier) is not { HasPredefinedLength: true })
                text.Append(Gs1Reader.Separator);
        }

        return text.ToString();
    }

    /// <summary>The form that people read: "(01)…(10)…".</summary>
    public static string Bracketed(IReadOnlyList<Gs1Element> elements)
    {
        ArgumentNullException.ThrowIfNull(elements);
        return string.Concat(
            elements.Select(element =>
                $"({element.Identifier}){element.Value.Replace("(", "\\(", StringComparison.Ordinal)}"));
    }

    /// <summary>
    /// The path and query of a Digital Link address: the item number and what qualifies it in the path, the rest in the
    /// query.
    /// </summary>
    public static string LinkPath(IReadOnlyList<Gs1Element> elements)
    {
        ArgumentNullException.ThrowIfNull(elements);
        var inPath = elements.TakeWhile(element => element.Identifier is "01" or "22" or "10" or "21").ToList();
        var path =
            string.Concat(inPath.Select(element => $"/{element.Identifier}/{Uri.EscapeDataString(element.Value)}"));
        var query = string.Join('&', elements.Skip(inPath.Count)
            .Select(element => $"{element.Identifier}={Uri.EscapeDataString(element.Value)}"));
        return query.Length == 0 ? path : $"{path}?{query}";
    }
}
