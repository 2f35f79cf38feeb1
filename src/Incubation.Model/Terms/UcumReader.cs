namespace Incubation.Model.Terms;

/// <summary>
/// Reads a unit by the grammar of UCUM (version 2.1, section "Full syntax", from memory): components joined by "." and
/// "/", each a unit with an exponent and an annotation, a whole number, an annotation alone, or a term in brackets.
/// </summary>
internal sealed class UcumReader(string text)
{
    private int at;

    /// <summary>What is wrong, or null.</summary>
    public UcumFault? Read()
    {
        if (Peek == '/')
            at++;
        return Term() ?? (at < text.Length ? new UcumFault(UcumFaultKind.Bracket, text[at..]) : null);
    }

    private char Peek => at < text.Length ? text[at] : '\0';

    private UcumFault? Term()
    {
        while (true)
        {
            if (Component() is { } fault)
                return fault;
            if (Peek is not ('.' or '/'))
                return null;
            at++;
        }
    }

    private UcumFault? Component()
    {
        switch (Peek)
        {
            case '\0' or '.' or '/' or ')':
                return new UcumFault(UcumFaultKind.UnitMissing, text[..at]);
            case '(':
                return Bracketed();
            case '{':
                return Annotation();
            default:
                return Unit() ?? (Peek == '{' ? Annotation() : null);
        }
    }

    private UcumFault? Bracketed()
    {
        var from = at++;
        if (Term() is { } fault)
            return fault;
        if (Peek != ')')
            return new UcumFault(UcumFaultKind.Bracket, text[from..]);
        at++;
        return null;
    }

    /// <summary>What stands in braces is for people and may be anything.</summary>
    private UcumFault? Annotation()
    {
        var end = text.IndexOf('}', at);
        if (end < 0 || text.IndexOf('{', at + 1, end - at - 1) >= 0)
            return new UcumFault(UcumFaultKind.Bracket, text[at..]);
        at = end + 1;
        return null;
    }

    private UcumFault? Unit()
    {
        var from = at;
        // Between square brackets stands a name, whatever it is made of.
        for (var depth = 0; at < text.Length
            && (depth > 0 || text[at] is not ('.' or '/' or '(' or ')' or '{' or '}')); at++)
            depth += text[at] == '[' ? 1 : text[at] == ']' ? -1 : 0;
        var part = text[from..at];
        if (part.Length == 0)
            return new UcumFault(UcumFaultKind.Bracket, text[from..]);
        if (part.All(char.IsAsciiDigit) || UcumAtoms.IsUnit(part) || UcumAtoms.IsUnit(WithoutExponent(part)))
            return null;
        var kind = char.IsAsciiDigit(part[0]) ? UcumFaultKind.NumberBeforeUnit
            : part.Count(letter => letter == '[') != part.Count(letter => letter == ']') ? UcumFaultKind.Bracket
            : UcumFaultKind.UnknownUnit;
        return new UcumFault(kind, part);
    }

    /// <summary>Digits at the end, with or without a sign.</summary>
    private static string WithoutExponent(string part)
    {
        var unit = part.TrimEnd("0123456789".ToCharArray());
        return unit.Length == part.Length ? part : unit is [.., '+' or '-'] ? unit[..^1] : unit;
    }
}
