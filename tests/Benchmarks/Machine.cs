using System.Runtime.InteropServices;

namespace Incubation.Benchmarks;

/// <summary>The machine that measures: results of different ones are not mixed.</summary>
internal static class Machine
{
    /// <summary>The processor's name and how many cores this program may use.</summary>
    public static string Name { get; } = $"{Processor()}, {Environment.ProcessorCount} cores";

    /// <summary>All that is worth writing under a table.</summary>
    public static string Description =>
        $"{Name}; {RuntimeInformation.OSDescription}; {RuntimeInformation.FrameworkDescription}; "
        + $"{(IsRelease ? "Release" : "Debug (build Release to measure)")}";

    /// <summary>The name as part of a path.</summary>
    public static string Slug { get; } =
        string.Join('-', new string([.. Name.ToLowerInvariant().Select(c => char.IsAsciiLetterOrDigit(c) ? c : ' ')])
            .Split(' ', StringSplitOptions.RemoveEmptyEntries));

#if DEBUG
    private const bool IsRelease = false;
#else
    private const bool IsRelease = true;
#endif

    private static string Processor()
    {
        const string Info = "/proc/cpuinfo";
        var name = File.Exists(Info)
            ? File.ReadLines(Info)
            .FirstOrDefault(line => line.StartsWith("model name", StringComparison.Ordinal))?.Split(':', 2)[1].Trim()
            : null;
        return name ?? Environment.GetEnvironmentVariable("PROCESSOR_IDENTIFIER")
            ?? RuntimeInformation.ProcessArchitecture.ToString();
    }
}
