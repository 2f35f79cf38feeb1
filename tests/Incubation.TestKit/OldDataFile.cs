using System.Globalization;
using System.IO.Compression;
using NodaTime;
using NodaTime.Text;

namespace Incubation.TestKit;

/// <summary>
/// A copy of a data file that an earlier version made, in a folder of its own; see <c>OldData/README.md</c>.
/// </summary>
public sealed class OldDataFile : IDisposable
{
    private static readonly string Kept = System.IO.Path.Combine(AppContext.BaseDirectory, "OldData");
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("incubation-old-");

    /// <summary>Copies one out.</summary>
    /// <param name="name">Its name, without an ending.</param>
    public OldDataFile(string name)
    {
        using (var from = Open(name + ".db.gz"))
        using (var to = File.Create(Path))
            from.CopyTo(to);
        File.Copy(System.IO.Path.Combine(Kept, name + ".key"), System.IO.Path.Combine(folder.FullName, "record.key"));
        using var csv = new StreamReader(Open(name + ".csv.gz"));
        Csv = csv.ReadToEnd();
    }

    /// <summary>The data file, with its key beside it.</summary>
    public string Path => In("incubation.db");

    /// <summary>What the version that made it exported of it, a line for each cartridge.</summary>
    public string Csv { get; }

    /// <summary>A path in its folder.</summary>
    public string In(string name) => System.IO.Path.Combine(folder.FullName, name);

    /// <summary>Lets a server that opens the file go on from an instant instead of from this machine's time.</summary>
    public void SetServerTime(Instant at)
    {
        var now = DateTimeOffset.UtcNow.ToString("O", CultureInfo.InvariantCulture);
        File.WriteAllText(
            In("incubation.clock.json"),
            $$"""{"Real":"{{now}}","Server":"{{InstantPattern.ExtendedIso.Format(at)}}","Rate":1}""");
    }

    /// <summary>Deletes the copy.</summary>
    public void Dispose() => folder.Delete(recursive: true);

    private static GZipStream Open(string name) =>
        new(File.OpenRead(System.IO.Path.Combine(Kept, name)), CompressionMode.Decompress);
}
