using System.Runtime.CompilerServices;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// One word a thing, and plain English: no text on screen, in the command line or in a document, and no line of
/// DEVELOPERS.md's table of words, holds a word of BannedWords.txt, which stands beside this test and says what to
/// write instead.
/// </summary>
public sealed partial class BannedWordsTest
{
    private static readonly string Here = Path.GetDirectoryName(ThisFile())!;
    private static readonly string Root = Path.Combine(Here, "..", "..");

    private static readonly IReadOnlyList<(Regex Banned, string Instead)> Words =
    [
        .. from line in File.ReadLines(Path.Combine(Here, "BannedWords.txt"))
           where line.Length > 0 && line[0] != '#'
           let parts = line.Split(" = ", 2)
           select (new Regex($@"(?<!\w){Regex.Escape(parts[0])}(?!\w)", RegexOptions.IgnoreCase), parts[1]),
    ];

    [Fact]
    public void Resources_EveryText_HoldsNoBannedWord()
    {
        var files = Directory.EnumerateFiles(Path.Combine(Root, "src"), "*.resx", SearchOption.AllDirectories)
            .Where(path => !Built().IsMatch(path))
            .ToList();
        var texts = (
            from file in files
            from data in XDocument.Load(file).Root!.Elements("data")
            let place = $"{Path.GetFileName(file)}, {data.Attribute("name")!.Value}"
            select (place, data.Element("value")!.Value)).ToList();
        Assert.True(texts.Count > 2000, $"Only {texts.Count} texts were found under {Root}.");
        Assert.Empty(texts.SelectMany(text => Faults(text.place, text.Value)));
    }

    [Fact]
    public void TableOfWords_HoldsNoBannedWord()
    {
        var rows = File.ReadLines(Path.Combine(Root, "DEVELOPERS.md"))
            .SkipWhile(line => line != "| word | meaning |")
            .TakeWhile(line => line.StartsWith('|'))
            .ToList();
        Assert.True(rows.Count > 10, "DEVELOPERS.md has no table \"word | meaning\".");
        Assert.Empty(rows.SelectMany(row => Faults("DEVELOPERS.md", row)));
    }

    [Theory]
    [InlineData("A cartridge must be thrown away…", "discarded")]
    [InlineData("THROWN AWAY: dropped", "discarded")]
    public void Faults_BannedWord_IsNamedWithWhatToWrite(string text, string instead) =>
        Assert.Contains($"write \"{instead}\"", Assert.Single(Faults("here", text)), StringComparison.Ordinal);

    /// <summary>Whole words alone; and a single word in quotes or backticks is a name in a file, which stays.</summary>
    [Theory]
    [InlineData("Discard it as biohazard waste.")]
    [InlineData("samplers")]
    [InlineData("a cartridge being moved is \"reacting\" in a slot")]
    [InlineData("`reacting` in files")]
    public void Faults_NoBannedWord_AreNone(string text) => Assert.Empty(Faults("here", text));

    private static IEnumerable<string> Faults(string place, string text)
    {
        var said = NameInAFile().Replace(text, "");
        return
            from word in Words
            from Match found in word.Banned.Matches(said)
            select $"{place}: \"{found.Value}\" in \"{text}\"; write \"{word.Instead}\".";
    }

    [GeneratedRegex(@"[\\/](bin|obj)[\\/]")]
    private static partial Regex Built();

    [GeneratedRegex("\"[\\w-]+\"|`[\\w-]+`")]
    private static partial Regex NameInAFile();

    private static string ThisFile([CallerFilePath] string path = "") => path;
}
