using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// Lines of at most <see cref="LongLines.MaxColumns"/> columns, files of at most <see cref="MaxLines"/> lines. Exempt
/// from the first, see <see cref="LongLines.In"/>, are lines inside a raw string literal of several lines, and
/// addresses.
/// Not looked at: what is built, what others wrote (lib, node_modules), migrations, and what a test writes (types.js).
/// </summary>
public sealed class LineLengthTest
{
    private const int MaxLines = 450;

    private static readonly string Full = new('x', LongLines.MaxColumns);
    private static readonly string Over = Full + "x";

    private static readonly string[] Kinds = [".cs", ".razor", ".js", ".css", ".sh"];
    private static readonly string[] NotOurs = ["bin", "obj", "lib", "node_modules", "Migrations"];

    [Theory]
    [InlineData("src")]
    [InlineData("tests")]
    public void Lines_OfSourceText_AreShort(string folder)
    {
        var tooLong = Files(folder).SelectMany(path =>
            LongLines.In(File.ReadLines(path), Path.GetExtension(path) == ".cs")
                .Select(line => $"{Named(path)}:{line}"));
        Assert.Empty(tooLong);
    }

    [Fact]
    public void Files_OfTheProgram_AreShort() =>
        Assert.Empty(Files("src").Where(path => File.ReadLines(path).Count() > MaxLines).Select(Named));

    [Fact]
    public void Files_LookedAt_AreOfEveryKind() =>
        Assert.Equal(Kinds.Order(), Files("src").Concat(Files("tests")).Select(Path.GetExtension).Distinct().Order());

    [Fact]
    public void In_LinesOfEachKind_FindsTheLongOnes()
    {
        var address = $"    // https://example.org/{Full}";
        Assert.Equal([2, 3], LongLines.In([Full, Over, "    " + Full, address, "short"], isCSharp: false));
    }

    [Fact]
    public void In_RawStrings_LeavesOutWhatIsInsideAlone()
    {
        const string Three = "\"\"\"";
        string[] lines =
        [
            Over,
            "var text = " + Three, Over, Three + Over,
            Three + "one line" + Three + Over,
            "Of(" + Three, Over, Three + ", $" + Three, Over, Three + ");",
            Over,
            "var text = " + Three + "\"", Three + Over, Three + "\";",
        ];
        Assert.Equal([1, 4, 5, 11], LongLines.In(lines, isCSharp: true));
        Assert.Equal([2], LongLines.In([Three, Over], isCSharp: false));
    }

    private static IEnumerable<string> Files(string folder) =>
        Directory.EnumerateFiles(Path.Combine(SourceTree.Root, folder), "*", SearchOption.AllDirectories)
            .Where(path => Kinds.Contains(Path.GetExtension(path)) && Path.GetFileName(path) != "types.js"
                && !Named(path).Split('/').Intersect(NotOurs).Any());

    private static string Named(string path) =>
        Path.GetRelativePath(SourceTree.Root, path).Replace(Path.DirectorySeparatorChar, '/');
}
