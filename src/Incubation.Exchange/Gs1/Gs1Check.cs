using System.Globalization;
using Incubation.Model.Terms;

namespace Incubation.Exchange.Gs1;

/// <summary>Holds a field against its form, and says in a sentence what is wrong.</summary>
internal static class Gs1Check
{
    private const string BesidesLettersAndDigits = "!\"%&'()*+,-./:;<=>?_";

    /// <summary>Whether a character is in set 82 (GS1 General Specifications, figure 7.11-1).</summary>
    public static bool IsSet82(char character) => char.IsAsciiLetterOrDigit(character)
        || BesidesLettersAndDigits.Contains(character, StringComparison.Ordinal);

    /// <summary>What is wrong with a value, or null.</summary>
    public static string? FaultOf(Gs1Field field, string value, int currentYear)
    {
        var name = NameOf(field.Identifier);
        if (value.Length < field.Least)
            return Say(Gs1Words.TooShort, name, Gs1Reader.Shown(value), field.Least);
        if (value.Length > field.Most)
            return Say(Gs1Words.TooLongField, name, Gs1Reader.Shown(value), field.Most);
        if (StrangeIn(field, value) is { } strange)
            return Say(strange == ' ' ? Gs1Words.Space : Gs1Words.Strange, name, Gs1Reader.Shown(value),
                Gs1Reader.Shown(strange.ToString()));
        return field.Characters switch
        {
            Gs1Characters.Checked when CheckDigit.OfGs1(value[..^1]) is var expected && expected != value[^1] - '0' =>
                Say(Gs1Words.CheckDigit, name, value, value[^1], expected),
            Gs1Characters.Date when Gs1Dates.Read(value, currentYear) is null => Say(Gs1Words.NoDate, name, value),
            _ => null,
        };
    }

    /// <summary>A field's name as people know it.</summary>
    public static string NameOf(string identifier) => identifier switch
    {
        "01" or "02" => Gs1Words.NameItem,
        "10" => Gs1Words.NameLot,
        "11" => Gs1Words.NameProduced,
        "15" => Gs1Words.NameBestBefore,
        "17" => Gs1Words.NameExpiry,
        "21" => Gs1Words.NameSerial,
        "30" or "37" => Gs1Words.NameCount,
        _ => Say(Gs1Words.NameOther, identifier),
    };

    private static char? StrangeIn(Gs1Field field, string value)
    {
        for (var at = 0; at < value.Length; at++)
            if (field.Characters != Gs1Characters.Set82 || at < field.DigitsFirst
                ? !char.IsAsciiDigit(value[at]) : !IsSet82(value[at]))
                return value[at];
        return null;
    }

    private static string Say(string sentence, params object[] things) =>
        string.Format(CultureInfo.CurrentCulture, sentence, things);
}
