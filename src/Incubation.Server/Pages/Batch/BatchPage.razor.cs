using Incubation.Bench;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Server.Parts;
using Incubation.Service.Batches;
using Incubation.Service.Benches;
using Incubation.Service.Commands;
using Incubation.Service.Snapshots;
using Incubation.Service.Text;
using Microsoft.AspNetCore.Components;
using NodaTime;

namespace Incubation.Server.Pages.Batch;

/// <summary>The batch of a bench: its requests, its plan, its start, its results, its end.</summary>
public sealed partial class BatchPage
{
    private BenchRunner? runner;
    private BenchMoment? view;
    private BenchSummary? summary;
    private string? trouble;
    private string? news;
    private bool busy;
    private bool unheard;
    private bool mayRelease;
    private bool mayReadRecord;
    private PersonId? me;
    private int? closed;
    private RequestChange? undo;
    private RequestId? toWithdraw;
    private ConfirmDialog? confirmStart;
    private ConfirmDialog? confirmWithdraw;
    private CloseDialog? confirmClose;
    private string? withdrawWhy;

    /// <summary>Id of the bench.</summary>
    [Parameter] public string Bench { get; set; } = "";

    /// <summary>The priority that the form for requests begins with, from the address.</summary>
    [SupplyParameterFromQuery(Name = "priority")]
    private string? FirstPriority { get; set; }

    /// <summary>The specimen that it begins with, from the address.</summary>
    [SupplyParameterFromQuery(Name = "specimen")]
    private string? FirstSpecimen { get; set; }

    private DateTimeZone Zone => Clinic.Facts.Zone;

    /// <summary>
    /// Whether nothing is in work and every result is in: what has no value is settled in the dialog then.
    /// </summary>
    private bool MayClose => view is { State.Phase: BatchPhase.Running, View.Totals.ResultsMissing: 0 } now
        && !now.State.Cartridges.Any(cartridge => cartridge.MustBeTold
            || cartridge.Stage is CartridgeStage.InWork or CartridgeStage.Astray);

    /// <summary>The requests with which no plan can be made, and why.</summary>
    private IReadOnlyList<LeftOut> Unplaced => view?.State.Adopted is { } adopted ? adopted.Plan.Unplaced : [];

    private string StartQuestion => Unplaced.Count == 0 ? BatchPageWords.StartUnheard
        : Say.Counted(Unplaced.Count, BatchPageWords.StartWithoutOne, BatchPageWords.StartWithoutMany);

