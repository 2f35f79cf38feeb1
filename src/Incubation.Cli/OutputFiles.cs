using System.Text;

namespace Incubation.Cli;

/// <summary>Writes files whole or not at all: beside their place first, then moved into it.</summary>
internal static class OutputFiles
{
    private static readonly UTF8Encoding Plain = new(encoderShouldEmitUTF8Identifier: false);

    /// <summary>
    /// Why a file cannot be written there, as far as one can say beforehand; null where nothing is in the way.
    /// </summary>
    /// <param name="option">The option that names the file.</param>
    /// <param name="path">Where it is to be.</param>
    /// <param name="others">Files of the same command that it must not replace.</param>
    public static string? Objection(string option, string path, params string?[] others)
    {
        var full = Target(path);
        if (Directory.Exists(full))
            return Say.Text(Words.OutputIsFolder, option, path);
        if (!Directory.Exists(Path.GetDirectoryName(full)))
            return Say.Text(Words.OutputFolderMissing, option, path);
        return others.OfType<string>().FirstOrDefault(other => Target(other) == full) is { } same
            ? Say.Text(Words.OutputReplaces, option, path, same)
            : null;
    }

    /// <summary>Writes all of them; where one fails, none stands half-written, and the reason is told.</summary>
    public static bool Write(IReadOnlyList<(string Path, string Text)> files, TextWriter error)
    {
        var waiting = new List<(string Beside, string Target)>();
        var writing = "";
        try
        {
            foreach (var (path, text) in files)
            {
                writing = path;
                var target = Target(path);
                var beside = IsDevice(target) ? target : $"{target}.{Path.GetRandomFileName()}.tmp";
                if (!IsDevice(target))
                    waiting.Add((beside, target));
                File.WriteAllText(beside, text, Plain);
            }
            foreach (var (beside, target) in waiting)
                File.Move(beside, target, overwrite: true);
            return true;
        }
        catch (Exception refused) when (refused is IOException or UnauthorizedAccessException)
        {
            error.WriteLine(Say.Text(Words.OutputRefused, writing, refused.Message));
            foreach (var (beside, _) in waiting.Where(file => File.Exists(file.Beside)))
                File.Delete(beside);
            return false;
        }
    }

    /// <summary>The file itself: a link is followed, so that it is not replaced by a file.</summary>
    private static string Target(string path)
    {
        var full = Path.GetFullPath(path);
        return IsDevice(full) || !File.Exists(full)
            ? full : File.ResolveLinkTarget(full, returnFinalTarget: true)?.FullName ?? full;
    }

    /// <summary>
    /// A device, the standard output perhaps, is written to as it stands: moving a file over it would replace it.
    /// </summary>
    private static bool IsDevice(string path) => !OperatingSystem.IsWindows()
        && path.StartsWith("/dev/", StringComparison.Ordinal);
}
