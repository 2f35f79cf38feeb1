using System.Globalization;
using System.Text;
using NodaTime;

namespace Incubation.Model;

/// <summary>
/// What a person, a program or a file may say, at most. Read at the edges and nowhere else: what the program works out
/// itself, and what stands in a log already, is not bounded by these.
/// </summary>
public static class Bounds
{
    /// <summary>The longest free words, in UTF-16 units.</summary>
    public const int MaxWords = 500;

    /// <summary>More reports than rest on any one.</summary>
    public const int MaxReports = 100;

    /// <summary>
    /// More reports than a bench's slots, readers and mixtures need after an hour: what is told together is written in
    /// one transaction.
    /// </summary>
    public const int MaxTold = 50;

    /// <summary>More temperature rules than a clinic has assays.</summary>
    public const int MaxTemperatureRules = 100;

    /// <summary>The longest value that a reader shows, in characters.</summary>
    public const int MaxValue = 16;

    /// <summary>
    /// What a thermometer can show of an incubator, in degrees Celsius; anything else is a slip of the fingers or of a
    /// probe.
    /// </summary>
    public const double MinDegrees = -50;

    /// <inheritdoc cref="MinDegrees"/>
    public const double MaxDegrees = 150;

    /// <summary>What is planned (ready, due, load by, away until) lies no further from now than this.</summary>
    public static readonly Duration PlannedWithin = Duration.FromDays(14);

    /// <summary>Hands that step away, and what goes out of use for a stated time, are so no longer than this.</summary>
    public static readonly Duration MaxOutOfUse = Duration.FromHours(24);

    /// <summary>Whether what is planned lies near enough to now.</summary>
    public static bool IsPlannable(Instant planned, Instant now) => planned >= now - PlannedWithin
        && planned <= now + PlannedWithin;

    /// <summary>
    /// Whether a text can be said to name something: at most <see cref="TextId.MaximumLength"/> UTF-16 units after
    /// normalization to NFC, no control or format characters (Unicode categories Cc and Cf), no half of a pair, no
    /// space at either end.
    /// </summary>
    public static bool IsIdentifier(string? text) =>
        TextId.IsValid(text) && IsWellFormed(text!) && !text!.EnumerateRunes().Any(IsControlOrFormat)
        && text!.Normalize(NormalizationForm.FormC).Length <= TextId.MaximumLength;

    /// <summary>
    /// Whether a text can be free words: at most <see cref="MaxWords"/>, without control characters and without those
    /// that turn the direction of what comes after them (U+202A to U+202E, U+2066 to U+2069).
    /// </summary>
    public static bool IsWords(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return text.Length <= MaxWords && IsPrintable(text);
    }

    /// <summary>Whether a text has only what free words may have, however long it is.</summary>
    public static bool IsPrintable(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return IsWellFormed(text)
            && !text.Any(one => char.IsControl(one) || one is >= '\u202A' and <= '\u202E' or >= '\u2066'
                and <= '\u2069');
    }

    /// <summary>
    /// Whether a text can be the name of a person, an assay, a bench or a clinic that people read: as an identifier,
    /// but with the joiners that some scripts need (U+200C, U+200D).
    /// </summary>
    public static bool IsName(string? text) => TextId.IsValid(text) && IsWellFormed(text!)
        && !text!.EnumerateRunes().Any(rune => rune.Value is not (0x200C or 0x200D) && IsControlOrFormat(rune));

    /// <summary>
    /// An identifier as it is stored where it is said for the first time: normalized to NFC. What refers to one that is
    /// there is compared with it by this form too.
    /// </summary>
    /// <param name="text">A text that <see cref="IsIdentifier"/> takes.</param>
    public static string Normal(string text)
    {
        ArgumentNullException.ThrowIfNull(text);
        return text.Normalize(NormalizationForm.FormC);
    }

    private static bool IsControlOrFormat(Rune rune) => Rune.GetUnicodeCategory(rune) is UnicodeCategory.Control
        or UnicodeCategory.Format;

    /// <summary>Whether every half of a surrogate pair has its other half.</summary>
    private static bool IsWellFormed(string text)
    {
        for (var at = 0; at < text.Length; at++)
        {
            if (!char.IsSurrogate(text[at]))
                continue;
            if (at + 1 >= text.Length || !char.IsSurrogatePair(text[at], text[at + 1]))
                return false;
            at++;
        }

        return true;
    }
}
