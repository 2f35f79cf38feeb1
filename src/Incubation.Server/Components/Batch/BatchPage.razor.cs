using Incubation.Model;
using Incubation.Server.Api;
using Incubation.Server.Components.Parts;
using Incubation.Server.Live;
using Incubation.Server.People;
using Microsoft.AspNetCore.Components;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Server.Components.Batch;

/// <summary>The batch of a bench: its requests, its plan, its start, its results, its end.</summary>
public sealed partial class BatchPage
{
    private BenchRunner? runner;
    private BenchView? view;
    private BenchSummary? summary;
    private string? trouble;
    private string? news;
    private bool busy;
    private bool unheard;
    private bool mayRelease;
    private bool mayReadRecord;
    private int? closed;
    private RequestId? toWithdraw;
    private ConfirmDialog? confirmStart;
    private ConfirmDialog? confirmWithdraw;
    private ConfirmDialog? confirmClose;

    /// <summary>Id of the bench.</summary>
    [Parameter] public string Bench { get; set; } = "";

    private DateTimeZone Zone => Clinic.Facts.Zone;

    private bool MayClose => view is { } now && IdleWords.IsFinished(now.State) && now.Look.Totals.ResultsMissing == 0 && !now.State.Cartridges.Any(cartridge => cartridge.MustBeTold);

    /// <inheritdoc/>
    protected override void OnParametersSet()
    {
        if (runner?.Id.Value == Bench)
            return;
        Leave();
        runner = Benches.Find(Bench);
        if (runner is null)
        {
            view = null;
            Navigation.NotFound();
            return;
        }

        Take(runner.Present);
        if (RendererInfo.IsInteractive)
            runner.Changed += Refresh;
    }

    /// <inheritdoc/>
    protected override async Task OnParametersSetAsync()
    {
        var actor = await Current.GetAsync();
        (mayRelease, mayReadRecord) = (Access.May(actor, Right.Supervise, Bench), Access.May(actor, Right.Direct, Bench));
    }

    /// <inheritdoc/>
    public void Dispose() => Leave();

    private void Leave()
    {
        if (runner is not null)
            runner.Changed -= Refresh;
    }

    private void Refresh(BenchView changed) => _ = InvokeAsync(async () =>
    {
        // Nothing is sent to a screen whose sign-in or device has come to its end, whatever it still shows.
        if (!Access.May(await Current.GetAsync(), Right.Look, Bench))
            return;
        Take(changed);
        StateHasChanged();
    });

    private void Take(BenchView changed)
    {
        view = changed;
        summary = Desk.Summaries().First(bench => bench.Id == Bench);
    }

    private async Task AskStartAsync()
    {
        unheard = runner is { } bench && !Screens.IsHeard(bench.Id);
        if (unheard || view?.State.Adopted is { Plan.Unplaced.Count: > 0 })
            confirmStart!.Open();
        else
            await StartAsync();
    }

    private Task StartAsync() => SendAsync(Command("start-batch"), Words.BatchStarted);

    private async Task CloseAsync()
    {
        var batch = view?.State.Batch;
        if (await SendAsync(Command("close-batch"), Words.BatchClosed))
            closed = batch;
    }

    private void AskWithdraw(RequestId request)
    {
        toWithdraw = request;
        confirmWithdraw!.Open();
    }

    private Task WithdrawAsync() => toWithdraw is { } request
        ? SendAsync(Command("withdraw") with { Request = request.Value }, Say.Of(Words.Withdrawn, request))
        : Task.CompletedTask;

    private Task RepeatAsync(RequestId request) =>
        SendAsync(Command("repeat") with { Request = request.Value }, Say.Of(Words.RepeatOrdered, request));

    private async Task<bool> EnterResultAsync(ResultEntry entry) => await SendAsync(
        Command("result") with { Request = entry.Request.Value, Value = entry.Value, NoValue = entry.NoValue, Shown = entry.Shown },
        Say.Of(Words.ResultSaved, entry.Specimen));

    private Task<bool> RejectAsync(string specimen, string assay, string why) =>
        SendAsync(Command("reject-specimen") with { Shown = specimen, Assay = assay, Words = why }, Say.Of(Words.Rejected, specimen));

    private Task<bool> ConfirmReadyAsync(ReadyWord word) => SendAsync(
        Command(word.Celsius is null ? "confirm-ready" : "temperature") with
        {
            At = InstantPattern.ExtendedIso.Format(word.At ?? Clock.Now),
            Stated = word.At is not null,
            Lot = word.Lot,
            Reader = word.Reader,
            Celsius = word.Celsius,
        },
        ReadinessWords.Done);

    private Task<bool> ChangeResultAsync(ResultChange change) => SendAsync(
        Command(change.Kind) with { Request = change.Request.Value, Value = change.Value, NoValue = change.NoValue, Words = change.Words, ReadBack = change.ReadBack },
        Say.Of(ResultWords.Done, change.Specimen));

    /// <summary>Sends a command; whatever goes wrong is said on the page.</summary>
    private async Task<bool> SendAsync(ScreenCommand command, string done)
    {
        busy = true;
        (trouble, news, closed) = (null, null, null);
        try
        {
            var answer = await Desk.SendAsync(await Current.GetAsync(), Bench, command);
            trouble = answer.Recorded ? null : answer.Sentence;
            news = answer.Recorded ? done : null;
            return answer.Recorded;
        }
        catch (Exception fault) when (fault is not OutOfMemoryException)
        {
            Logger.LogError(fault, "The batch page of {Bench} could not send {Kind}.", Bench, command.Kind);
            trouble = Words.CommandFailed;
            return false;
        }
        finally
        {
            busy = false;
        }
    }

    private void Tell(string sentence) => (trouble, news, closed) = (null, sentence, null);

    private ScreenCommand Command(string kind) => new(
        Guid.CreateVersion7().ToString("N"), kind, InstantPattern.ExtendedIso.Format(Clock.Now), false, "batch-page",
        null, null, null, null, null, null, null, null, null, null, null, null);
}
