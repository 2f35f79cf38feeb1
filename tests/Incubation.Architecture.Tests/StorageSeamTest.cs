using System.Text.RegularExpressions;
using Xunit;

namespace Incubation.Architecture.Tests;

/// <summary>
/// What is one database engine's own (its types, statements and codes) stands in that engine's folder, so that another
/// engine is another folder. One line elsewhere chooses the engine.
/// </summary>
public sealed partial class StorageSeamTest
{
    private const string Folder = "src/Incubation.Records/Sqlite/";
    private const string Chooser = "src/Incubation.Records/Storage/StorageEngine.cs";

    /// <summary>Code without its comments, by path from the repository's root.</summary>
    private static readonly (string Path, string[] Lines)[] Sources =
    [
        .. Directory.EnumerateFiles(Path.Combine(SourceTree.Root, "src"), "*.cs", SearchOption.AllDirectories)
            .Select(path => (Path: Path.GetRelativePath(SourceTree.Root, path).Replace('\\', '/'), Full: path))
            .Where(file => !file.Path.Contains("/obj/", StringComparison.Ordinal)
                && !file.Path.Contains("/bin/", StringComparison.Ordinal))
            .Select(file =>
                (file.Path, File.ReadLines(file.Full)
                    .Where(line => !line.TrimStart().StartsWith("//", StringComparison.Ordinal)).ToArray())),
    ];

    [Fact]
    public void OutsideTheFolder_NothingIsTheEnginesOwn() =>
        Assert.Empty(Found(path => !path.StartsWith(Folder, StringComparison.Ordinal) && path != Chooser));

    [Fact]
    public void TheChooser_NamesTheEngineOnce() =>
        Assert.Single(Found(path => path == Chooser),
            line => line.Contains("new Sqlite.SqliteEngine()", StringComparison.Ordinal));

    /// <summary>The check itself can fail: each kind of word is found where it may stand.</summary>
    [Theory]
    [InlineData("PRAGMA journal_mode")]
    [InlineData("SqliteConnection")]
    [InlineData("raw.SQLITE_FULL")]
    [InlineData("sqlite_schema")]
    [InlineData("CREATE TRIGGER")]
    [InlineData("json_extract(")]
    [InlineData("UseCollation(")]
    [InlineData("-wal")]
    public void InsideTheFolder_TheEnginesOwn_IsFound(string word) => Assert.Contains(
        Found(path => path.StartsWith(Folder, StringComparison.Ordinal)), line =>
            line.Contains(word, StringComparison.Ordinal));

    private static List<string> Found(Func<string, bool> where) =>
    [
        .. Sources.Where(file => where(file.Path))
            .SelectMany(file => file.Lines.Where(line => Own().IsMatch(line))
                .Select(line => $"{file.Path}: {line.Trim()}")),
    ];

    [GeneratedRegex(
        """
        (?i:sqlite)|\bPRAGMA\b|\bCREATE\ TRIGGER\b|\bRAISE\(|json_extract|json_each|\bNOCASE\b|UseCollation|wal_checkpoint|"-wal"|"-shm"|
        \bINSERT\ OR\b|\browid\b|zeroblob|\bGLOB\b|WITHOUT\ ROWID
        """,
        RegexOptions.IgnorePatternWhitespace)]
    private static partial Regex Own();
}
