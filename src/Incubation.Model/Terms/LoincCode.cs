namespace Incubation.Model.Terms;

/// <summary>What is wrong with a text that should be a LOINC code.</summary>
public enum LoincFault
{
    /// <summary>It has not the form of one: one to seven digits, a hyphen, the check digit.</summary>
    Form,

    /// <summary>The check digit does not belong to the digits before it: something was mistyped.</summary>
    CheckDigit,
}

/// <summary>
/// A code of LOINC, Logical Observation Identifiers Names and Codes: "1988-5". Its check digit is right; whether LOINC
/// has given the code to anything is not known here.
/// </summary>
public readonly record struct LoincCode : ITextId<LoincCode>
{
    private const int MaxDigits = 7;

    /// <summary>
    /// Takes a code; throws <see cref="ArgumentException"/> where <see cref="FaultOf"/> finds a fault.
    /// </summary>
    public LoincCode(string value) => Value = FaultOf(value) switch
    {
        null => value,
        LoincFault.CheckDigit =>
            throw new ArgumentException($"The check digit of LOINC code {value} should be {Expected(value)}.",
                nameof(value)),
        _ =>
            throw new ArgumentException(
                "A LOINC code is one to seven digits, a hyphen and a check digit, such as 1988-5.", nameof(value)),
    };

    /// <summary>The code with hyphen and check digit.</summary>
    public string Value { get; }

    /// <summary>What is wrong with a text, or null where it is a code.</summary>
    public static LoincFault? FaultOf(string? text)
    {
        if (text?.Split('-') is not [var digits, [var check]] || digits.Length is < 1 or > MaxDigits
            || !digits.All(char.IsAsciiDigit) || !char.IsAsciiDigit(check))
            return LoincFault.Form;
        return check - '0' == CheckDigit.OfLoinc(digits) ? null : LoincFault.CheckDigit;
    }

    /// <summary>Whether a text is a code.</summary>
    public static bool IsValid(string? text) => FaultOf(text) is null;

    /// <inheritdoc/>
    public static LoincCode Of(string value) => new(value);

    /// <inheritdoc/>
    public override string ToString() => Value;

    private static int Expected(string value) => CheckDigit.OfLoinc(value.Split('-')[0]);
}
