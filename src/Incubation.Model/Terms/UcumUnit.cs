namespace Incubation.Model.Terms;

/// <summary>Why a text is no unit of UCUM.</summary>
public enum UcumFaultKind
{
    /// <summary>Nothing stands there.</summary>
    Empty,

    /// <summary>It is longer than <see cref="TextId.MaximumLength"/> characters.</summary>
    TooLong,

    /// <summary>A character that no unit has: a space, a letter beyond ASCII.</summary>
    Character,

    /// <summary>No unit of this name is known, or it takes no prefix. Capital and small letters differ.</summary>
    UnknownUnit,

    /// <summary>A number stands before a unit without a point or slash between them.</summary>
    NumberBeforeUnit,

    /// <summary>A unit is missing after a point, a slash or an opening bracket.</summary>
    UnitMissing,

    /// <summary>A bracket is opened and not closed, or closed and not opened.</summary>
    Bracket,
}

/// <summary>What is wrong, and with which part of the text.</summary>
/// <param name="Kind">What.</param>
/// <param name="Part">The part of the text meant; may be empty.</param>
public sealed record UcumFault(UcumFaultKind Kind, string Part);

/// <summary>
/// A unit of UCUM, the Unified Code for Units of Measure, in its case-sensitive form: "mg/L", "m[IU]/L". Made of the
/// units in
/// <see cref="UcumAtoms"/>, which are those of clinical laboratories: what is rarer is refused, and never taken
/// wrongly.
/// </summary>
public readonly record struct UcumUnit : ITextId<UcumUnit>
{
    /// <summary>
    /// Takes a unit; throws <see cref="ArgumentException"/> where <see cref="FaultOf"/> finds a fault.
    /// </summary>
    public UcumUnit(string value) => Value = FaultOf(value) is not { } fault
        ? value
        : throw new ArgumentException($"'{value}' is no unit of UCUM: {fault.Kind} at '{fault.Part}'.", nameof(value));

    /// <summary>The unit as UCUM writes it.</summary>
    public string Value { get; }

    /// <summary>What is wrong with a text, or null where it is a unit.</summary>
    public static UcumFault? FaultOf(string? text)
    {
        if (string.IsNullOrEmpty(text))
            return new UcumFault(UcumFaultKind.Empty, "");
        if (text.Length > TextId.MaximumLength)
            return new UcumFault(UcumFaultKind.TooLong, text[..TextId.MaximumLength]);
        var strange = text.AsSpan().IndexOfAnyExceptInRange('!', '~');
        return strange >= 0 ? new UcumFault(UcumFaultKind.Character, text[strange].ToString()) : new UcumReader(text)
            .Read();
    }

    /// <summary>Whether a text is a unit.</summary>
    public static bool IsValid(string? text) => FaultOf(text) is null;

    /// <inheritdoc/>
    public static UcumUnit Of(string value) => new(value);

    /// <inheritdoc/>
    public override string ToString() => Value;
}
