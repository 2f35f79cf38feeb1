namespace Incubation.Browser.Tests;

/// <summary>Where things lie in the checkout that these tests were built from.</summary>
internal static class Repository
{
    public static string Root { get; } = FindRoot();

    /// <summary>"Debug" or "Release": what these tests were built as.</summary>
    private static string Configuration { get; } = new DirectoryInfo(AppContext.BaseDirectory).Parent!.Name;

    /// <summary>
    /// The server that is started; with INCUBATION_SERVER another than the one built here, for the figures.
    /// </summary>
    public static string ServerDll { get; } = Environment.GetEnvironmentVariable("INCUBATION_SERVER")
        ?? Dll("Incubation.Server");

    public static string CliDll => Dll("Incubation.Cli");

    public static string Demo => Path.Combine(Root, "demo");

    private static string Dll(string project) =>
        Path.Combine(Root, "src", project, "bin", Configuration, "net10.0", project + ".dll");

    private static string FindRoot()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder.FullName, "Incubation.sln")))
            folder = folder.Parent ?? throw new InvalidOperationException("These tests run from inside a checkout.");
        return folder.FullName;
    }
}
