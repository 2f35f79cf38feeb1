using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Instruments;
using Incubation.Records.Log;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Screens;
using Incubation.Service.Text;

namespace Incubation.Service.Instruments;

/// <summary>A result by wire that waits for a person.</summary>
/// <param name="Question">What is asked.</param>
/// <param name="Instrument">Who sent it.</param>
/// <param name="Result">What it says; null where nothing can be read of it.</param>
/// <param name="Shown">Its value as it would be entered; null where it could be read in more than one way.</param>
/// <param name="Choices">The cartridges for which it can be entered: those of its bench and its assay that have no
/// result.</param>
public sealed record InboxLine(WireQuestion Question, Instrument Instrument, ReaderResult? Result, ShownResult? Shown,
    IReadOnlyList<FieldChoice> Choices)
{
    /// <summary>Why it can be entered for none, and what to do, in a sentence; null where it can.</summary>
    public string? Bar { get; init; }

    /// <summary>Orders and results of a message that cannot be understood, as they came: no patient's record.</summary>
    public IReadOnlyList<string> Raw { get; init; } = [];

    /// <summary>What it takes to enter it.</summary>
    public Right ToEnter { get; init; } = Right.Direct;

    /// <summary>What it takes to put it aside.</summary>
    public Right ToPutAside { get; init; } = Right.Direct;

    /// <summary>Names it on its page.</summary>
    public string Key => $"{Question.Message.Number}-{Question.Fate.Result}";
}

