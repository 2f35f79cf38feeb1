namespace Incubation.Exchange.Gs1;

/// <summary>What a field is made of.</summary>
internal enum Gs1Characters
{
    /// <summary>Digits.</summary>
    Digits,

    /// <summary>Digits, the last of which is a check digit.</summary>
    Checked,

    /// <summary>A date, YYMMDD.</summary>
    Date,

    /// <summary>Character set 82 of the GS1 General Specifications, figure 7.11-1.</summary>
    Set82,
}

/// <summary>The form of a field.</summary>
/// <param name="Identifier">Its application identifier.</param>
/// <param name="Characters">What it is made of.</param>
/// <param name="Least">Its fewest characters.</param>
/// <param name="Most">Its most characters.</param>
internal sealed record Gs1Field(string Identifier, Gs1Characters Characters, int Least, int Most)
{
    /// <summary>Characters at its beginning that are digits whatever follows.</summary>
    public int DigitsFirst { get; init; }

    /// <summary>
    /// Whether its length is known from its first two digits alone, so that no separator need follow (GS1 General
    /// Specifications, figure 7.8.5-2): for all others the separator must stand, also where the length is fixed.
    /// </summary>
    public bool HasPredefinedLength { get; } = int.Parse(Identifier[..2],
        System.Globalization.CultureInfo.InvariantCulture)
        is <= 4 or (>= 11 and <= 20) or (>= 31 and <= 36) or 41;
}
