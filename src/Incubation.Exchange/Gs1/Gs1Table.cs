using System.Collections.Frozen;

namespace Incubation.Exchange.Gs1;

/// <summary>
/// The application identifiers that this program can tell apart, with the forms of their fields: those of trade items,
/// logistics and healthcare (GS1 General Specifications, section 3.2, from memory). A scan with another is refused,
/// because where that field ends is not known.
/// </summary>
internal static class Gs1Table
{
    private static readonly FrozenDictionary<string, Gs1Field> Fields = All()
        .ToFrozenDictionary(field => field.Identifier, StringComparer.Ordinal);

    /// <summary>The form of a field, or null where its identifier is not known.</summary>
    public static Gs1Field? Find(string identifier) => Fields.GetValueOrDefault(identifier);

    /// <summary>The field whose identifier stands at the beginning of a text, or null.</summary>
    public static Gs1Field? StartOf(ReadOnlySpan<char> text)
    {
        // No identifier is the beginning of a longer one.
        for (var length = 2; length <= 4 && length <= text.Length; length++)
            if (Fields.GetValueOrDefault(text[..length].ToString()) is { } field)
                return field;
        return null;
    }

    /// <summary>Every field, for tests.</summary>
    public static IReadOnlyCollection<Gs1Field> Every => Fields.Values;

    private static IEnumerable<Gs1Field> All() =>
    [
        Checked("00", 18), Checked("01", 14), Checked("02", 14), Checked("03", 14),
        Text("10", 20), Date("11"), Date("12"), Date("13"), Date("15"), Date("16"), Date("17"), Digits("20", 2, 2),
        Text("21", 20), Text("22", 20), Text("235", 28), Text("240", 30), Text("241", 30), Digits("242", 1, 6),
            Text("243", 20),
        Text("250", 30), Text("251", 30), Led("253", 13, 30), Text("254", 20), Digits("255", 13, 25),
        Digits("30", 1, 8), .. Measures(310, 369), Digits("37", 1, 8), .. Amounts("390", 15), .. Amounts("391", 18),
            .. Amounts("392", 15), .. Amounts("393", 18),
        Text("400", 30), Text("401", 30), Checked("402", 17), Text("403", 30),
        .. Enumerable.Range(410, 8).Select(number => Checked(Of(number), 13)),
        Text("420", 20), Led("421", 3, 12), Digits("422", 3, 3), Digits("423", 3, 15), Digits("424", 3, 3),
            Digits("425", 3, 15), Digits("426", 3, 3), Text("427", 3),
        Digits("7001", 13, 13), Text("7002", 30), Digits("7003", 10, 10), Digits("7004", 1, 4), Text("7005", 12),
            Date("7006"), Digits("7007", 6, 12),
        Text("7020", 20), Text("7021", 20), Text("7022", 20), Text("7023", 30), .. Enumerable.Range(710, 7)
            .Select(number => Text(Of(number), 20)),
        Digits("8001", 14, 14), Text("8002", 20), Led("8003", 14, 30), Text("8004", 30), Digits("8005", 6, 6),
            Digits("8006", 18, 18), Text("8007", 34),
        Digits("8008", 8, 12), Text("8010", 30), Digits("8011", 1, 12), Text("8012", 20), Text("8013", 25),
            Checked("8017", 18), Checked("8018", 18),
        Digits("8019", 1, 10), Text("8020", 25), Text("8200", 70),
        Text("90", 30), .. Enumerable.Range(91, 9).Select(number => Text(Of(number), 90)),
    ];

    /// <summary>Weights, lengths and the like; the fourth digit says where the decimal point is.</summary>
    private static IEnumerable<Gs1Field> Measures(int from, int to) =>
        Enumerable.Range(from, to - from + 1)
            .Where(number => number is < 317 or > 319 and < 338 or > 339 and < 358 or > 359)
            .SelectMany(number => Enumerable.Range(0, 6).Select(point => Digits(Of((number * 10) + point), 6, 6)));

    private static IEnumerable<Gs1Field> Amounts(string start, int most) => Enumerable.Range(0, 10)
        .Select(point => Digits(start + Of(point), 1, most));

    private static Gs1Field Text(string identifier, int most) => new(identifier, Gs1Characters.Set82, 1, most);

    private static Gs1Field Led(string identifier, int digits, int most) =>
        new(identifier, Gs1Characters.Set82, digits, most) { DigitsFirst = digits };

    private static Gs1Field Digits(string identifier, int least, int most) =>
        new(identifier, Gs1Characters.Digits, least, most);

    private static Gs1Field Checked(string identifier, int length) =>
        new(identifier, Gs1Characters.Checked, length, length);

    private static Gs1Field Date(string identifier) =>
        new(identifier, Gs1Characters.Date, Gs1Dates.Length, Gs1Dates.Length);

    private static string Of(int number) => number.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
