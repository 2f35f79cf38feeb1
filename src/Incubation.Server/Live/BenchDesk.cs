using Incubation.Bench;
using Incubation.Chart;
using Incubation.Server.Api;
using Incubation.Server.Clinic;
namespace Incubation.Server.Live;

/// <summary>Where every screen comes to, by hub, by HTTP or from a page of this server: one way in, one way to look.</summary>
public sealed class BenchDesk(BenchBook benches, SnapshotWriter writer, BenchClock clock, Intake intake)
{
    /// <summary>Whether there is a bench of that name.</summary>
    public bool Knows(string? bench) => benches.Find(bench) is not null;

    /// <summary>All benches, each with where its batch stands.</summary>
    public IReadOnlyList<BenchSummary> Summaries() => [.. benches.All.Select(runner => writer.Summarize(runner.Present))];

    /// <summary>The present snapshot of a bench, or null where there is none of that name.</summary>
    public BenchSnapshot? Snapshot(string? bench, LaneLayout layout) =>
        benches.Find(bench) is { } runner ? writer.Write(runner.Present, layout) with { ServerTime = clock.Now } : null;

    /// <summary>Says something to a bench.</summary>
    public async Task<CommandAnswer> SendAsync(string? bench, ScreenCommand? command)
    {
        var arrived = clock.Now;
        if (benches.Find(bench) is not { } runner)
            return new CommandAnswer(false, Say.Of(Words.BenchUnknown, bench), 0);
        var state = runner.Present.State;
        return CommandReader.Read(command, state, arrived) switch
        {
            CommandReading.Readable said => await SendAsync(runner, said),
            CommandReading.Unreadable not => new CommandAnswer(false, not.Sentence, state.Revision),
            _ => throw new InvalidOperationException("A command is readable or it is not."),
        };
    }

    private async Task<CommandAnswer> SendAsync(BenchRunner runner, CommandReading.Readable said)
    {
        var answer = await runner.SendAsync(said.Command, said.Touch);
        if (answer.Recorded && said.Command is BenchCommand.OrderRepeat repeat)
            intake.NoteRepeat(runner, repeat.Repeat, said.Touch);
        return answer;
    }
}