    private string CloseHint => Fates.Open(view!.State).Count() is > 0 and var open
        ? Say.Counted(open, BatchPageWords.CloseOpenHintOne, BatchPageWords.CloseOpenHintMany)
        : view.State.Cartridges.Count(cartridge => cartridge is { Result: not null, IsHeld: true }) is > 0 and var held
        ? Say.Counted(held, BatchPageWords.CloseHeldHintOne, BatchPageWords.CloseHeldHintMany)
        : view.View.Totals is { CarriedOver: 0, GivenUp: 0 } ? BatchPageWords.CloseHint
        : BatchPageWords.CloseSettledHint;

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
        (mayRelease, mayReadRecord, me) = (Access.May(actor, Right.Supervise, Bench),
            Access.May(actor, Right.Direct, Bench), actor?.InLog);
    }

    /// <inheritdoc/>
    public void Dispose() => Leave();

    private void Leave()
    {
        if (runner is not null)
            runner.Changed -= Refresh;
    }

    private void Refresh(BenchMoment changed) => _ = InvokeAsync(async () =>
    {
        // Nothing is sent to a screen whose sign-in or device has come to its end, whatever it still shows.
        if (!Access.May(await Current.GetAsync(), Right.SeeNamed, Bench))
            return;
        Take(changed);
        StateHasChanged();
    });

    private void Take(BenchMoment changed)
    {
        view = changed;
        summary = Desk.Summary(changed);
    }

    private async Task AskStartAsync()
    {
        unheard = runner is { } bench && !Screens.IsHeard(bench.Id);
        if (unheard || Unplaced.Count > 0)
            confirmStart!.Open();
        else
            await StartAsync();
    }

    private Task StartAsync() => SendAsync(() => new BenchCommand.StartBatch(), BatchPageWords.BatchStarted);

    private async Task CloseAsync()
    {
        var batch = view?.State.Batch;
        if (await SendAsync(() => new BenchCommand.CloseBatch(), BatchPageWords.BatchClosed))
            closed = batch;
    }

    private void AskWithdraw(RequestId request)
    {
        (toWithdraw, withdrawWhy) = (request, null);
        confirmWithdraw!.Open();
    }

    private Task WithdrawAsync() => toWithdraw is { } request
        ? SendAsync(() => new BenchCommand.WithdrawRequest(request, CommandMembers.FreeWords(withdrawWhy)),
            Say.Of(BatchPageWords.Withdrawn, request))
        : Task.CompletedTask;

    /// <summary>For the dialog that asks what becomes of requests: what was said stands in it at once.</summary>
    private async Task<bool> TellAsync(BenchCommand command, string done)
    {
        var recorded = await SendAsync(() => command, done);
        StateHasChanged();
        return recorded;
    }

    private Task RepeatAsync(RequestId request) =>
        SendAsync(() => new BenchCommand.OrderRepeat(request), Say.Of(BatchPageWords.RepeatOrdered, request));

    /// <summary>A second press takes it back.</summary>
    private Task PrioritizeAsync(Cartridge cartridge) =>
        cartridge.Wanted.Request is { Priority: Priority.Urgent, Id: var urgent }
            ? SendAsync(() => new BenchCommand.ChangePriority(urgent, Priority.Routine),
                Say.Of(BatchPageWords.RoutineNow, urgent))
            : SendAsync(() => new BenchCommand.ChangePriority(cartridge.Id, Priority.Urgent),
                Say.Of(BatchPageWords.UrgentNow, cartridge.Id));

    /// <summary>Changes what was typed anew, and offers to put it back as it was.</summary>
    private async Task<bool> ChangeRequestAsync(RequestChange change)
    {
        var (id, wanted) = (change.Of.Id, change.Of.Wanted);
        var before = new RequestChange(change.Of, wanted.Request.Due, wanted.Comment);
        // The comment first: it can be changed for longer.
        var done = (change.Comment == wanted.Comment
                || await SendAsync(() => new BenchCommand.CommentRequest(id, CommandMembers.FreeWords(change.Comment)),
                    Say.Of(BatchPageWords.RequestChanged, id)))
            && (change.Due == wanted.Request.Due
                || await SendAsync(() => new BenchCommand.ChangeDue(id, change.Due),
                    Say.Of(BatchPageWords.RequestChanged, id)));
        undo = done && news is not null && change != before ? before : null;
        StateHasChanged();
        return done;
    }

    private async Task UndoAsync()
    {
        if (undo is not { } before || view?.State.Find(before.Of.Id) is not { } now)
            return;
        if (await ChangeRequestAsync(before with { Of = now }))
            (news, undo) = (Say.Of(BatchPageWords.ChangeUndone, now.Id), null);
    }

    private Task<bool> EnterResultAsync(ResultEntry entry) =>
        SendAsync(() => ResultCommands.Of(entry), Say.Of(BatchPageWords.ResultSaved, entry.Specimen));

    private Task<bool> RejectAsync(string specimen, string assay, string why) => SendAsync(
        () => new BenchCommand.RejectSpecimen(
            CommandMembers.Identifier<SpecimenId>(specimen, "shown"),
                CommandMembers.Identifier<AssayCode>(assay, "assay"),
            CommandMembers.FreeWords(why) ?? ""),
        Say.Of(BatchPageWords.Rejected, specimen));

    private Task<bool> ConfirmReadyAsync(ReadyText word) => SendAsync(
        () => word switch
        {
            { Celsius: { } degrees } =>
                new BenchCommand.TemperatureMeasured(CommandMembers.Degrees(degrees, "celsius")),
            { Reader: { } reader } => new BenchCommand.ConfirmReady(ReadinessKey.ReaderCheck(new ReaderNumber(reader))),
            _ =>
                new BenchCommand.ConfirmReady(
                    ReadinessKey.Materials(CommandMembers.Identifier<LotCode>(word.Lot, "lot"))),
        },
        ReadinessWords.Done, word.At);

    private Task<bool> ChangeResultAsync(ResultChange change) =>
        SendAsync(() => change.Command(), Say.Of(ResultWords.Done, change.Specimen));

    /// <summary>Says a command, now or of an earlier time; whatever goes wrong is said on the page.</summary>
    private async Task<bool> SendAsync(Func<BenchCommand> command, string done, Instant? at = null)
    {
        busy = true;
        (trouble, news, closed, undo) = (null, null, null, null);
        var said = await BenchSaying.SayAsync(Desk, await Current.GetAsync(), Bench, command, Clock, Logger, at);
        (busy, trouble, news) = (false, said.Trouble, said.IsRecorded ? done : null);
        return said.IsRecorded;
    }

    /// <summary>Something is wrong elsewhere on the page: the last success is not said above it.</summary>
    private void Forget() => (trouble, news, closed, undo) = (null, null, null, null);

    private void Tell(string sentence) => (trouble, news, closed, undo) = (null, sentence, null, null);
}
