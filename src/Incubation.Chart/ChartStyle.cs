using System.Text.RegularExpressions;

namespace Incubation.Chart;

/// <summary>The drawing's stylesheet.</summary>
internal static partial class ChartStyle
{
    private static readonly Lazy<string> Filled = new(Fill);

    /// <summary>
    /// The pages' stylesheet of the lanes with the light tokens written out, for a file of its own: programs that show
    /// SVG outside a browser seldom understand CSS variables.
    /// </summary>
    public static string SelfContained => Filled.Value;

    private static string Fill()
    {
        var tokens = Declaration().Matches(Rule().Match(Read("tokens.css")).Value)
            .ToDictionary(match => match.Groups[1].Value, match => match.Groups[2].Value);
        var css = Comment().Replace(Read("lanes.css"), "");
        return Use().Replace(css, use => tokens[use.Groups[1].Value]);
    }

    private static string Read(string name)
    {
        using var stream = typeof(ChartStyle).Assembly.GetManifestResourceStream(name)
            ?? throw new InvalidOperationException($"The stylesheet {name} is not in the assembly.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    // The light theme is the first rule of the token file.
    [GeneratedRegex(@"\{[^}]*\}")]
    private static partial Regex Rule();

    [GeneratedRegex(@"--([a-z0-9-]+):\s*([^;]+);")]
    private static partial Regex Declaration();

    [GeneratedRegex(@"var\(--([a-z0-9-]+)\)")]
    private static partial Regex Use();

    [GeneratedRegex(@"/\*.*?\*/", RegexOptions.Singleline)]
    private static partial Regex Comment();
}
