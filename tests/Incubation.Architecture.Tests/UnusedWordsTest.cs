using System.Text.RegularExpressions;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// Every text of a resource file is said somewhere in src: as a member of its class, or, where a file is handed out
/// whole or asked by name, by its name in quotes.
/// </summary>
public sealed partial class UnusedWordsTest
{
    [Fact]
    public void Resources_EveryText_IsSaidSomewhere()
    {
        var sources = Files("*.cs").Concat(Files("*.razor")).Concat(Files("*.js"))
            .Select(path => new Source(RoomOf(path), File.ReadAllText(path))).ToList();
        var said = new SaidWords(sources);
        var keys = Files("*.resx").SelectMany(path => XDocument.Load(path).Root!.Elements("data")
            .Select(data => new Key(RoomOf(path), Path.GetFileNameWithoutExtension(path),
                data.Attribute("name")!.Value))).ToList();
        Assert.True(keys.Count > 2000, $"Only {keys.Count} texts were found.");
        Assert.Empty(keys.Where(key => !said.Has(key)).Select(key => $"{key.Room}: {key.Class}.{key.Name}"));
    }

    [Theory]
    [InlineData("Service", "StockWords", "Opened", true)]
    [InlineData("Service", "StockWords", "Closed", false)]
    [InlineData("Service", "Words", "Control", true)]
    [InlineData("Service", "Words", "Urgent", false)]
    [InlineData("Server", "Words", "Control", false)]
    [InlineData("Server", "Words", "Urgent", true)]
    [InlineData("Service", "SheetWords", "FieldCode", true)]
    [InlineData("Service", "SheetWords", "FieldColour", false)]
    [InlineData("Service", "SheetWords", "Code", true)]
    [InlineData("Service", "StockWords", "Code", false)]
    public void Has_InventedSources_KnowsWhatIsSaid(string room, string owner, string name, bool expected)
    {
        Source[] sources =
        [
            new("Service", "Say(StockWords.Opened); SheetWords.ResourceManager.GetString(\"Field\" + member, now)"),
            new("Service", "new SheetField(\"Code\");"),
            new("Server", "@ServiceWords.Control @StockWords.ClosedAt @Words.Urgent"),
        ];
        Assert.Equal(expected, new SaidWords(sources).Has(new Key(room, owner, name)));
    }

    private static IEnumerable<string> Files(string pattern) =>
        Directory.EnumerateFiles(Path.Combine(SourceTree.Root, "src"), pattern, SearchOption.AllDirectories)
            .Where(path => !NotOurs().IsMatch(path));

    private static string RoomOf(string path) =>
        Path.GetRelativePath(Path.Combine(SourceTree.Root, "src"), path).Split(Path.DirectorySeparatorChar)[0]
            .Replace("Incubation.", "", StringComparison.Ordinal);

    [GeneratedRegex(@"[\\/](bin|obj|lib)[\\/]")]
    private static partial Regex NotOurs();

    private sealed record Source(string Room, string Text);

    private sealed record Key(string Room, string Class, string Name);

    /// <summary>What sources say of resource files.</summary>
    private sealed partial class SaidWords
    {
        private readonly HashSet<Key> members = [];
        private readonly HashSet<string> askedByName = [];
        private readonly HashSet<string> prefixes = [""];
        private readonly HashSet<string> quoted = [];

        public SaidWords(IEnumerable<Source> sources)
        {
            foreach (var (room, text) in sources)
            {
                members.UnionWith(Member().Matches(text)
                    .Select(said => Owned(room, said.Groups[1].Value, said.Groups[2].Value)));
                askedByName.UnionWith(Manager().Matches(text).Select(said => said.Groups[1].Value));
                prefixes.UnionWith(Prefix().Matches(text).Select(said => said.Groups[1].Value));
                quoted.UnionWith(Quoted().Matches(text).Select(said => said.Groups[1].Value));
            }
        }

        public bool Has(Key key) => members.Contains(Owned(key.Room, key.Class, key.Name))
            || (askedByName.Contains(key.Class) && prefixes.Any(prefix =>
                key.Name.StartsWith(prefix, StringComparison.Ordinal) && quoted.Contains(key.Name[prefix.Length..])));

        /// <summary>
        /// Every room has its own Words, and pages read the service's by another name; the others are one.
        /// </summary>
        private static Key Owned(string room, string owner, string name) => owner switch
        {
            "Words" => new Key(room, owner, name),
            "ServiceWords" => new Key("Service", "Words", name),
            _ => new Key("", owner, name),
        };

        [GeneratedRegex(@"\b(\w*Words)\.(\w+)")]
        private static partial Regex Member();

        [GeneratedRegex(@"\b(\w*Words)\.ResourceManager\b")]
        private static partial Regex Manager();

        [GeneratedRegex(@"GetString\(""(\w+)"" \+")]
        private static partial Regex Prefix();

        // The second quote may be the first of the next text.
        [GeneratedRegex(@"[""'`](\w+)(?=[""'`])")]
        private static partial Regex Quoted();
    }
}
