using Incubation.Chart;
using Incubation.Clinic.People;
using Incubation.Server.Doors;
using Incubation.Service.Alarms;
using Incubation.Service.Benches;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Incubation.Service.Screens;
using Incubation.Service.Snapshots;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using Microsoft.AspNetCore.SignalR;

namespace Incubation.Server.Hubs;

/// <summary>What screens call: watch a bench, and say something to it.</summary>
[Needs(Right.Look)]
public sealed class BenchHub(BenchService desk, BenchPublisher publisher, Actors actors, Sessions sessions,
    WhoWriter who, Lines lines, ScreenWatch screens, BoxJudge boxes) : Hub<IBenchScreen>
{
    /// <summary>Where screens connect.</summary>
    public const string Path = "/hub/bench";

    /// <summary>The longest message that a screen may send, in bytes.</summary>
    public const int LongestMessage = 16 * 1024;

    /// <summary>Sends this screen every snapshot of a bench from now on, and returns the present one.</summary>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="layout">"wide", "portrait", "narrow" or "wall".</param>
    /// <exception cref="HubException">There is no such bench or layout; the message is a sentence.</exception>
    [HubNeeds(Right.Look)]
    public async Task<BenchSnapshot> Watch(string bench, string layout)
    {
        if (!ScreenLayouts.TryRead(layout, out var shape))
            throw new HubException(Words.LayoutUnknown);
        // What is pushed to a group is the same for all in it.
        if (shape != LaneLayout.Wall && !Access.May(actors.Present(Context.User), Right.SeeBench, bench))
            throw new HubException(ServiceWords.NotAllowed);
        // The group first, the snapshot after it: a change in between is sent twice rather than never.
        if (!desk.Knows(bench))
            throw new HubException(Say.Of(ServiceWords.BenchUnknown, bench));
        publisher.Watched(shape);
        await Groups.AddToGroupAsync(Context.ConnectionId, BenchPublisher.GroupOf(bench, shape));
        return desk.Snapshot(actors.Present(Context.User), bench, shape)!;
    }

    /// <summary>
    /// Stops sending snapshots of a bench in a layout: before a screen that was turned watches in the other.
    /// </summary>
    [HubNeeds(Right.Look)]
    public Task Leave(string bench, string layout) =>
        ScreenLayouts.TryRead(layout, out var shape)
            ? Groups.RemoveFromGroupAsync(Context.ConnectionId, BenchPublisher.GroupOf(bench, shape))
            : Task.CompletedTask;

    /// <summary>
    /// Says something to a bench; answers when it stands in the log, or with the sentence that says why not.
    /// </summary>
    [HubNeeds(Right.Report)]
    public Task<CommandAnswer> Send(string bench, ScreenCommand command)
    {
        Touched();
        return desk.SendAsync(actors.Present(Context.User), bench, command);
    }

    /// <summary>
    /// What a scanned box means for the cartridge that is due; null where the scan is no code of a box.
    /// </summary>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="due">The request whose cartridge is due, or null.</param>
    /// <param name="scanned">What was scanned.</param>
    [HubNeeds(Right.SeeBench)]
    public BoxAnswer? JudgeBox(string bench, string? due, string scanned) => boxes.Judge(bench, due, scanned);

    /// <summary>A bench page says, every few seconds, whether it is in view and whether it can sound.</summary>
    [HubNeeds(Right.Report)]
    public void Attend(string bench, bool visible, bool sound) => screens.Attend(bench, visible, sound);

    /// <summary>Says that somebody has touched the screen, and answers who is signed in.</summary>
    [HubNeeds(Right.Look)]
    public WhoSnapshot Here()
    {
        Touched();
        return who.Write(actors.Present(Context.User)!);
    }

    /// <summary>Who is signed in; touches nothing.</summary>
    [HubNeeds(Right.Look)]
    public WhoSnapshot WhoIsHere() => who.Write(actors.Present(Context.User)!);

    /// <inheritdoc/>
    public override Task OnConnectedAsync()
    {
        if (!lines.Opened(Context))
            Context.Abort();
        return base.OnConnectedAsync();
    }

    /// <inheritdoc/>
    public override Task OnDisconnectedAsync(Exception? exception)
    {
        lines.Closed(Context);
        return base.OnDisconnectedAsync(exception);
    }

    private void Touched()
    {
        if (actors.Present(Context.User) is Actor.Person person)
            sessions.Touched(person.Session.Id);
    }
}
