namespace Incubation.Records.Tests;

/// <summary>A folder for one test's files.</summary>
internal sealed class TempFolder : IDisposable
{
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("incubation-records-");

    /// <summary>A path for the test's data file; nothing is there yet.</summary>
    public string DataFile => At("clinic.db");

    public string At(string name) => Path.Combine(folder.FullName, name);

    public void Dispose() => folder.Delete(recursive: true);
}
