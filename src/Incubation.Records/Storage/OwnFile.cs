namespace Incubation.Records.Storage;

/// <summary>Files that hold patients' data: for their owner alone.</summary>
internal static class OwnFile
{
    /// <summary>Makes an empty file; throws <see cref="IOException"/> where there is one.</summary>
    public static void MakeEmpty(string path)
    {
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        new FileStream(path, options).Dispose();
    }
}
