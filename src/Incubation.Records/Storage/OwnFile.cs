namespace Incubation.Records.Storage;

/// <summary>Files that hold patients' data: for their owner alone.</summary>
internal static class OwnFile
{
    /// <summary>How it is said of a copy that it was made before an upgrade.</summary>
    public const string BeforeUpgrade = "before-";

    /// <summary>How it is said of a file that a restore replaced it.</summary>
    public const string Replaced = "replaced-";

    /// <summary>Makes an empty file; throws <see cref="IOException"/> where there is one.</summary>
    public static void MakeEmpty(string path)
    {
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        new FileStream(path, options).Dispose();
    }

    /// <summary>
    /// A data file's name that is free, beside a file: its name, a dot and what is said of it, with a number from the
    /// second on.
    /// </summary>
    /// <param name="path">The file.</param>
    /// <param name="said">What is said of it.</param>
    public static string FreeNameBeside(string path, string said)
    {
        var stem = Path.Combine(Path.GetDirectoryName(path)!, $"{Path.GetFileNameWithoutExtension(path)}.{said}");
        var name = stem + ".db";
        for (var number = 2; Path.Exists(name); number++)
            name = $"{stem}-{number}.db";
        return name;
    }
}
