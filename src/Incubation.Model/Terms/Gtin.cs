namespace Incubation.Model.Terms;

/// <summary>
/// A Global Trade Item Number of GS1: what a kit's maker calls the item. GTIN-8, -12, -13 and -14 are one number of 14
/// digits, zeros in front; the check digit is right.
/// </summary>
public readonly record struct Gtin : ITextId<Gtin>
{
    /// <summary>Digits of the longest form, in which it is kept.</summary>
    public const int Digits = 14;

    /// <summary>
    /// Takes a number of any of the four lengths; throws <see cref="ArgumentException"/> where <see cref="IsValid"/> is
    /// false.
    /// </summary>
    public Gtin(string value) => Value = IsValid(value)
        ? value.PadLeft(Digits, '0')
        : throw new ArgumentException(
            "An item number (GTIN) has 8, 12, 13 or 14 digits, of which the last is the check digit.", nameof(value));

    /// <summary>All 14 digits.</summary>
    public string Value { get; }

    /// <summary>Whether a text has the form of one; its check digit may be wrong.</summary>
    public static bool HasForm(string? text) => text is { Length: 8 or 12 or 13 or Digits }
        && text.All(char.IsAsciiDigit);

    /// <summary>Whether a text is one.</summary>
    public static bool IsValid(string? text) => HasForm(text) && text![^1] - '0' == CheckDigit.OfGs1(text[..^1]);

    /// <inheritdoc/>
    public static Gtin Of(string value) => new(value);

    /// <inheritdoc/>
    public override string ToString() => Value;
}
