using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Record;

/// <summary>Why an export must not begin.</summary>
/// <param name="Sentence">Why.</param>
/// <param name="RetryAfter">Where it is one too many: the seconds until there is room for it; else null.</param>
public sealed record ExportRefusal(string Sentence, int? RetryAfter);

/// <summary>
/// Who took named records out, and who looked at them (45 CFR 164.312(b)): each export is an event of the clinic's
/// stream; looks are one for a person and record in a day, so that a page that is loaded again writes nothing.
/// </summary>
public sealed partial class AccessLog(ClinicHost clinic, BenchClock clock, WriteBudget budget,
    ILogger<AccessLog> logger)
{
    /// <summary>So many looks of one person stand in the log in a day: that is enough to see it by.</summary>
    public const int MaxLooksADay = 500;

    /// <summary>So far back today's looks are searched after a start.</summary>
    private const int MaxRead = 5000;

    private readonly Lock one = new();
    private readonly Dictionary<PersonId, HashSet<ClinicEvent.RecordSeen>> seen = [];
    private LocalDate? day;

    /// <summary>Records an export before it begins, out of what its sender may have recorded.</summary>
    /// <returns>Why it must not begin, or null.</returns>
    public ExportRefusal? Exported(Actor actor, string what) =>
        budget.Take(actor) is { } seconds
            ? new ExportRefusal(Say.Of(RecordWords.ExportTooMuch, seconds), seconds)
            : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.RecordExported(what), Provenances.Of(actor, clock)))
                .IsDone ? null : new ExportRefusal(RecordWords.ExportNotRecorded, null);

    /// <summary>Notes that somebody looks at a record; what cannot be written keeps nobody from looking.</summary>
    /// <param name="actor">Who; null where nobody is there any more.</param>
    /// <param name="bench">Which bench; null for the list of cartridges of all.</param>
    /// <param name="batch">Which batch; null for the list, or the bench's log.</param>
    public void Seen(Actor? actor, BenchId? bench, int? batch)
    {
        if (actor is null || !clinic.Log.IsOpen)
            return;
        lock (one)
        {
            Begin(clock.Now.InUtc().Date);
            var looked = new ClinicEvent.RecordSeen(bench, batch);
            var own = Of(actor.InLog);
            if (own.Contains(looked) || own.Count >= MaxLooksADay)
                return;
            if (Outcome.Of(() => clinic.Log.Record(looked, Provenances.Of(actor, clock))).Fault is { } fault)
                NotWritten(fault);
            else
                own.Add(looked);
        }
    }

    private HashSet<ClinicEvent.RecordSeen> Of(PersonId person) =>
        seen.TryGetValue(person, out var own) ? own : seen[person] = [];

    private void Begin(LocalDate today)
    {
        if (day == today)
            return;
        day = today;
        seen.Clear();
        foreach (var entry in clinic.Log.Entries(Math.Max(0, clinic.Log.Revision - MaxRead)))
            if (entry.Event is ClinicEvent.RecordSeen looked && entry.Provenance.At.InUtc().Date == today)
                Of(entry.Provenance.Person).Add(looked);
    }

    [LoggerMessage(LogLevel.Warning, "That somebody looked at a record could not be written: {Fault}")]
    private partial void NotWritten(string fault);
}
