using System.Globalization;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Chart.Tests;

/// <summary>
/// Holds the tokens against WCAG 2.2: 1.4.3 (text 4.5:1, large text 3:1) and 1.4.11 (controls and graphics 3:1).
/// </summary>
public sealed partial class StylesheetTest
{
    private static readonly string[] Alarms = ["high", "medium", "low"];

    public static TheoryData<string, string, string, double> Pairs()
    {
        var pairs = new TheoryData<string, string, string, double>();
        foreach (var theme in new[] { "light", "dark" })
        {
            foreach (var ground in new[] { "paper", "card" })
            {
                pairs.Add(theme, "ink", ground, 4.5);
                pairs.Add(theme, "ink-soft", ground, 4.5);
                pairs.Add(theme, "action", ground, 4.5);
                pairs.Add(theme, "line-strong", ground, 3);
                pairs.Add(theme, "action-mid", ground, 3);
                pairs.Add(theme, "focus", ground, 3);
            }

            pairs.Add(theme, "ink", "action-pale", 4.5);
            pairs.Add(theme, "ink-soft", "action-pale", 4.5);
            pairs.Add(theme, "ink", "action-faint", 4.5);
            pairs.Add(theme, "action-ink", "action", 4.5);
            pairs.Add(theme, "action", "action-pale", 3);
            foreach (var alarm in Alarms)
                pairs.Add(theme, $"alarm-{alarm}-ink", $"alarm-{alarm}", 4.5);
        }

        return pairs;
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Tokens_PairInUse_HasTheContrastThatItNeeds(string theme, string front, string ground, double least)
    {
        var tokens = Tokens(theme);
        Assert.InRange(Contrast(tokens[front], tokens[ground]), least, 21);
    }

    // Computed pairs published with the formula: WCAG 2.2, relative luminance.
    [Theory]
    [InlineData("#767676", "#FFFFFF", 4.54)]
    [InlineData("#777777", "#FFFFFF", 4.48)]
    [InlineData("#FF0000", "#FFFFFF", 4.00)]
    [InlineData("#FFFF00", "#000000", 19.56)]
    public void Contrast_KnownPair_IsTheKnownRatio(string front, string ground, double expected) =>
        Assert.Equal(expected, Contrast(front, ground), 0.005);

    [Fact]
    public void Stylesheets_EveryVariableUsed_IsAToken()
    {
        // Or one that a stylesheet sets for itself.
        var known = Sheets().SelectMany(s => AnyDeclaration().Matches(s.Css)).Select(m => m.Groups[1].Value)
            .ToHashSet();
        foreach (var (name, css) in Sheets())
            Assert.All(Use().Matches(css),
                use => Assert.True(known.Contains(use.Groups[1].Value), $"{name} uses --{use.Groups[1].Value}"));
    }

    [Fact]
    public void Stylesheets_OutsideTheTokens_HoldNoColourOfTheirOwn()
    {
        foreach (var (name, css) in Sheets().Where(s => s.Name != "tokens.css"))
            Assert.False(Colour().IsMatch(css), $"{name} has a colour of its own: {Colour().Match(css).Value}");
    }

    [Fact]
    public void Lanes_EveryStateDrawn_HasItsRule()
    {
        var css = Read("lanes.css");
        var (state, look) = Sample.Reacting(at: 595, priority: Model.Priority.Urgent);
        var (day, plan) = Sample.OneCartridge();
        string[] drawings = [LaneChart.Render(state, look, LaneLayout.Wide),
            DayChart.Render(day, plan, ChartOptions.File)];
        var used = drawings.Select(XElement.Parse).SelectMany(d => d.DescendantsAndSelf())
            .SelectMany(e => ((string?)e.Attribute("class"))?.Split(' ') ?? [])
            .Where(c => c.StartsWith("ln-", StringComparison.Ordinal)).ToHashSet();
        // Groups that only hold others together.
        used.ExceptWith(["ln-blocks", "ln-heads", "ln-axis", "ln-moving", "ln-legend", "ln-clip", "ln-if-open"]);
        Assert.All(used, name => Assert.Contains("." + name, css, StringComparison.Ordinal));
    }

    private static Dictionary<string, string> Tokens(string theme)
    {
        var css = Read("tokens.css");
        var light = Declarations(Block(css, ":root"));
        if (theme == "light")
            return light;
        foreach (var (name, value) in Declarations(Block(css, ".dark")))
            light[name] = value;
        return light;
    }

    private static string Block(string css, string selector)
    {
        var from = css.IndexOf(selector + " {", StringComparison.Ordinal);
        Assert.True(from >= 0, $"tokens.css has no rule {selector}");
        return css[from..css.IndexOf('}', from)];
    }

    private static Dictionary<string, string> Declarations(string block) =>
        Declaration().Matches(block).ToDictionary(m => m.Groups[1].Value, m => m.Groups[2].Value);

    private static double Contrast(string front, string ground)
    {
        var (a, b) = (Luminance(front), Luminance(ground));
        return (Math.Max(a, b) + 0.05) / (Math.Min(a, b) + 0.05);
    }

    // WCAG 2.2, "relative luminance".
    private static double Luminance(string colour) =>
        0.2126 * Channel(colour, 1) + 0.7152 * Channel(colour, 3) + 0.0722 * Channel(colour, 5);

    private static double Channel(string colour, int at)
    {
        var c = int.Parse(colour.AsSpan(at, 2), NumberStyles.HexNumber, CultureInfo.InvariantCulture) / 255.0;
        return c <= 0.04045 ? c / 12.92 : Math.Pow((c + 0.055) / 1.055, 2.4);
    }

    private static IEnumerable<(string Name, string Css)> Sheets() =>
        typeof(StylesheetTest).Assembly.GetManifestResourceNames()
            .Where(n => n.EndsWith(".css", StringComparison.Ordinal)).Select(n => (n, Read(n)));

    private static string Read(string name)
    {
        using var stream = typeof(StylesheetTest).Assembly.GetManifestResourceStream(name)!;
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }

    [GeneratedRegex(@"--([a-z0-9-]+):\s*(#[0-9A-Fa-f]{6});")]
    private static partial Regex Declaration();

    [GeneratedRegex(@"--([a-z0-9-]+):")]
    private static partial Regex AnyDeclaration();

    [GeneratedRegex(@"var\(--([a-z0-9-]+)\)")]
    private static partial Regex Use();

    [GeneratedRegex(@"#[0-9A-Fa-f]{3,8}\b(?=[^{]*\})|\brgba?\(|\bhsla?\(")]
    private static partial Regex Colour();
}
