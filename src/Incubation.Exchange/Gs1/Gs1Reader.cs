using System.Globalization;

namespace Incubation.Exchange.Gs1;

/// <summary>
/// Reads what a scanner typed or a person copied from a box: GS1 element strings with or without the symbology's sign,
/// the form with brackets that people read, and GS1 Digital Link addresses. Never throws, whatever it is given.
/// </summary>
public static class Gs1Reader
{
    /// <summary>The separator after a field of variable length: FNC1, which scanners send as this.</summary>
    public const char Separator = '\u001d';

    /// <summary>Longer texts are no code of a box: a Data Matrix code holds less.</summary>
    public const int MaxCharacters = 2400;

    /// <summary>How the separator is shown where it cannot be printed; neither is in character set 82.</summary>
    private const string ShownSeparators = "␝^";

    /// <summary>
    /// Signs of symbologies that hold GS1 codes (GS1 General Specifications, section 5.1.2): GS1-128, DataBar, Data
    /// Matrix, QR.
    /// </summary>
    private static readonly string[] Signs = ["]C1", "]e0", "]e1", "]e2", "]d2", "]Q3"];

    /// <summary>Reads a code.</summary>
    /// <param name="text">As scanned or typed.</param>
    /// <param name="currentYear">The present year, all four digits: decides the century of dates.</param>
    public static Gs1Reading Read(string? text, int currentYear)
    {
        var code = text?.Trim(' ', '\t', '\r', '\n') ?? "";
        if (code.Length == 0)
            return No(Gs1Words.Nothing);
        if (code.Length > MaxCharacters)
            return No(Gs1Words.TooLong, code.Length, MaxCharacters);
        if (Signs.FirstOrDefault(sign => code.StartsWith(sign, StringComparison.Ordinal)) is { } sign)
            return code.Length == sign.Length
                ? No(Gs1Words.OnlySign, sign) : ReadString(code[sign.Length..], currentYear);
        if (code.StartsWith(']'))
            return No(Gs1Words.OtherSymbology, code[..Math.Min(3, code.Length)]);
        if (code.StartsWith("http://", StringComparison.OrdinalIgnoreCase)
            || code.StartsWith("https://", StringComparison.OrdinalIgnoreCase))
            return Gs1Link.Read(code, currentYear);
        if (code.StartsWith('('))
            return ReadBracketed(code, currentYear);
        return char.IsAsciiDigit(code.TrimStart([Separator, .. ShownSeparators]).FirstOrDefault())
            ? ReadString(code, currentYear) : No(Gs1Words.NoGs1, Shown(code));
    }

    /// <summary>What the fields say, where each has its form and none contradicts another.</summary>
    internal static Gs1Reading Checked(IReadOnlyList<Gs1Element> elements, int currentYear)
    {
        foreach (var element in elements)
        {
            if (Gs1Table.Find(element.Identifier) is not { } field)
                return No(Gs1Words.UnknownIdentifier, element.Identifier);
            if (Gs1Check.FaultOf(field, element.Value, currentYear) is { } fault)
                return new Gs1Reading(null, fault);
            if (elements.FirstOrDefault(other => other.Identifier == element.Identifier
                && other.Value != element.Value) is { } other)
                return No(Gs1Words.Twice, Gs1Check.NameOf(element.Identifier), element.Value, other.Value);
        }

        return elements.Count == 0
            ? No(Gs1Words.Nothing) : new Gs1Reading(new Gs1Scan([.. elements.Distinct()], currentYear), null);
    }

    internal static Gs1Reading No(string sentence, params object[] things) =>
        new(null, string.Format(CultureInfo.CurrentCulture, sentence, things));

    /// <summary>A piece of a text, as it can stand in a sentence.</summary>
    internal static string Shown(string text)
    {
        const int Most = 30;
        var plain =
            string.Concat(text.Select(character => character == Separator ? '␝' : char.IsControl(character)
                || char.IsSurrogate(character) ? '?' : character));
        return plain.Length > Most ? plain[..Most] + "…" : plain;
    }

    private static Gs1Reading ReadString(string code, int currentYear)
    {
        var text = string.Concat(code.Select(character => ShownSeparators.Contains(character, StringComparison.Ordinal)
            ? Separator : character));
        var elements = new List<Gs1Element>();
        for (var at = text[0] == Separator ? 1 : 0; at < text.Length;)
        {
            if (Gs1Table.StartOf(text.AsSpan(at)) is not { } field)
                return elements.Count == 0
                    ? No(Gs1Words.NoGs1, Shown(code))
                    : No(Gs1Words.UnknownAt, at + 1, Shown(text[at..]), Gs1Check.NameOf(elements[^1].Identifier));
            at += field.Identifier.Length;
            var end = text.IndexOf(Separator, at);
            if (end < 0)
                end = text.Length;
            if (field.HasPredefinedLength)
                end = Math.Min(end, at + field.Most);
            elements.Add(new Gs1Element(field.Identifier, text[at..end]));
            at = end < text.Length && text[end] == Separator ? end + 1 : end;
        }

        return Checked(elements, currentYear);
    }

    private static Gs1Reading ReadBracketed(string code, int currentYear)
    {
        var elements = new List<Gs1Element>();
        for (var at = 0; at < code.Length;)
        {
            if (IdentifierAt(code, at) is not { } identifier)
                return No(Gs1Words.BadBracket, at + 1, Shown(code[at..]));
            var from = at + identifier.Length + 2;
            at = from;
            while (at < code.Length && IdentifierAt(code, at) is null)
                at += code[at] == '\\' && at + 1 < code.Length ? 2 : 1;
            elements.Add(new Gs1Element(identifier, code[from..at].Replace("\\(", "(", StringComparison.Ordinal)));
        }

        return Checked(elements, currentYear);
    }

    /// <summary>
    /// The identifier in brackets at a place, or null where there is none; a bracket may also be part of a value.
    /// </summary>
    private static string? IdentifierAt(string code, int at)
    {
        if (code[at] != '(')
            return null;
        var close = code.IndexOf(')', at);
        return close - at is >= 3 and <= 5 && code[(at + 1)..close].All(char.IsAsciiDigit)
            ? code[(at + 1)..close] : null;
    }
}
