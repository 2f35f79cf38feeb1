using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace Incubation.Browser.Tests;

/// <summary>
/// A page's line to the server, on which the server's words after its greeting are held back until they are let go.
/// </summary>
internal sealed partial class HeldLine
{
    private readonly Lock gate = new();
    private readonly TaskCompletionSource begun = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly List<Action> held = [];
    private bool greeted;
    private bool released;

    /// <summary>Once the server has answered the page's first request, which is held.</summary>
    public Task Begun => begun.Task;

    /// <summary>Holds whatever lines this page begins.</summary>
    public static async Task<HeldLine> Of(IPage page)
    {
        var line = new HeldLine();
        await page.RouteWebSocketAsync(Lines(), socket =>
        {
            var server = socket.ConnectToServer();
            server.OnMessage(frame => line.Say(() =>
            {
                if (frame.Binary is { } bytes)
                    socket.Send(bytes);
                else
                    socket.Send(frame.Text!);
            }));
        });
        return line;
    }

    /// <summary>Lets go what was held, in its order, and holds nothing more.</summary>
    public void Release()
    {
        lock (gate)
        {
            released = true;
            foreach (var word in held)
                word();
            held.Clear();
        }
    }

    private void Say(Action word)
    {
        lock (gate)
        {
            if (released || !greeted)
                word();
            else
            {
                held.Add(word);
                begun.TrySetResult();
            }
            greeted = true;
        }
    }

    [GeneratedRegex("/_blazor")]
    private static partial Regex Lines();
}
