using System.Collections.Concurrent;
using System.Runtime.CompilerServices;
using Microsoft.Playwright;
using Xunit;

namespace Incubation.Browser.Tests;

/// <summary>
/// What a page met on its way: where it went, what its console said, what was not answered. It is printed with a test
/// that fails, so that a failure on another machine can be understood.
/// </summary>
internal static class PageStory
{
    private const int Kept = 30;
    private static readonly ConditionalWeakTable<IPage, ConcurrentQueue<string>> Stories = [];

    public static void Follow(IPage page)
    {
        page.FrameNavigated += (_, frame) => Add(page, "at " + frame.Url);
        page.Console += (_, message) => Add(page, message.Type + ": " + message.Text);
        page.PageError += (_, error) => Add(page, "error: " + error);
        page.RequestFailed += (_, request) => Add(page, $"failed: {request.Url} {request.Failure}");
        page.WebSocket += (_, socket) =>
        {
            Add(page, "socket opened: " + socket.Url);
            socket.Close += (_, _) => Add(page, "socket closed: " + socket.Url);
            socket.SocketError += (_, error) => Add(page, "socket failed: " + error);
        };
    }

    /// <summary>Writes it into the test's output.</summary>
    public static void Tell(IPage page)
    {
        if (TestContext.Current.TestOutputHelper is not { } output || !Stories.TryGetValue(page, out var story))
            return;
        output.WriteLine("Page at " + page.Url);
        foreach (var line in story)
            output.WriteLine("  " + line);
    }

    private static void Add(IPage page, string line)
    {
        var story = Stories.GetOrCreateValue(page);
        story.Enqueue($"{DateTime.UtcNow:HH:mm:ss.fff} {line}");
        while (story.Count > Kept)
            story.TryDequeue(out _);
    }
}
