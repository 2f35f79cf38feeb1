using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.People;
using Incubation.Records.Retention;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;

namespace Incubation.Service.Record;

/// <summary>Changes for how long the record is kept, and erases what may go, for administrators.</summary>
public sealed class RetentionService(RecordRetention retention, ClinicHost clinic, BenchRegistry benches,
    BenchClock clock) : IDisposable
{
    private readonly SemaphoreSlim oneAtATime = new(1);

    /// <summary>The retention in force, in months.</summary>
    public int Months => retention.Months;

    /// <summary>What would be erased now.</summary>
    public ErasurePlan Preview() => retention.Preview(clock.Now);

    /// <summary>Sets another retention.</summary>
    public Outcome Set(Actor actor, int months) =>
        !Access.May(actor, Right.Administer) ? new Outcome(Words.NotAllowed)
        : months == clinic.Log.People.RetentionMonths ? new Outcome(RecordWords.RetentionSame)
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.RetentionSet(months), Provenances.Of(actor, clock)));

    /// <summary>For how many days the messages of instruments are kept.</summary>
    public int WireDays => clinic.Log.Instruments.KeptDays;

    /// <summary>Keeps the messages of instruments for so many days from now on.</summary>
    public Outcome SetWireDays(Actor actor, int days) =>
        !Access.May(actor, Right.Administer) ? new Outcome(Words.NotAllowed)
        : days == WireDays ? new Outcome(RecordWords.RetentionSame)
        : Outcome.Of(() => clinic.Log.Record(new ClinicEvent.WireMessagesKept(days), Provenances.Of(actor, clock)));

    /// <summary>
    /// Erases what a preview showed, bench by bench. Where one of them cannot be erased, those before it are, and the
    /// outcome says both.
    /// </summary>
    public async Task<Outcome> EraseAsync(Actor actor, ErasurePlan shown)
    {
        ArgumentNullException.ThrowIfNull(shown);
        if (!Access.May(actor, Right.Administer))
            return new Outcome(Words.NotAllowed);
        await oneAtATime.WaitAsync();
        try
        {
            var done = 0;
            foreach (var line in shown.Benches)
            {
                if (await EraseAsync(actor, line) is { Fault: { } fault })
                    return new Outcome(done == 0
                        ? fault
                        : Say.Of(RecordWords.ErasePart, Say.Counted(done, RecordWords.BatchOne, RecordWords.BatchMany),
                            fault));
                done += line.Batches;
            }

            return Outcome.Done();
        }
        finally
        {
            oneAtATime.Release();
        }
    }

    /// <inheritdoc/>
    public void Dispose() => oneAtATime.Dispose();

    private async Task<Outcome> EraseAsync(Actor actor, ErasureLine line)
    {
        if (benches.Find(line.Bench.Value) is not { } runner)
            return new Outcome(Say.Of(Words.BenchUnknown, line.Bench));
        if (!await Task.Run(() => retention.MayErase(line, clock.Now)))
            return new Outcome(RecordWords.RetentionNotOver);
        // The bench's own stream has one writer, its runner: it says first what it knew.
        var kept = await runner.SendAsync(new BenchCommand.KeepCheckpoint(line.UpTo, line.Checkpoint),
            Provenances.Of(actor, clock));
        return kept.Recorded
            ? await Task.Run(() => Outcome.Of(() => retention.Erase(line, Provenances.Of(actor, clock))))
            : new Outcome(kept.Sentence);
    }
}
