namespace Incubation.Model.Terms;

/// <summary>Check digits of published rules. Each is given the digits before it.</summary>
public static class CheckDigit
{
    /// <summary>
    /// The check digit of a LOINC code: mod 10, every second digit doubled, from the right (LOINC Users' Guide, "LOINC
    /// check digit", from memory).
    /// </summary>
    /// <param name="digits">Only digits, at least one.</param>
    /// <exception cref="ArgumentException">Something else than digits.</exception>
    public static int OfLoinc(string digits) =>
        ToTen(FromTheRight(digits).Select((digit, place) => place % 2 == 1 ? digit : digit > 4
            ? (digit * 2) - 9 : digit * 2));

    /// <summary>
    /// The check digit of a GS1 number (GTIN, GLN, SSCC): mod 10, weights 3, 1, 3, … from the right (GS1 General
    /// Specifications, section 7.9).
    /// </summary>
    /// <param name="digits">Only digits, at least one.</param>
    /// <exception cref="ArgumentException">Something else than digits.</exception>
    public static int OfGs1(string digits) =>
        ToTen(FromTheRight(digits).Select((digit, place) => place % 2 == 0 ? digit * 3 : digit));

    private static int ToTen(IEnumerable<int> weighted) => (10 - (weighted.Sum() % 10)) % 10;

    private static IEnumerable<int> FromTheRight(string digits)
    {
        ArgumentException.ThrowIfNullOrEmpty(digits);
        return digits.All(char.IsAsciiDigit)
            ? digits.Reverse().Select(digit => digit - '0')
            : throw new ArgumentException("A check digit is worked out of digits alone.", nameof(digits));
    }
}
