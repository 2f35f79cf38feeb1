using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Live;

/// <summary>What screens call: watch a bench, and say something to it.</summary>
public sealed class BenchHub(BenchDesk desk, BenchPublisher publisher) : Hub<IBenchScreen>
{
    /// <summary>Where screens connect.</summary>
    public const string Path = "/hub/bench";

    /// <summary>The longest message that a screen may send, in bytes.</summary>
    public const int LongestMessage = 16 * 1024;

    /// <summary>Sends this screen every snapshot of a bench from now on, and returns the present one.</summary>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="layout">"wide", "portrait", "narrow" or "wall".</param>
    /// <exception cref="HubException">There is no such bench or layout; the message is a sentence.</exception>
    public async Task<BenchSnapshot> Watch(string bench, string layout)
    {
        if (!ScreenLayouts.TryRead(layout, out var shape))
            throw new HubException(Words.LayoutUnknown);
        // The group first, the snapshot after it: a change in between is sent twice rather than never.
        if (desk.Snapshot(bench, shape) is null)
            throw new HubException(Say.Of(Words.BenchUnknown, bench));
        publisher.Watched(shape);
        await Groups.AddToGroupAsync(Context.ConnectionId, BenchPublisher.GroupOf(bench, shape));
        return desk.Snapshot(bench, shape)!;
    }

    /// <summary>Stops sending snapshots of a bench in a layout: before a screen that was turned watches in the other.</summary>
    public Task Leave(string bench, string layout) =>
        ScreenLayouts.TryRead(layout, out var shape)
            ? Groups.RemoveFromGroupAsync(Context.ConnectionId, BenchPublisher.GroupOf(bench, shape))
            : Task.CompletedTask;

    /// <summary>Says something to a bench; answers when it stands in the log, or with the sentence that says why not.</summary>
    public Task<CommandAnswer> Send(string bench, ScreenCommand command) => desk.SendAsync(bench, command);
}
