using System.Runtime.CompilerServices;
using Incubation.Bench;
using Incubation.Chart;
using Incubation.Clinic.People;
using Incubation.Clinic.Stock;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Record;
using Incubation.Service.Requests;
using Incubation.Service.Settings;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;

namespace Incubation.Service.Screens;

/// <summary>
/// Where every screen comes to, by hub, by HTTP or from a page of this server: one way in, one way to look.
/// </summary>
public sealed class BenchService(BenchRegistry benches, SnapshotWriter writer, BenchClock clock, Intake intake,
    CarriedOver carriedOver, ClinicHost clinic, WriteBudget budget, LateReportService late,
    SecondLookService second, ILogger<BenchService> logger, LabelSettings? labels = null)
{
    private const int UnknownBenchRetrySeconds = 30;

    private readonly ConditionalWeakTable<BenchMoment, BenchSummary> summaries = [];

    /// <summary>Whether there is a bench of that name.</summary>
    public bool Knows(string? bench) => benches.Find(bench) is not null;

    /// <summary>The benches that an actor may see, each with where its batch stands.</summary>
    public IReadOnlyList<BenchSummary> Summaries(Actor? actor) =>
        [.. benches.All.Where(bench => Access.May(actor, Right.Look, bench.Id.Value))
            .Select(bench => Summary(bench.Present))];

    /// <summary>Where the batch of a bench stood at a moment; worked out once, however many pages show it.</summary>
    public BenchSummary Summary(BenchMoment moment) => summaries.GetValue(moment, SnapshotWriter.Summarize);

    /// <summary>
    /// The present snapshot of a bench as an actor may see it, or null where there is none of that name.
    /// </summary>
    public BenchSnapshot? Snapshot(Actor? actor, string? bench, LaneLayout layout) =>
        benches.Find(bench) is not { } runner ? null
        : (Access.May(actor, Right.SeeBench, bench)
            ? writer.Write(runner.Present, layout) : writer.WriteUnnamed(runner.Present, layout))
            with
        { ServerTime = clock.Now };

    /// <summary>
    /// Says something to a bench in the flat form in which screens and programs say it: read here, once.
    /// </summary>
    /// <param name="actor">Who; null where the sign-in has ended.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="flat">What.</param>
    /// <returns>Recorded, refused for good, or not now; a fault of this program is "not now", and logged.</returns>
    public async Task<CommandAnswer> SendAsync(Actor? actor, string? bench, ScreenCommand? flat)
    {
        try
        {
            return actor is null
                ? CommandAnswer.AfterSignIn(Words.SignInFirst)
                : CommandReader.Read(flat, clock.Now, actor, clinic.Log.People) switch
                {
                    CommandReading.Readable read => await SendAsync(actor, bench, read.Envelope),
                    CommandReading.Unreadable not =>
                        CommandAnswer.Refuse(not.Sentence, benches.Find(bench)?.Present.State.Revision ?? 0),
                    _ => throw new InvalidOperationException("A command is readable or it is not."),
                };
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            logger.LogError(fault, "A command to the bench {Bench} could not be answered.", bench);
            return CommandAnswer.Later(Words.CommandFailed, 0);
        }
    }

    /// <summary>Says something to a bench.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="bench">Id of the bench.</param>
    /// <param name="envelope">What, as this actor said it.</param>
    public async Task<CommandAnswer> SendAsync(Actor actor, string? bench, CommandEnvelope envelope)
    {
        var (command, provenance) = envelope;
        if (!CommandRights.May(actor, command, bench ?? ""))
            return NotAllowed(actor, command);
        // Not there yet, or not any more: what was reported is kept until somebody has seen to it.
        if (benches.Find(bench) is not { } runner)
            return CommandAnswer.Later(Say.Of(Words.BenchUnknown, bench), 0, UnknownBenchRetrySeconds);
        if (budget.Take(actor, (command as BenchCommand.Several)?.Reports.Count ?? 1) is { } seconds)
            return CommandAnswer.TooMuch(Say.Of(ScreensWords.TooMuch, seconds), seconds);
        var state = runner.Present.State;
        // An instruction is its person's own, now; a report of a colleague may arrive late, and is marked.
        if (command is BenchCommand.Instruction && provenance.Identity == Identity.NotChecked
            && CommandRights.Needed(command) != Right.Report)
            return CommandAnswer.Refuse(ScreensWords.NotYours, state.Revision);
        // A repeat is run from the lot of the first: where that must not be used any more, it is asked for anew.
        if (command is BenchCommand.OrderRepeat { Of: var of } && state.Find(of)?.Wanted.Request is { } first
            && StockStop.Of(clinic.Log.Stock, first.Lot, first.Assay, clock.Now.InZone(clinic.Facts.Zone).Date)
                is { } stop)
            return CommandAnswer.Refuse(Say.Of(ScreensWords.RepeatStopped, StockText.Of(stop)), state.Revision);
        envelope = envelope with
        {
            Command = second.Said((labels ?? LabelSettings.Usual).Said(command, state), actor, state.Id),
        };
        if (command is BenchCommand.CloseBatch)
            envelope = envelope with { Command = await carriedOver.WithLotsAsync(runner) };
        if (command is BenchCommand.TemperatureMeasured measured && late.Take(state, measured, provenance) is { } kept)
            return kept;
        var answer = await runner.SendAsync(envelope);
        // Of a batch that is closed by now: recorded against it, for a supervisor to decide on.
        // Several are all told or none: those of a closed batch are told one by one.
        if (answer.Kind == AnswerKinds.Refused && command is BenchCommand.Report report and not BenchCommand.Several)
            answer = late.Take(runner.Present.State, report, provenance) ?? answer;
        if (answer.Kind == AnswerKinds.Refused && command is BenchCommand.OfResult result)
            answer = late.OfClosed(runner.Present.State, result) ?? answer;
        if (answer.Recorded && command is BenchCommand.OrderRepeat { Of: var repeated })
            intake.NoteRepeat(runner, repeated, provenance);
        if (answer.Recorded && command is BenchCommand.CloseBatch)
            carriedOver.Note(runner, provenance);
        return answer;
    }

    /// <summary>
    /// A report is a fact: on a tablet it waits for somebody who may say it. An instruction, and whatever a program
    /// says, is refused.
    /// </summary>
    private static CommandAnswer NotAllowed(Actor actor, BenchCommand command)
    {
        var sentence = actor is Actor.Tablet ? Words.SignInToDirect : Words.NotAllowed;
        return command is BenchCommand.Report && actor is not Actor.Program
            ? CommandAnswer.AfterSignIn(sentence) : CommandAnswer.Refuse(sentence, 0);
    }
}
