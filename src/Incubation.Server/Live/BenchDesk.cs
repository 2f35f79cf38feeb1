using Incubation.Bench;
using Incubation.Chart;
using Incubation.Server.Api;
using Incubation.Server.Clinic;
using Incubation.Server.People;

namespace Incubation.Server.Live;

/// <summary>Where every screen comes to, by hub, by HTTP or from a page of this server: one way in, one way to look.</summary>
public sealed class BenchDesk(BenchBook benches, SnapshotWriter writer, BenchClock clock, Intake intake, ClinicBook clinic)
{
    /// <summary>Whether there is a bench of that name.</summary>
    public bool Knows(string? bench) => benches.Find(bench) is not null;

    /// <summary>All benches, each with where its batch stands.</summary>
    public IReadOnlyList<BenchSummary> Summaries() => [.. benches.All.Select(runner => writer.Summarize(runner.Present))];

    /// <summary>The benches that an actor may see.</summary>
    public IReadOnlyList<BenchSummary> Summaries(Actor? actor) => [.. Summaries().Where(bench => Access.May(actor, Right.Look, bench.Id))];

    /// <summary>The present snapshot of a bench, or null where there is none of that name.</summary>
    public BenchSnapshot? Snapshot(string? bench, LaneLayout layout) =>
        benches.Find(bench) is { } runner ? writer.Write(runner.Present, layout) with { ServerTime = clock.Now } : null;

    /// <summary>Says something to a bench.</summary>
    /// <param name="actor">Who; null where the sign-in has ended.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="command">What.</param>
    public async Task<CommandAnswer> SendAsync(Actor? actor, string? bench, ScreenCommand? command)
    {
        if (actor is null)
            return new CommandAnswer(false, Words.SignInFirst, 0, SignIn: true);
        if (!Access.May(actor, RightOf(command), bench ?? ""))
            return new CommandAnswer(false, actor is Actor.Tablet ? Words.SignInToDirect : Words.NotAllowed, 0);
        var arrived = clock.Now;
        if (benches.Find(bench) is not { } runner)
            return new CommandAnswer(false, Say.Of(Words.BenchUnknown, bench), 0);
        var state = runner.Present.State;
        var isOwn = RightOf(command) != Right.Report;
        return CommandReader.Read(command, state, arrived, actor, clinic.Log.People) switch
        {
            // An instruction is its person's own, now; a report of a colleague may arrive late, and is marked.
            CommandReading.Readable { Command: BenchCommand.Instruction, Touch.Identity: Identity.NotChecked } when isOwn => new CommandAnswer(false, Words.NotYours, state.Revision),
            CommandReading.Readable said => await SendAsync(runner, said),
            CommandReading.Unreadable not => new CommandAnswer(false, not.Sentence, state.Revision),
            _ => throw new InvalidOperationException("A command is readable or it is not."),
        };
    }

    /// <summary>What a command needs: steps and alarms are reported by whoever is there, the rest by somebody who is known.</summary>
    private static Right RightOf(ScreenCommand? command) => command?.Kind switch
    {
        "mixed" or "loaded" or "read-started" or "cleared" or "card-changed" or "discarded" or "not-begun" or "acknowledge"
            or "correct" or "answer" or "card-seen" or "temperature" => Right.Report,
        "incubator" or "release-result" => Right.Supervise,
        _ => Right.Direct,
    };

    private async Task<CommandAnswer> SendAsync(BenchRunner runner, CommandReading.Readable said)
    {
        // A repeat is run from the lot of the first: where that must not be used any more, it is asked for anew.
        if (said.Command is BenchCommand.OrderRepeat { Of: var of } && runner.Present.State.Find(of)?.Wanted.Request is { } first
            && clinic.Log.Stock.StopOf(first.Lot, first.Assay, clock.Now.InZone(clinic.Facts.Zone).Date) is { } stop)
            return new CommandAnswer(false, Say.Of(StockWords.RepeatStopped, Stock.StockTalk.Of(stop)), runner.Present.State.Revision);
        var answer = await runner.SendAsync(said.Command, said.Touch);
        if (answer.Recorded && said.Command is BenchCommand.OrderRepeat repeat)
            intake.NoteRepeat(runner, repeat.Repeat, said.Touch);
        return answer;
    }
}
