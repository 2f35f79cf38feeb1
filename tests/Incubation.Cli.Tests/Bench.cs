using System.Text.Json.Nodes;
using Xunit;

namespace Incubation.Cli.Tests;

/// <summary>A folder of its own for one test, and the command line run in it, in this process.</summary>
internal sealed class Bench : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("incubation-cli-").FullName;

    /// <summary>The demo's bench day, as it lies in the repository.</summary>
    public static string Morning { get; } = Path.Combine(Root(), "demo", "morning.json");

    public string Output { get; private set; } = "";
    public string Error { get; private set; } = "";

    public string PathOf(string name) => Path.Combine(_folder, name);

    /// <summary>Every file that the test's folder holds.</summary>
    public IReadOnlyList<string> Files =>
        [.. Directory.EnumerateFileSystemEntries(_folder).Select(path => Path.GetFileName(path)!)
            .Order(StringComparer.Ordinal)];

    public string Write(string name, string text)
    {
        File.WriteAllText(PathOf(name), text);
        return PathOf(name);
    }

    /// <summary>The demo's bench day with something changed.</summary>
    public string WriteDay(string name, Action<JsonObject> change)
    {
        var root = JsonNode.Parse(File.ReadAllText(Morning))!.AsObject();
        change(root);
        return Write(name, root.ToJsonString());
    }

    public int Run(params string[] args) => Run(new StepClock(), args);

    public int Run(TimeProvider time, params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        var code = CommandLine.Run(args, output, error, time);
        (Output, Error) = (output.ToString(), error.ToString());
        return code;
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    private static string Root()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "Incubation.sln")))
            folder = folder.Parent;
        Assert.NotNull(folder);
        return folder.FullName;
    }
}

/// <summary>A clock that moves on by a millisecond each time that it is looked at.</summary>
internal sealed class StepClock : TimeProvider
{
    private long _looks;

    public override long TimestampFrequency => 1000;

    public override long GetTimestamp() => _looks++;
}
