using System.Diagnostics;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Backup;
using Incubation.Records.Batches;
using Incubation.Records.Integrity;
using Incubation.Records.Log;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.People;
using Incubation.Service.Text;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using NodaTime;

namespace Incubation.Service.Record;

/// <summary>How the last comparison of the tables with the record went.</summary>
/// <param name="At">When it ended.</param>
/// <param name="Verdict">What it found.</param>
/// <param name="Fault">Why it could not be done, in a sentence, or null.</param>
public sealed record TableComparison(Instant At, ProjectionVerdict Verdict, string? Fault);

/// <summary>
/// Compares the tables that are made from the log with a replay of it, soon after each start and once a day: in short
/// pieces, with a pause after each, so that reports, pages and the emptying of the write-ahead log go on. Erases what
/// upgrades and restores left and is older than it may be. Says what it finds in <c>/health/ready</c>.
/// </summary>
internal sealed class TableWatch(DataFile file, CartridgeProjection book, ClinicHost clinic, BenchClock clock,
    ILogger<TableWatch> logger) : BackgroundService, IHealthCheck
{
    /// <summary>First pages, reports, and the reading of the hashes come first.</summary>
    private static readonly TimeSpan Wait = TimeSpan.FromSeconds(30);

    private static readonly TimeSpan Day = TimeSpan.FromDays(1);

    /// <summary>It pauses so many times as long as it works: a fifth of one processor.</summary>
    private const int PauseFor = 4;

    private static readonly PersonId Itself = new("server");
    private static readonly DeviceId Through = new("server");
    private readonly Lock oneAtATime = new();
    private volatile TableComparison? last;

    /// <summary>The last comparison; null before the first.</summary>
    public TableComparison? Last => last;

    /// <summary>Compares now.</summary>
    /// <param name="pause">Is told how long the last piece took, and may wait.</param>
    /// <param name="stop">Ends it.</param>
    public void Compare(Action<TimeSpan>? pause = null, CancellationToken stop = default)
    {
        lock (oneAtATime)
        {
            var verdict = ProjectionVerdict.Empty;
            string? fault = null;
            try
            {
                var begun = Stopwatch.GetTimestamp();
                foreach (var _ in ProjectionCheck.InPieces(file, book, found => verdict = found))
                {
                    stop.ThrowIfCancellationRequested();
                    pause?.Invoke(Stopwatch.GetElapsedTime(begun));
                    begun = Stopwatch.GetTimestamp();
                }

                file.Log.RefuseCut();
            }
            catch (Exception broken) when (broken is LogBrokenException or UnreadableEventException or AppendException)
            {
                fault = broken.Message;
            }

            Note(new TableComparison(clock.Now, verdict, fault));
        }
    }

    /// <summary>Rebuilds what differs, and compares again.</summary>
    public ProjectionVerdict Rebuild(Provenance provenance)
    {
        lock (oneAtATime)
        {
            var (before, after) = ProjectionRebuild.Run(file, clinic.Log, book, provenance);
            Note(new TableComparison(clock.Now, after, null));
            return before;
        }
    }

    /// <summary>Erases the copies whose time is over.</summary>
    public void EraseCopies()
    {
        var erased = LeftCopies.EraseDue(file, clinic.Log,
            Provenances.Of(Itself, Through, clock));
        foreach (var copy in erased)
            logger.LogInformation("Erased {Copy}.", copy.Name);
    }

    public Task<HealthCheckResult> CheckHealthAsync(HealthCheckContext context,
        CancellationToken cancellationToken = default) =>
        Task.FromResult(Sentence() is { } sentence
            ? HealthCheckResult.Unhealthy(sentence) : HealthCheckResult.Healthy());

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await Task.Delay(Wait, stoppingToken);
            while (true)
            {
                await Task.Run(() => Once(stoppingToken), stoppingToken);
                await Task.Delay(Day, stoppingToken);
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops; the next start begins again.
        }
    }

    private void Once(CancellationToken stop)
    {
        try
        {
            Compare(worked => stop.WaitHandle.WaitOne(worked * PauseFor), stop);
            EraseCopies();
        }
        catch (Exception fault) when (fault is not (OutOfMemoryException or OperationCanceledException))
        {
            logger.LogError(fault, "The tables could not be compared with the record.");
            Note(new TableComparison(clock.Now, ProjectionVerdict.Empty, RecordWords.TablesNotCompared));
        }
    }

    private void Note(TableComparison comparison)
    {
        last = comparison;
        if (Sentence() is { } sentence)
            logger.LogCritical("{Sentence}", sentence);
        // A row names a cartridge, its values a patient: neither stands here.
        foreach (var table in comparison.Verdict.Tables)
            logger.LogCritical("The table {Table} differs from the record.", table);
    }

    /// <summary>What is wrong, without what a patient's record says; null where nothing is.</summary>
    private string? Sentence() => last is { Fault: { } fault } ? fault
        : last is { Verdict.NotReplayed: [var stream, ..] } ? Say.Of(RecordWords.TablesNotReplayed, stream)
        : last is { Verdict: { Count: > 0 } verdict }
            ? Say.Of(RecordWords.TablesDiffer, string.Join(", ", verdict.Tables))
        : book.Noticed.Count > 0
            ? Say.Of(RecordWords.TablesDiffer, string.Join(", ", book.Noticed.Select(one => one.Table).Distinct()))
        : null;
}
