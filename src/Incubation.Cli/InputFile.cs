using System.Text;
using Incubation.Exchange;

namespace Incubation.Cli;

/// <summary>Reads a file that a person named, and tells them everything that is wrong with it.</summary>
internal static class InputFile
{
    private const long MaximumBytes = 10_000_000; // 500 requests with their plan take a tenth of it

    private static readonly UTF8Encoding Strict = new(encoderShouldEmitUTF8Identifier: false,
        throwOnInvalidBytes: true);

    /// <summary>What the file holds; null where it cannot be read, the reason told.</summary>
    public static T? Read<T>(string path, Func<string, ParseResult<T>> parse, TextWriter error)
        where T : class
    {
        if (ReadText(path, error) is not { } text)
            return null;
        var result = parse(text);
        foreach (var fault in result.Faults)
            error.WriteLine(Say.Text(Words.InputFault, path, fault.Line, fault.Path, fault.What, fault.Allowed));
        if (result.Faults.Count == ParseResult<T>.MaximumFaults)
            error.WriteLine(Say.Text(Words.PerhapsMoreFaults, path, ParseResult<T>.MaximumFaults));
        return result.Value;
    }

    private static string? ReadText(string path, TextWriter error)
    {
        try
        {
            if (Directory.Exists(path))
                error.WriteLine(Say.Text(Words.InputIsFolder, path));
            else if (!File.Exists(path))
                error.WriteLine(Say.Text(Words.InputMissing, path));
            else if (new FileInfo(path).Length > MaximumBytes)
                error.WriteLine(Say.Text(Words.InputTooLarge, path, MaximumBytes / 1_000_000));
            else
                return Strict.GetString(File.ReadAllBytes(path));
        }
        catch (DecoderFallbackException)
        {
            error.WriteLine(Say.Text(Words.InputNotText, path));
        }
        catch (Exception refused) when (refused is IOException or UnauthorizedAccessException)
        {
            error.WriteLine(Say.Text(Words.InputUnreadable, path, refused.Message));
        }
        return null;
    }
}
