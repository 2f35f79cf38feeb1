using System.Globalization;
using System.Text;
using System.Xml;
using System.Xml.Linq;

namespace Incubation.Chart;

/// <summary>Writes SVG elements; every text and attribute is escaped by the writer.</summary>
internal static class Svg
{
    private static readonly XNamespace Space = "http://www.w3.org/2000/svg";

    /// <summary>An element with attributes; those that are null are left out.</summary>
    public static XElement Element(string name, params (string Name, object? Value)[] attributes)
    {
        var element = new XElement(Space + name);
        foreach (var (attribute, value) in attributes)
            if (value is not null)
                element.SetAttributeValue(attribute, value is double number
                    ? Number(number) : Clean(value.ToString()!));
        return element;
    }

    /// <summary>An element that holds a text.</summary>
    public static XElement Text(string name, string text, params (string Name, object? Value)[] attributes)
    {
        var element = Element(name, attributes);
        element.Add(new XText(Clean(text)));
        return element;
    }

    public static XElement Line(string css, double x1, double y1, double x2, double y2) =>
        Element("line", ("class", css), ("x1", x1), ("y1", y1), ("x2", x2), ("y2", y2));

    public static XElement Box(string css, double x, double y, double width, double height, double radius,
        string? fill = null) =>
        Element("rect", ("class", css), ("x", x), ("y", y), ("width", Math.Max(0, width)), ("height", height),
            ("rx", radius), ("fill", fill));

    /// <summary>A drawing as markup.</summary>
    public static string Write(XElement root) => root.ToString(SaveOptions.DisableFormatting);

    /// <summary>Pixels to a hundredth.</summary>
    public static string Number(double value) => Math.Round(value, 2).ToString("0.##", CultureInfo.InvariantCulture);

    /// <summary>XML cannot carry every character that a name can: those it cannot become U+FFFD.</summary>
    public static string Clean(string text)
    {
        if (IsClean(text))
            return text;
        var clean = new StringBuilder(text.Length);
        for (var i = 0; i < text.Length; i++)
        {
            if (i + 1 < text.Length && XmlConvert.IsXmlSurrogatePair(text[i + 1], text[i]))
                clean.Append(text[i]).Append(text[++i]);
            else
                clean.Append(XmlConvert.IsXmlChar(text[i]) ? text[i] : '\uFFFD');
        }
        return clean.ToString();
    }

    private static bool IsClean(string text)
    {
        foreach (var character in text)
            if (!XmlConvert.IsXmlChar(character))
                return false;
        return true;
    }
}
