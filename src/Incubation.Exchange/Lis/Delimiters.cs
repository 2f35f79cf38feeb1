namespace Incubation.Exchange.Lis;

/// <summary>The characters that divide a message's records; its header names them.</summary>
/// <param name="Field">Between fields.</param>
/// <param name="Repeat">Between several values of a field.</param>
/// <param name="Component">Between the components of a value.</param>
/// <param name="Escape">Around what stands for a delimiter in a text.</param>
public sealed record Delimiters(char Field, char Repeat, char Component, char Escape)
{
    /// <summary>Those of the standard's examples.</summary>
    public static Delimiters Usual { get; } = new('|', '\\', '^', '&');

    /// <summary>Whether they are four different printable ASCII characters, none of them a letter, a digit or a
    /// space.</summary>
    public bool AreValid
    {
        get
        {
            char[] all = [Field, Repeat, Component, Escape];
            return all.Distinct().Count() == all.Length
                && all.All(one => one is > ' ' and < '\u007F' && !char.IsAsciiLetterOrDigit(one));
        }
    }

    /// <summary>Those that a header names; null where it names none that are valid.</summary>
    internal static Delimiters? Of(string header) => header.Length >= 5
        && new Delimiters(header[1], header[2], header[3], header[4]) is { AreValid: true } found ? found : null;
}
