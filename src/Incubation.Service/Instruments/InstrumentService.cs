using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Clinic.People;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Instruments;

/// <summary>A message as the page of instruments shows it.</summary>
/// <param name="Message">What the log says of it.</param>
/// <param name="Read">What it says; null where nothing can be read of it.</param>
/// <param name="Verdicts">What became of each of its results, in a sentence; of the message where it has none.</param>
public sealed record MessageLine(WireMessage Message, ReaderMessage? Read, IReadOnlyList<string> Verdicts);

/// <summary>
/// Links to instruments: set and ended by supervisors, shown with their state and their last messages.
/// </summary>
public sealed class InstrumentService(ClinicHost clinic, BenchRegistry benches, WireJudge judge, LineBook book,
    BenchClock clock)
{
    /// <summary>So many messages of an instrument are shown, the last first.</summary>
    public const int MaxShown = 20;

    /// <summary>So many results of a message are shown.</summary>
    private const int MaxResults = 12;

    /// <summary>Those in use, in the order in which they were set up.</summary>
    public IReadOnlyList<Instrument> InUse => [.. clinic.Log.Instruments.InUse];

    /// <summary>An instrument in use, or null.</summary>
    public Instrument? Find(string? id) => TextId.IsValid(id)
        && clinic.Log.Instruments.Find(new InstrumentId(id!)) is { HasEnded: false } one ? one : null;

    /// <summary>What is known of an instrument's line since the server started.</summary>
    public LineFigures FiguresOf(InstrumentId id) => book.Of(id);

    /// <summary>An instrument's last messages, the last first.</summary>
    public IReadOnlyList<MessageLine> LastOf(InstrumentId id) =>
    [
        .. clinic.Log.Instruments.Messages.Values.Reverse().Where(one => one.Instrument == id).Take(MaxShown)
            .Select(one => (Message: one, Read: judge.Read(one)))
            .Select(one => new MessageLine(one.Message, one.Read, Verdicts(one.Message, one.Read))),
    ];

    /// <summary>Sets an instrument up, or changes it.</summary>
    /// <param name="actor">Who.</param>
    /// <param name="id">Which; null for a new one.</param>
    /// <param name="form">What was filled in.</param>
    /// <returns>What is wrong, by member; empty where it is done.</returns>
    public IReadOnlyList<FormFault> Set(Actor? actor, InstrumentId? id, InstrumentForm form)
    {
        ArgumentNullException.ThrowIfNull(form);
        if (!Access.May(actor, Right.Supervise))
            return [new FormFault("", Words.NotAllowed)];
        var (link, faults) = form.Read(bench => benches.Find(bench)?.Present.State.Setup.Readers,
            assay => clinic.Log.Assays.VersionsOf(assay) > 0);
        if (link is null)
            return faults;
        var outcome = Outcome.Of(() => clinic.Log.Record(new ClinicEvent.InstrumentSet(
            id ?? Instrument.IdOf(clinic.Log.Instruments.All.Count + 1), link), Provenances.Of(actor!, clock)));
        return outcome.IsDone ? [] : [new FormFault("", outcome.Fault!)];
    }

    /// <summary>Ends an instrument: nothing is taken from it any more.</summary>
    public Outcome End(Actor? actor, InstrumentId id, string? why) =>
        !Access.May(actor, Right.Supervise) ? new Outcome(Words.NotAllowed)
        : string.IsNullOrWhiteSpace(why) || !Bounds.IsWords(why.Trim()) ? new Outcome(StockWords.WhyMissing)
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.InstrumentEnded(id, why.Trim()),
            Provenances.Of(actor!, clock)));

    private List<string> Verdicts(WireMessage message, ReaderMessage? read)
    {
        if (message.Fates is not { } fates)
            return [InstrumentWords.NotJudged];
        if (fates.IsEmpty)
            return [InstrumentWords.NoResults];
        var lines = fates.Take(MaxResults).Select(fate => Say.Dotted(
            read?.Results.ElementAtOrDefault(fate.Result - 1) is { } result && fate.Result > 0
                ? WireText.Of(result) : null, message.Settled.TryGetValue(fate.Result, out var settled)
                ? WireText.Of(settled, Names.Of(settled.By, clinic.Log.People)) : WireText.Of(fate))).ToList();
        if (fates.Length > MaxResults)
            lines.Add(Say.Of(InstrumentWords.MoreResults, fates.Length - MaxResults));
        return lines;
    }
}
