namespace Incubation.TestKit;

/// <summary>
/// How long a test waits for what must come: never a measure of speed, so long enough for a machine with other work.
/// </summary>
public static class Patience
{
    /// <summary>For anything that takes a moment on a machine with nothing else to do.</summary>
    public static TimeSpan Usual { get; } = TimeSpan.FromMinutes(3);
}
