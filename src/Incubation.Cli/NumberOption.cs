using System.CommandLine;
using System.Globalization;

namespace Incubation.Cli;

/// <summary>Options that are numbers; each says what it allows.</summary>
internal static class NumberOption
{
    /// <summary>A whole number; null where it is not given.</summary>
    public static Option<int?> Whole(string name, string description, int least, int most) => new(name)
    {
        Description = description,
        HelpName = "N",
        CustomParser = result =>
        {
            var text = string.Join(' ', result.Tokens.Select(token => token.Value));
            if (int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var number) && number >= least
                && number <= most)
                return number;
            result.AddError(Say.Text(Words.WholeNotUnderstood, name, text, least, most));
            return null;
        },
    };

    /// <summary>A number; null where it is not given.</summary>
    public static Option<double?> Real(string name, string description, double least, double most) => new(name)
    {
        Description = description,
        HelpName = "N",
        CustomParser = result =>
        {
            var text = string.Join(' ', result.Tokens.Select(token => token.Value));
            if (double.TryParse(text, NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var number)
                && number >= least && number <= most)
                return number;
            result.AddError(Say.Text(Words.RealNotUnderstood, name, text, least, most));
            return null;
        },
    };
}
