using System.Globalization;

namespace Incubation.Chart;

/// <summary>What stands at the head of a lane.</summary>
internal static class LaneNames
{
    public static string Number(int number) => number.ToString(CultureInfo.CurrentCulture);

    /// <summary>One reader needs no number.</summary>
    public static string Reader(int number, int of) => of == 1 ? Words.Reader : Phrase.Of(Words.ReaderNumbered, number);

    /// <summary>One pair of hands needs no number.</summary>
    public static string Hands(int number, int of) => of == 1 ? Words.Hands : Phrase.Of(Words.HandsNumbered, number);
}