/// <summary>Results by wire that a person must say something about: nothing leaves this list but by one.</summary>
public sealed class WireInbox(ClinicHost clinic, BenchRegistry benches, WireJudge judge, WireRights rights,
    WireStore store, BenchService desk, BenchClock clock)
{
    /// <summary>So many records of a message that cannot be understood are shown.</summary>
    private const int MaxRaw = 8;

    /// <summary>So many stand on a page; the others come up as these are decided.</summary>
    public const int MaxShown = 50;

    /// <summary>How many wait, of a bench or of all.</summary>
    public int Count(BenchId? bench = null) => clinic.Log.Instruments.Questions
        .Count(one => bench is null || BenchOf(one) == bench);

    /// <summary>What waits and an actor may see, oldest first.</summary>
    public IReadOnlyList<InboxLine> For(Actor? actor) =>
        [.. clinic.Log.Instruments.Questions.Where(one => Access.May(actor, Right.SeeNamed, BenchOf(one).Value))
            .Take(MaxShown).Select(LineOf)];

    /// <summary>Enters a result for the cartridge that a person chose, as that person's.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="message">Its message.</param>
    /// <param name="result">Which of its results.</param>
    /// <param name="request">The cartridge.</param>
    /// <param name="why">Why, in words.</param>
    public async Task<Outcome> EnterAsync(Actor? actor, long message, int result, string? request, string? why)
    {
        if (Fault(actor, message, result, out var question) is { } fault)
            return fault;
        if (!AreWords(why))
            return new Outcome(StockWords.WhyMissing);
        var line = LineOf(question!);
        if (!Access.May(actor, line.ToEnter, line.Instrument.Link.Bench.Value))
            return new Outcome(InstrumentWords.EnterNeedsSupervisor);
        if (line.Bar is { } bar)
            return new Outcome(bar);
        if (line is not { Shown: { } shown, Result: { } said }
            || line.Choices.FirstOrDefault(choice => choice.Value == request) is not { Value: { } chosen })
            return new Outcome(InstrumentWords.ChooseCartridge);
        // What the reader named stays what it named: one that is another's specimen is held for it.
        var answer = await desk.SendAsync(actor!, line.Instrument.Link.Bench.Value, new CommandEnvelope(
            new BenchCommand.ResultEntered(new RequestId(chosen), shown, new ShownIdentity(said.Specimen))
            {
                OnlyFirst = true,
            }, Provenances.Of(actor!, clock)));
        return answer.Recorded
            ? Settle(actor!, question!, WireSettling.Entered, new RequestId(chosen), why!.Trim())
            : new Outcome(answer.Sentence);
    }

    /// <summary>Puts a result aside: nothing is entered.</summary>
    public Outcome PutAside(Actor? actor, long message, int result, string? why) =>
        Fault(actor, message, result, out var question)
        ?? (!Access.May(actor, rights.ToPutAside(question!), BenchOf(question!).Value)
            ? new Outcome(InstrumentWords.AsideNeedsSupervisor)
            : AreWords(why) ? Settle(actor!, question!, WireSettling.Aside, null, why!.Trim())
            : new Outcome(StockWords.WhyMissing));

    /// <summary>
    /// Matches a result again, after something was put right: another table, a report that came late.
    /// </summary>
    public async Task<Outcome> MatchAgainAsync(Actor? actor, long message, int result)
    {
        if (Fault(actor, message, result, out var question) is { } fault)
            return fault;
        try
        {
            return await judge.MatchAgainAsync(message, result) switch
            {
                null => new Outcome(Words.CommandFailed),
                {
                    Verdict: WireVerdict.Entered or WireVerdict.AlreadyThere or WireVerdict.Proposed,
                    Request: { } request
                } =>
                    Settle(actor!, question!, WireSettling.Matched, request, ""),
                var still => new Outcome(Say.Of(InstrumentWords.StillAsked, WireText.Of(still.Question!.Value))),
            };
        }
        catch (AppendException unwritable)
        {
            return new Outcome(unwritable.Message);
        }
    }

    private Outcome? Fault(Actor? actor, long message, int result, out WireQuestion? question)
    {
        question = clinic.Log.Instruments.QuestionOf(message, result);
        return question is null ? new Outcome(InstrumentWords.QuestionGone)
            : !Access.May(actor, Right.Direct, BenchOf(question).Value) ? new Outcome(Words.NotAllowed) : null;
    }

    private Outcome Settle(Actor actor, WireQuestion question, WireSettling settling, RequestId? request, string why)
    {
        var outcome = Outcome.Of(() => clinic.Log.Record(new ClinicEvent.WireQuestionSettled(question.Message.Number,
            question.Fate.Result, settling, request, why), Provenances.Of(actor, clock)));
        judge.ShowOn(question.Message.Instrument);
        return outcome;
    }

    private InboxLine LineOf(WireQuestion question)
    {
        var instrument = clinic.Log.Instruments.Find(question.Message.Instrument)!;
        var read = judge.Read(question.Message);
        var result = question.Fate.Result > WireFate.WholeMessage
            ? read?.Results.ElementAtOrDefault(question.Fate.Result - 1) : null;
        var wired = result is null ? null : WiredResults.Of(read!, null).ElementAt(question.Fate.Result - 1);
        var (assay, bar) = wired is null ? default : AssayOf(instrument.Link, wired);
        var choices = assay is { } of ? ChoicesOn(instrument.Link.Bench, of) : [];
        return new InboxLine(question, instrument, result, wired?.Shown, choices)
        {
            Bar = bar ?? (assay is { } none && choices.Count == 0 ? Say.Of(InstrumentWords.BarCartridge, none) : null),
            Raw = wired is null && store.Find(question.Message.Number) is { } bytes
                ? LisReader.Glance(bytes, instrument.Link.Encoding.InLis(), "OR", MaxRaw) : [],
            ToEnter = rights.ToEnter(question),
            ToPutAside = rights.ToPutAside(question),
        };
    }

    /// <summary>
    /// Of which assay's cartridges alone a result can be, and why of none: a number of another test or in another unit
    /// would be another value.
    /// </summary>
    private static (AssayCode? Assay, string? Bar) AssayOf(InstrumentLink link, WiredResult wired) =>
        wired.Shown is null ? (null, InstrumentWords.BarValue)
        : ReaderMatching.TestOf(link.Tests, wired.Test) is not { } test
            ? (null, Say.Of(InstrumentWords.BarTest, wired.Test))
        : !ReaderMatching.IsOfUnit(wired, test)
            ? (null, Say.Of(InstrumentWords.BarUnit, UnitOf(wired.Unit), UnitOf(test.Unit)))
        : (test.Assay, null);

    private static string UnitOf(string unit) =>
        unit.Trim() is { Length: > 0 } words ? words : InstrumentWords.BarNoUnit;

    private IReadOnlyList<FieldChoice> ChoicesOn(BenchId bench, AssayCode assay) =>
        [.. (benches.Find(bench.Value)?.Present.State.Cartridges ?? [])
            .Where(one => one.Wanted.Request.Assay == assay && one.Result is null && one.MustGo is null
                && (one.Stage is CartridgeStage.Cleared || one.Phase?.FindReader() is not null))
            .Select(one => new FieldChoice(one.Id.Value,
                Say.Dotted(one.Id.Value, one.Wanted.Request.Specimen.Value, one.Wanted.Assay.Name)))];

    private BenchId BenchOf(WireQuestion question) =>
        clinic.Log.Instruments.Find(question.Message.Instrument)!.Link.Bench;

    private static bool AreWords(string? why) => !string.IsNullOrWhiteSpace(why) && Bounds.IsWords(why.Trim());
}
