using System.Globalization;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Clinic;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using NodaTime;

namespace Incubation.Service.Instruments;

/// <summary>
/// Says what becomes of the results of messages that were taken: entered through the same command as a typed one where
/// <see cref="ReaderMatching"/> finds the one cartridge that can be meant, else asked. It can be cut short anywhere:
/// what was entered is found entered, and nothing is entered twice.
/// </summary>
public sealed class WireJudge(ClinicHost clinic, WireRights rights, BenchRegistry benches, BenchClock clock,
    ClosedMatching closed) : IDisposable
{
    /// <summary>More results than a reader measures in days: a message with more is a question as a whole.</summary>
    public const int MaxResults = 1000;

    /// <summary>A bench that has changed while a result was on its way is looked at again, so often.</summary>
    private const int MostLooks = 3;

    private readonly SemaphoreSlim oneAtATime = new(1);

    /// <summary>Judges every message of which nothing is decided.</summary>
    /// <returns>Whether all of them are; false where something passing was in the way.</returns>
    /// <exception cref="Records.Log.AppendException">The log could not be written.</exception>
    public async Task<bool> JudgeAllAsync()
    {
        await oneAtATime.WaitAsync();
        try
        {
            while (clinic.Log.Instruments.Unjudged.FirstOrDefault() is { } message)
            {
                if (await FatesOfAsync(message) is not { } fates)
                    return false;
                Record(message.Instrument, new ClinicEvent.WireMessageJudged(message.Number, [.. fates]));
                SettleAnswered(message.Instrument);
                ShowOn(message.Instrument);
            }

            return true;
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    /// <summary>
    /// Matches what waits for a person again, after something was put right: enters it where one cartridge alone can be
    /// meant by now.
    /// </summary>
    /// <returns>What became of it; null where it does not wait any more, or something passing was in the way.</returns>
    public async Task<WireFate?> MatchAgainAsync(long message, int result)
    {
        await oneAtATime.WaitAsync();
        try
        {
            return clinic.Log.Instruments.QuestionOf(message, result) is { } question
                && Read(question.Message) is { } read && result >= 1 && result <= read.Results.Length
                ? await FateOfAsync(question.Message, read, result) : null;
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    /// <summary>The message, as its instrument's settings have it now; null where nothing can be read of it.</summary>
    public ReaderMessage? Read(WireMessage message) => rights.Read(message);

    /// <summary>The screens of an instrument's bench show how much waits for a person.</summary>
    internal void ShowOn(InstrumentId instrument)
    {
        if (clinic.Log.Instruments.Find(instrument) is { Link.Bench: var bench })
            benches.Find(bench.Value)?.LookAgain();
    }

    /// <inheritdoc/>
    public void Dispose() => oneAtATime.Dispose();

    private async Task<IReadOnlyList<WireFate>?> FatesOfAsync(WireMessage message)
    {
        if (Read(message) is not { } read || read.Results.Length > MaxResults
            || (read.Results.IsEmpty && !read.Faults.IsEmpty))
            return [new WireFate(WireFate.WholeMessage, WireVerdict.Asked, MatchQuestion.NotUnderstood)];
        if (clinic.Log.Instruments.Find(message.Instrument) is not { HasEnded: false, Link.OnlyListens: false })
            return [.. read.Results.Select((_, at) => new WireFate(at + 1, WireVerdict.Shown))];
        var fates = new List<WireFate>();
        for (var result = 1; result <= read.Results.Length; result++)
        {
            if (await FateOfAsync(message, read, result) is not { } fate)
                return null;
            fates.Add(fate);
        }

        return fates;
    }

    /// <summary>What becomes of a result; null where something passing is in the way.</summary>
    private async Task<WireFate?> FateOfAsync(WireMessage message, ReaderMessage read, int result)
    {
        var link = clinic.Log.Instruments.Find(message.Instrument)!.Link;
        if (benches.Find(link.Bench.Value) is not { } runner)
            return null;
        var wired = WiredResults.Of(read, clinic.Log.Instruments.AheadBy(message.Instrument)).ElementAt(result - 1);
        for (var looks = 0; looks < MostLooks; looks++)
        {
            var (fate, report) = Matched(message, link, runner, wired, read.Results[result - 1], result);
            if (report is null)
                return fate.Question is MatchQuestion.OtherSpecimen && fate.Request is null
                    ? await closed.FateOfAsync(message, link, wired, result) ?? fate : fate;
            var answer = await runner.SendAsync(report, Provenances.Of(By(message.Instrument), On(message.Instrument),
                clock) with
            { Id = new ReportId(string.Create(CultureInfo.InvariantCulture, $"wire.{message.Number}.{result}")) });
            if (answer.Kind == AnswerKinds.Recorded)
                return fate;
            if (answer.Kind == AnswerKinds.NotNow)
                return null;
            // The bench has changed meanwhile: it is looked at once more.
        }

        return new WireFate(result, WireVerdict.Asked, MatchQuestion.NotTaken, Matched(message, link, runner, wired,
            read.Results[result - 1], result).Fate.Request);
    }

    /// <summary>What the bench as it is makes of a result, and what is to be said to it, if anything.</summary>
    private (WireFate Fate, BenchCommand? Report) Matched(WireMessage message, InstrumentLink link,
        BenchRunner runner, WiredResult wired, ReaderResult said, int result)
    {
        var state = runner.Present.State;
        WireFate Asked(MatchQuestion why, RequestId? request) => new(result, WireVerdict.Asked, why, request);
        return ReaderMatching.Of(state, link.Reader, link.Tests, wired) switch
        {
            ResultMatch.Enter { Report: var report } when MayBeAgain(message, said) =>
                (Asked(MatchQuestion.SentBefore, report.Request), null),
            ResultMatch.Enter { Report: var report } => (new WireFate(result, WireVerdict.Entered, null, report.Request,
                AheadOf(state, report, said)), report),
            ResultMatch.Same { Request: var request, Waits: var waits } => (new WireFate(result,
                waits ? WireVerdict.Proposed
                    : IsOurs(state, request, message) ? WireVerdict.Entered : WireVerdict.AlreadyThere,
                null, request), null),
            ResultMatch.Propose { Report: var report } =>
                (new WireFate(result, WireVerdict.Proposed, null, report.Request), report),
            ResultMatch.Ask { Why: var why, Request: var request } => (Asked(why, request), null),
            ResultMatch.UnknownTest => (Asked(MatchQuestion.UnknownTest, null), null),
            _ => throw new InvalidOperationException("A result is entered, there already, or asked about."),
        };
    }

    /// <summary>Whether nothing tells a result from one that the same words were said of before.</summary>
    /// <remarks>Its specimen does not, where it was entered and the specimen is run again.</remarks>
    private bool MayBeAgain(WireMessage message, ReaderResult said) => said.ReadAt is null
        && clinic.Log.Instruments.Alike(message.Instrument, message.Body).Any(one => one.Number < message.Number
            && (said.Specimen is null || one.Fates?.Any(fate => fate.Verdict == WireVerdict.Entered) == true));

    /// <summary>Whether a result was entered by this message, in a run of this that was cut short.</summary>
    private bool IsOurs(BenchState state, RequestId request, WireMessage message) =>
        state.Find(request)?.Status is { } status && status.EnteredBy == By(message.Instrument)
        && status.EnteredAt >= message.At && !clinic.Log.Instruments.Messages.Values.Any(one => one.Fates is { } fates
            && fates.Any(fate => fate.Verdict == WireVerdict.Entered && fate.Request == request));

    /// <summary>How far the reader's clock is ahead, where its specimen alone said whose the result is.</summary>
    private static Duration? AheadOf(BenchState state, BenchCommand.ResultEntered report, ReaderResult said) =>
        said is { Specimen: not null, ReadAt.At: var at } && at.Earliest == at.Latest
        && ReaderMatching.ReadEndOf(state, report.Request) is { } end ? at.Earliest - end : null;

    /// <summary>
    /// What waits for a person is answered where its cartridge has that very result by now: a message that was cut came
    /// again and whole, or somebody typed it.
    /// </summary>
    private void SettleAnswered(InstrumentId instrument)
    {
        foreach (var question in clinic.Log.Instruments.Questions.Where(one => one.Message.Instrument == instrument
            && !one.Message.IsWhole && one.Fate.Result != WireFate.WholeMessage).ToList())
            if (Read(question.Message) is { } read
                && clinic.Log.Instruments.Find(instrument) is { Link: var link }
                && benches.Find(link.Bench.Value) is { } runner
                && ReaderMatching.Of(runner.Present.State, link.Reader, link.Tests, WiredResults.Of(read, null)
                    .ElementAt(question.Fate.Result - 1)) is ResultMatch.Same { Waits: false, Request: var request })
                Record(instrument, new ClinicEvent.WireQuestionSettled(question.Message.Number, question.Fate.Result,
                    WireSettling.Matched, request, ""));
    }

    private void Record(InstrumentId instrument, ClinicEvent happened)
    {
        if (clinic.Log.Record(happened, Provenances.Of(By(instrument), On(instrument), clock))
            is ClinicOutcome.Refused refused)
            throw new InvalidOperationException($"The fate of a message was refused: {refused.Why} {refused.Detail}");
    }

    internal static PersonId By(InstrumentId instrument) => new(instrument.Value);

    internal static DeviceId On(InstrumentId instrument) => new(instrument.Value);
}
