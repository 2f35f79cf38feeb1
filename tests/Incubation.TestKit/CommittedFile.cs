namespace Incubation.TestKit;

/// <summary>Files of the checkout that are written by a test, and compared ever after.</summary>
public static class CommittedFile
{
    /// <summary>Set to 1, files are written anew instead of compared.</summary>
    private const string Write = "INCUBATION_WRITE_CONTRACT";

    private static readonly string Root = FindRoot();

    /// <summary>
    /// Null where a file holds a text; else the sentence that says where it differs and how it is written.
    /// </summary>
    /// <param name="path">The file, from the root of the checkout.</param>
    /// <param name="text">What it must hold.</param>
    /// <param name="test">The class of tests that writes it.</param>
    /// <returns>The sentence, or null.</returns>
    public static string? Fault(string path, string text, Type test)
    {
        var file = Path.Combine(Root, path);
        if (Environment.GetEnvironmentVariable(Write) == "1")
        {
            Directory.CreateDirectory(Path.GetDirectoryName(file)!);
            File.WriteAllText(file, text);
        }

        var held = File.Exists(file) ? File.ReadAllText(file).ReplaceLineEndings("\n") : "";
        var how =
            $"{Write}=1 dotnet test --project tests/{test.Assembly.GetName().Name} -c Release --filter-class "
            + $"{test.FullName}";
        return held == text
            ? null : $"{path} differs from what the server has{FirstDifference(held, text)}. Write it again: {how}";
    }

    /// <summary>The text of a file of the checkout.</summary>
    public static string Read(string path) => File.ReadAllText(Path.Combine(Root, path));

    private static string FirstDifference(string held, string text)
    {
        var (has, must) = (held.Split('\n'), text.Split('\n'));
        var line = Enumerable.Range(0, must.Length)
            .FirstOrDefault(at => at >= has.Length || has[at] != must[at], must.Length - 1);
        return $", first in line {line + 1} (must be: {must[line].Trim()})";
    }

    private static string FindRoot()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder.FullName, "Incubation.sln")))
            folder = folder.Parent ?? throw new InvalidOperationException("These tests run from inside a checkout.");
        return folder.FullName;
    }
}
