using System.Text.Json;
using System.Text.RegularExpressions;
using Incubation.Bench;
using Incubation.Server.Pages.Bench;
using Incubation.Service.Alarms;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// The words of the screens stand in a resource file alone, and every one that a screen asks for is there.
/// </summary>
public sealed partial class ScreenWordsTest
{
    private static readonly string Server = Path.Combine(Repository.Root, "src", "Incubation.Server");

    private static IEnumerable<string> Sources() =>
        [.. Directory.EnumerateFiles(Path.Combine(Server, "wwwroot", "js"), "*.js")
            .Where(file => Path.GetFileName(file) != "play.js" && !HasOwn(file)),
         Path.Combine(Server, "Pages", "Bench", "BenchPage.razor"),
         Path.Combine(Server, "Pages", "Wall", "WallPage.razor")];

    [Fact]
    public void Words_AskedForByAScreen_AreThere()
    {
        var known = JsonSerializer.Deserialize<Dictionary<string, string>>(ScreenText.Json())!;
        var asked = Sources()
            .SelectMany(file => Asked().Matches(File.ReadAllText(file)).SelectMany(call => Key().Matches(call.Value))
                .Select(key => key.Groups[1].Value)).ToHashSet();
        Assert.True(asked.Count > 40);
        Assert.Empty(asked.Except(known.Keys));
    }

    [Fact]
    public void Words_InTheResource_AreUsedByAScreen()
    {
        var sources = string.Join('\n', Sources().Select(File.ReadAllText));
        var known = JsonSerializer.Deserialize<Dictionary<string, string>>(ScreenText.Json())!;
        Assert.All(known.Keys, key => Assert.Contains($"\"{key}\"", sources, StringComparison.Ordinal));
    }

    /// <summary>Sheets that have words of their own, which their buttons and pages bring.</summary>
    public static TheoryData<string, string, int> Own => new()
    {
        { "rack*.js", "Rack/RackPageWords.resx", 40 },
        { "orderfile.js", "Worklist/WorklistPageWords.resx", 5 },
        { "scanner*.js", "Scanner/ScannerWords.resx", 5 },
    };

    private static IEnumerable<string> Scripts(string pattern) =>
        Directory.EnumerateFiles(Path.Combine(Server, "wwwroot", "js"), pattern);

    private static bool HasOwn(string file) => Own.Any(own => Scripts(own.Data.Item1).Contains(file));

    [Theory]
    [MemberData(nameof(Own))]
    public void Words_AskedForByWhatHasItsOwn_AreThoseThatItBrings(string scripts, string resource, int least)
    {
        var sources = string.Join('\n', Scripts(scripts).Select(File.ReadAllText));
        var known = System.Xml.Linq.XDocument.Load(Path.Combine(Server, "Pages", resource)).Root!.Elements("data")
            .Select(data => (string)data.Attribute("name")!).ToHashSet();
        var asked = Asked().Matches(sources).SelectMany(call => Key().Matches(call.Value))
            .Select(key => key.Groups[1].Value).ToHashSet();
        Assert.True(asked.Count > least);
        Assert.Empty(asked.Except(known));
    }

    [Fact]
    public void Words_AskedForByTheBatchPlayedAgain_AreThoseThatItsPageBrings()
    {
        var play = File.ReadAllText(Path.Combine(Server, "wwwroot", "js", "play.js"));
        var words = Path.Combine(Server, "Pages", "Playback", "PlayWords.resx");
        var known = System.Xml.Linq.XDocument.Load(words).Root!.Elements("data")
            .Select(data => (string)data.Attribute("name")!).ToHashSet();
        // Some are asked for by way of a list: none and its kind.
        var asked = Asked().Matches(play).SelectMany(call => Key().Matches(call.Value))
            .Select(key => key.Groups[1].Value).Concat(["DueNone", "PlannedNone", "WrongNone"]).ToHashSet();
        Assert.True(asked.Count > 8);
        Assert.Empty(asked.Except(known));
    }

    [Fact]
    public void Actions_OfTheTableOfConditions_AreKnownToTheBenchPage()
    {
        var alarms = File.ReadAllText(Path.Combine(Server, "wwwroot", "js", "alarms.js"));
        var from = alarms.IndexOf("const ACTIONS", StringComparison.Ordinal);
        var known = Action().Matches(alarms[from..alarms.IndexOf("};", from, StringComparison.Ordinal)])
            .Select(found => found.Groups[1].Value);
        Assert.Equal(Enum.GetValues<AlarmAction>().Select(AlarmText.CodeOf).Order(StringComparer.Ordinal),
            known.Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Json_InsideAScriptElement_CannotEndIt() =>
        Assert.DoesNotContain("<", ScreenText.Json(), StringComparison.Ordinal);

    [Fact]
    public void Get_UnknownWord_Throws() => Assert.Throws<ArgumentException>(() => ScreenText.Get("NoSuchWord"));

    // A member of an object, its name in quotes where it has a hyphen.
    [GeneratedRegex(@"[{,\s]""?([a-z-]+)""?: """)]
    private static partial Regex Action();

    // A call w("…") or W("…"), or a finding good("…") or bad("…"), with the brackets of what chooses between words
    // inside it.
    [GeneratedRegex(@"\b(?:[wW]|good|bad)\((?:[^()]|\([^()]*\))*\)")]
    private static partial Regex Asked();

    [GeneratedRegex(@"""([A-Z][A-Za-z]+)""")]
    private static partial Regex Key();
}
