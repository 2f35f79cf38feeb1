using System.Globalization;
using NodaTime;

namespace Incubation.Exchange.Gs1;

/// <summary>Dates of GS1 codes: YYMMDD.</summary>
public static class Gs1Dates
{
    /// <summary>Characters of a date.</summary>
    public const int Length = 6;

    private const int FurthestBack = 51;
    private const int FurthestAhead = -50;

    /// <summary>
    /// Reads a date; null where there is no such day. Day 00 is the last of the month. The century is the one that puts
    /// the year between 49 years back and 50 ahead, roughly (GS1 General Specifications, section 7.12): YY less the
    /// current YY of
    /// 51 or more is the century before, of −50 or less the century after.
    /// </summary>
    /// <param name="text">YYMMDD.</param>
    /// <param name="currentYear">The present year, all four digits.</param>
    public static Gs1Day? Read(string text, int currentYear)
    {
        ArgumentNullException.ThrowIfNull(text);
        if (text.Length != Length || !text.All(char.IsAsciiDigit))
            return null;
        var (month, day) = (Two(text, 2), Two(text, 4));
        var year = YearOf(Two(text, 0), currentYear);
        if (month is < 1 or > 12 || day > CalendarSystem.Iso.GetDaysInMonth(year, month))
            return null;
        return new Gs1Day(new LocalDate(year, month, day > 0 ? day : CalendarSystem.Iso.GetDaysInMonth(year, month)),
            day == 0);
    }

    /// <summary>The whole year of its last two digits.</summary>
    /// <param name="lastTwo">0 to 99.</param>
    /// <param name="currentYear">The present year, all four digits.</param>
    public static int YearOf(int lastTwo, int currentYear)
    {
        var century = currentYear / 100 * 100;
        var apart = lastTwo - (currentYear % 100);
        return lastTwo + (apart >= FurthestBack ? century - 100 : apart <= FurthestAhead ? century + 100 : century);
    }

    private static int Two(string text, int at) =>
        int.Parse(text.AsSpan(at, 2), NumberStyles.None, CultureInfo.InvariantCulture);
}
