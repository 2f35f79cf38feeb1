using System.Globalization;
using Incubation.Model;
using Incubation.Records.Reports;
using Incubation.Service.Benches;
using Incubation.Service.Text;
using Incubation.Service.WhatIf;
using Incubation.Simulation.Capacity;
using NodaTime.Text;

namespace Incubation.Server.Pages.WhatIf;

/// <summary>
/// What a bench could do: a form, days played in the background, what they come to. Stops with its page.
/// </summary>
public sealed partial class WhatIfPage
{
    /// <summary>The same question always has the same answer.</summary>
    private const ulong Seed = 1;

    private readonly WhatIfForm form = new();
    private IReadOnlyList<Assay> assays = [];
    private IReadOnlyList<FormFault> faults = [];
    private BenchRunner? bench;
    private CancellationTokenSource? running;
    private CapacityAnswer? answer;
    private PastRecord? past;
    private bool interrupted;
    private StudyOrder? order;
    private int percent;
    private string? trouble;
    private string? news;

    private bool IsRunning => running is not null;

    private static IReadOnlyList<FieldChoice> DayChoices =>
        [new("40", WhatIfPageWords.DaysFew), new("200", WhatIfPageWords.DaysSome),
            new("1000", WhatIfPageWords.DaysMany)];

    private IReadOnlyList<FieldChoice> BenchChoices =>
        [.. Benches.All.Select(known => new FieldChoice(known.Id.Value, known.Present.State.Name))];

    /// <inheritdoc/>
    protected override void OnInitialized()
    {
        assays = [.. Clinic.Catalogue.Assays().Select(known => known.Assay)];
        // The four weeks before today are at hand.
        var today = Clock.Now.InZone(Clinic.Facts.Zone).Date;
        (form.From, form.To) = (Say.Day(today.PlusDays(-28)), Say.Day(today.PlusDays(-1)));
        Choose(Benches.All is [var first, ..] ? first.Id.Value : null);
    }

    /// <inheritdoc/>
    public void Dispose() => running?.Cancel();

    private void Choose(string? id)
    {
        bench = Benches.Find(id);
        if (bench is not null)
            form.Take(bench.Present.State.Setup);
        past = null;
    }

    private string? FaultOf(string member) => faults.FirstOrDefault(fault => fault.Member == member)?.Sentence;

    private static string HourOf(int hour) => string.Create(CultureInfo.InvariantCulture, $"{hour:00}:00");

    private void TakePast()
    {
        (trouble, news) = (null, null);
        faults = form.Take(Clinic.Catalogue.Requests(bench!.Id), Clinic.Facts.Zone) is { } fault ? [fault] : [];
        news = faults.Count == 0 ? WhatIfPageWords.PastTaken + " " + form.Basis : null;
        if (faults.Count > 0)
            return;
        var zone = Clinic.Facts.Zone;
        var (from, to) = (LocalDatePattern.Iso.Parse(form.From!).Value, LocalDatePattern.Iso.Parse(form.To!).Value);
        past = PastRecord.Of(Times.Cartridges(new ReportScope(from.AtStartOfDayInZone(zone).ToInstant(),
            to.PlusDays(1).AtStartOfDayInZone(zone).ToInstant(), bench.Id)), from, to,
            code => assays.FirstOrDefault(assay => assay.Code == code));
    }

    private void Cancel() => running?.Cancel();

    private async Task RunAsync()
    {
        if (IsRunning)
            return;
        (trouble, news, answer, percent) = (null, null, null, 0);
        (faults, var question, order) = form.Read(assays, bench!.Present.State.Setup.ReadGuard, Seed);
        if (question is null)
        {
            trouble = WhatIfPageWords.LookAtForm;
            return;
        }

        if (interrupted && past?.Interruptions is { } lengths)
            question = question with { Times = lengths };
        using var stop = running = new CancellationTokenSource();
        try
        {
            answer = await Studies.AnswerAsync(question, order!, Tell, stop.Token);
            news = WhatIfPageWords.Done;
        }
        catch (OperationCanceledException)
        {
            news = WhatIfPageWords.Cancelled;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            Logger.LogError(fault, "A question of what a bench could do was not answered.");
            trouble = WhatIfPageWords.Failed;
        }
        finally
        {
            running = null;
        }
    }

    /// <summary>From any thread, and often: the page hears of whole percents alone.</summary>
    private void Tell(double part)
    {
        var now = (int)(part * 100);
        var before = Volatile.Read(ref percent);
        if (now > before && Interlocked.CompareExchange(ref percent, now, before) == before)
            _ = InvokeAsync(StateHasChanged);
    }
}
