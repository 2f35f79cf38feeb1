namespace Incubation.Service.Rack;

/// <summary>
/// Which numbers of specimens look as if they were one, read or typed wrongly: the same letters large and small, or one
/// character more, less or other, unless both are digits. Neighbours of a series are not meant: SP-001 and SP-002 are
/// two tubes, and so are SP-9 and SP-90. That a digit is missing is noticed where numbers begin with zeros, for then
/// all have one length.
/// </summary>
/// <remarks>
/// Why not every digit: numbers that run differ from up to nine others of their ten in one digit, so that nearly every
/// tube of a rack would be asked about. Whoever is asked at every tube presses on without reading, and is then not
/// stopped by the letter that is wrong either (judged; nobody has counted it here). A digit that was typed wrongly is
/// caught otherwise: where the tube that it names is there for the same assay it is asked for as the same specimen
/// again, and at the reader the identity on the display is held against the request. Scans do not slip by a digit: the
/// common code kinds have check characters.
/// </remarks>
public static class LikeNames
{
    /// <summary>Whether two different numbers are easily taken for each other.</summary>
    /// <param name="one">A specimen's number.</param>
    /// <param name="other">Another's.</param>
    public static bool AreAlike(string one, string other)
    {
        ArgumentNullException.ThrowIfNull(one);
        ArgumentNullException.ThrowIfNull(other);
        if (one == other)
            return false;
        if (string.Equals(one, other, StringComparison.OrdinalIgnoreCase))
            return true;
        var (shorter, longer) = one.Length <= other.Length ? (one, other) : (other, one);
        return (longer.Length - shorter.Length) switch
        {
            0 => DifferInOne(shorter, longer),
            1 => MissesOne(shorter, longer),
            _ => false,
        };
    }

    private static bool DifferInOne(string one, string other)
    {
        var at = FirstDifference(one, other);
        return Same(one.AsSpan(at + 1), other.AsSpan(at + 1))
            && !(char.IsAsciiDigit(one[at]) && char.IsAsciiDigit(other[at]));
    }

    private static bool MissesOne(string shorter, string longer)
    {
        var at = FirstDifference(shorter, longer);
        return Same(shorter.AsSpan(at), longer.AsSpan(at + 1))
            && (!char.IsAsciiDigit(longer[at]) || NumberAt(longer, at)[0] == '0');
    }

    /// <summary>The digits around a place.</summary>
    private static ReadOnlySpan<char> NumberAt(string text, int at)
    {
        var (from, to) = (at, at);
        while (from > 0 && char.IsAsciiDigit(text[from - 1]))
            from--;
        while (to < text.Length && char.IsAsciiDigit(text[to]))
            to++;
        return text.AsSpan(from, to - from);
    }

    private static int FirstDifference(string shorter, string longer)
    {
        var at = 0;
        while (at < shorter.Length && char.ToUpperInvariant(shorter[at]) == char.ToUpperInvariant(longer[at]))
            at++;
        return at;
    }

    private static bool Same(ReadOnlySpan<char> one, ReadOnlySpan<char> other) =>
        one.Equals(other, StringComparison.OrdinalIgnoreCase);
}
