namespace Incubation.Architecture.Tests;

/// <summary>The repository's own files, for checks that read source text.</summary>
internal static class SourceTree
{
    /// <summary>The folder with the solution, above the built tests.</summary>
    public static string Root { get; } = Find(new DirectoryInfo(AppContext.BaseDirectory));

    private static string Find(DirectoryInfo folder) =>
        File.Exists(Path.Combine(folder.FullName, "Incubation.sln")) ? folder.FullName : Find(folder.Parent!);
}
