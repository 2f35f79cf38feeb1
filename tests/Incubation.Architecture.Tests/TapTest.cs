using System.Text.RegularExpressions;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// What happens to a tap "Loaded", hop by hop, is a table in DEVELOPERS.md: held here against the source, and kept
/// short. Also what else of its way can be held by the source alone.
/// </summary>
public sealed partial class TapTest
{
    private const int MaxCalls = 20;
    private const int MaxFiles = 12;

    private static readonly IReadOnlyList<Hop> Hops =
    [
        .. File.ReadLines(Path.Combine(SourceTree.Root, "DEVELOPERS.md"))
            .SkipWhile(line => !line.StartsWith("## A tap \"Loaded\"", StringComparison.Ordinal)).Skip(1)
            .TakeWhile(line => !line.StartsWith("## ", StringComparison.Ordinal))
            .Select(line => Row().Match(line)).Where(row => row.Success)
            .Select(row => new Hop(row.Groups["type"].Value, row.Groups["member"].Value, row.Groups["by"].Value)),
    ];

    [Fact]
    public void Tap_FromHubToLog_IsShort()
    {
        Assert.Equal(("BenchHub.Send", "EventLog.Append"), (Hops[0].ToString(), Hops[^1].ToString()));
        Assert.InRange(Hops.Count, 1, MaxCalls);
        Assert.InRange(Hops.Select(hop => hop.Type).Distinct().Count(), 1, MaxFiles);
    }

    [Fact]
    public void Tap_EachHop_IsCalledByTheOneThatIsNamed()
    {
        foreach (var hop in Hops)
        {
            Assert.NotEmpty(Bodies(hop.Type, hop.Member));
            if (hop.By is not { Length: > 0 } by)
                continue;
            var caller = Assert.Single(Hops, other => other.ToString() == by);
            Assert.True(
                Bodies(caller.Type, caller.Member).Any(body => Regex.IsMatch(body, $@"\b{hop.Member}\(")),
                $"{by} does not call {hop}.");
        }
    }

    /// <summary>
    /// The bench's own page follows the same tap further: by members that exist, and by every one of these.
    /// </summary>
    [Fact]
    public void Tap_AsTheBenchsPageTellsIt_NamesItsMembers()
    {
        var bench = Path.Combine(SourceTree.Root, "src", "Incubation.Bench");
        var files = Directory.EnumerateFiles(bench, "*.cs", SearchOption.AllDirectories)
            .Where(path => !path.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}",
                StringComparison.Ordinal))
            .ToList();
        var told = File.ReadLines(Path.Combine(bench, "README.md"))
            .SkipWhile(line => !line.StartsWith("### One tap", StringComparison.Ordinal)).Skip(1)
            .TakeWhile(line => !line.StartsWith('#'))
            .SelectMany(line => Named().Matches(line))
            .Select(name => (Type: name.Groups["type"].Value, Member: name.Groups["member"].Value)).ToHashSet();
        bool HasFile(string type) => files.Exists(path => Path.GetFileNameWithoutExtension(path) == type);

        Assert.NotEmpty(told);
        Assert.All(told, name => Assert.True(
            name.Type == "BenchEvent"
                ? files.Exists(path => File.ReadAllText(path).Contains($" record {name.Member}(",
                    StringComparison.Ordinal))
                : HasFile(name.Type) && Bodies(name.Type, name.Member).Any(), $"There is no {name}."));
        Assert.All(Hops.Where(hop => HasFile(hop.Type)), hop => Assert.Contains((hop.Type, hop.Member), told));
    }

    [Fact]
    public void VerdictsOnTime_AreWithheldInOnePlace()
    {
        var places = Directory.EnumerateFiles(Path.Combine(SourceTree.Root, "src"), "*.cs", SearchOption.AllDirectories)
            .Where(path => File.ReadAllText(path).Contains("ClockDoubt.Withhold", StringComparison.Ordinal))
            .Select(Path.GetFileName);
        Assert.Equal(["LiveBench.cs"], places);
    }

    /// <summary>The text of every overload of a member of a type whose file has its name.</summary>
    private static IEnumerable<string> Bodies(string type, string member)
    {
        var file = Directory.EnumerateFiles(Path.Combine(SourceTree.Root, "src"), type + ".cs",
            SearchOption.AllDirectories)
            .Single(path =>
                !path.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}",
                    StringComparison.Ordinal));
        return Member().Split(File.ReadAllText(file)).Where(text =>
            Regex.IsMatch(text, $@"^    (?:public|private|internal|protected)[^\n=]*\b{member}\(",
                RegexOptions.Multiline));
    }

    private sealed record Hop(string Type, string Member, string By)
    {
        public override string ToString() => $"{Type}.{Member}";
    }

    [GeneratedRegex(@"^\| `(?<type>\w+)\.(?<member>\w+)` \| (?:`(?<by>[\w.]+)`|[^|`]+) \|")]
    private static partial Regex Row();

    /// <summary>A member with its type, as a page names it.</summary>
    [GeneratedRegex(@"`(?<type>[A-Z]\w+)\.(?<member>[A-Z]\w+)`")]
    private static partial Regex Named();

    /// <summary>Between two members: a blank line before a line at their own depth.</summary>
    [GeneratedRegex(@"\n\n(?=    \S)")]
    private static partial Regex Member();
}
