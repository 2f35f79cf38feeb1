using System.Text.RegularExpressions;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// Names that stand outside the program, in <c>Names.txt</c>: in browsers, in the configuration, in what others
/// collect, in translations. Whatever is renamed in the code, each of them must still be found as a text of its own, or
/// be the name of a resource in an assembly. One that is to go is taken off the list by whoever knows who reads it.
/// </summary>
public sealed partial class NamesTest
{
    private static readonly string[] Lines =
        [.. File.ReadLines(Path.Combine(AppContext.BaseDirectory, "Names.txt"))
            .Where(line => line.Length > 0 && line[0] != '#')];

    private static readonly HashSet<string> Texts =
    [
        .. Directory.EnumerateFiles(Path.Combine(SourceTree.Root, "src"), "*", SearchOption.AllDirectories)
            .Where(path => Path.GetExtension(path) is ".cs" or ".js" or ".razor")
            .Where(path => !path.Contains("/obj/", StringComparison.Ordinal)
                && !path.Contains("/lib/", StringComparison.Ordinal)
                && !path.Contains("/bin/", StringComparison.Ordinal))
            .SelectMany(path => Quoted().Matches(File.ReadAllText(path)).Select(match => match.Groups[1].Value)),
    ];

    public static TheoryData<string, string> Names =>
        [.. Lines.Select(line => line.Split(' ', 2)).Select(parts => (parts[0], parts[1]))];

    [Theory]
    [MemberData(nameof(Names))]
    public void Name_ThatStandsOutside_IsStillThere(string kind, string name) =>
        Assert.True(kind == "resource" ? Room.All.Any(room => room.Resources.Contains(name)) : Texts.Contains(name),
            $"{kind} {name}");

    [GeneratedRegex("[\"`]([a-zA-Z][a-zA-Z0-9._-]*)(?=[\"`]|\\$\\{|\\{)")]
    private static partial Regex Quoted();
}
