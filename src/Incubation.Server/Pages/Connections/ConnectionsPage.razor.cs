using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Server.Parts;
using Incubation.Service.Connections;
using Incubation.Service.People;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Server.Pages.Connections;

/// <summary>What the page of connections does.</summary>
public sealed partial class ConnectionsPage
{
    /// <summary>A busy outbox does not draw the page more often than people read it.</summary>
    private static readonly TimeSpan DrawEvery = TimeSpan.FromMilliseconds(500);

    private readonly CancellationTokenSource closed = new();
    private IReadOnlyList<Connection>? lines;
    private Dictionary<DestinationId, Delivery?> last = [];
    private IReadOnlyList<FormFault> faults = [];
    private ConnectionForm form = New();
    private Connection? changed;
    private Connection? asked;
    private Delivery? message;
    private Dialog? replaceDialog;
    private Dialog? switchDialog;
    private Dialog? endDialog;
    private Dialog? giveUpDialog;
    private Dialog? dayDialog;
    private string? day;
    private string? dayFault;
    private string? dayCount;
    private bool mayName;
    private int isToDraw;
    private string? why;
    private string? whyFault;
    private string? trouble;
    private string? news;
    private string? shown;
    private string? shownText;

    private DateTimeZone Zone => Clinic.Facts.Zone;

    private bool IsOff => asked?.WhyOff is not null;

    private string? AboutMessage => message is null ? null : ConnectionPanel.AboutOf(message);

    /// <inheritdoc/>
    public void Dispose()
    {
        Clinic.Log.Changed -= Refresh;
        Sender.Changed -= Refresh;
        closed.Cancel();
        closed.Dispose();
    }

    /// <inheritdoc/>
    protected override async Task OnInitializedAsync()
    {
        var actor = await Current.GetAsync();
        Looks.Seen(actor, null, null);
        mayName = Access.May(actor, Right.Administer);
        if (!RendererInfo.IsInteractive)
            return;
        Reread();
        Clinic.Log.Changed += Refresh;
        Sender.Changed += Refresh;
    }

    private static ConnectionForm New() => new() { Topics = [NoticeTopic.Results] };

    private void Refresh()
    {
        if (Interlocked.Exchange(ref isToDraw, 1) == 0)
            _ = InvokeAsync(DrawAsync);
    }

    private async Task DrawAsync()
    {
        try
        {
            await Task.Delay(DrawEvery, closed.Token);
            Interlocked.Exchange(ref isToDraw, 0);
            // Nothing is sent to a screen whose sign-in has come to its end, whatever it still shows.
            if (!Access.May(await Current.GetAsync(), Right.Supervise))
                return;
            Reread();
            StateHasChanged();
        }
        catch (OperationCanceledException)
        {
            // The page is gone.
        }
    }

    private void Reread()
    {
        lines = Desk.InUse;
        last = lines.ToDictionary(line => line.Id, line => Desk.LastOf(line.Id));
    }

    private void Begin()
    {
        (changed, faults) = (null, []);
        form = New();
    }

    private void Change(Connection line)
    {
        (changed, faults, news, trouble, shown) = (line, [], null, null, null);
        form = ConnectionForm.Of(line.Destination);
    }

    private async Task SaveAsync()
    {
        (faults, shown) = Desk.Set(await Current.GetAsync(), changed?.Id, form);
        trouble = faults.Count == 0 ? null
            : faults.FirstOrDefault(fault => fault.Member == "")?.Sentence ?? Words.LookBelow;
        news = null;
        if (faults.Count > 0)
            return;
        news = Say.Of(changed is null ? ConnectionPageWords.Added : ConnectionPageWords.Saved, form.Name?.Trim());
        shownText = Say.Of(ConnectionPageWords.SecretText, form.Name?.Trim());
        Begin();
        Reread();
    }

    private async Task TestAsync(Connection line)
    {
        var (isTaken, sentence) = await Desk.TestAsync(await Current.GetAsync(), line.Id, closed.Token);
        Told(isTaken ? null : sentence, isTaken ? sentence : null);
    }

    private async Task TryNowAsync(Connection line)
    {
        var outcome = await Desk.TryNowAsync(await Current.GetAsync(), line.Id);
        Told(outcome.Fault, Say.Of(ConnectionPageWords.Tried, line.Destination.Name));
    }

    private async Task ResendAsync(Connection line, Delivery one)
    {
        var outcome = await Desk.ResendAsync(await Current.GetAsync(), line.Id, one.Id);
        Told(outcome.Fault, Say.Of(ConnectionPageWords.ResentNews, ConnectionPanel.AboutOf(one)));
    }

    private void Ask(Connection line, Dialog dialog)
    {
        (asked, why, whyFault) = (line, null, null);
        (day, dayFault, dayCount) = (null, null, null);
        dialog.Open();
    }

    private void AskGiveUp(Connection line, Delivery one)
    {
        message = one;
        Ask(line, giveUpDialog!);
    }

    /// <summary>Of another day it is not known how many messages it will be.</summary>
    private void SetDay(string? next) => (day, dayFault, dayCount) = (next, null, null);

    private async Task CountDayAsync()
    {
        (var count, dayFault) = await Desk.CountOfDayAsync(await Current.GetAsync(), asked!.Id, day);
        dayCount = dayFault is null
            ? Say.Counted(count, ConnectionPageWords.DayOne, ConnectionPageWords.DayMany) : null;
    }

    private async Task SendDayAsync()
    {
        var outcome = await Desk.ResendDayAsync(await Current.GetAsync(), asked!.Id, day);
        dayFault = outcome.Fault;
        if (!outcome.IsDone)
            return;
        await dayDialog!.CloseAsync();
        Told(null, Say.Of(ConnectionPageWords.DaySent, day, asked.Destination.Name));
    }

    private async Task ReplaceAsync()
    {
        await replaceDialog!.CloseAsync();
        var outcome = Desk.ReplaceSecret(await Current.GetAsync(), asked!.Id);
        Told(outcome.Fault, Say.Of(ConnectionPageWords.SecretReplaced, asked.Destination.Name));
        (shown, shownText) = (outcome.Shown, Say.Of(ConnectionPageWords.SecretText, asked.Destination.Name));
    }

    private async Task SwitchAsync()
    {
        var isOn = IsOff;
        await SaidAsync(Desk.Switch(await Current.GetAsync(), asked!.Id, isOn, why), switchDialog!,
            Say.Of(isOn ? ConnectionPageWords.SwitchedOn : ConnectionPageWords.SwitchedOff, asked.Destination.Name));
    }

    private async Task EndAsync() => await SaidAsync(Desk.End(await Current.GetAsync(), asked!.Id, why), endDialog!,
        Say.Of(ConnectionPageWords.Ended, asked.Destination.Name));

    private async Task GiveUpAsync() => await SaidAsync(
        await Desk.GiveUpAsync(await Current.GetAsync(), asked!.Id, message!.Id, why), giveUpDialog!,
        Say.Of(ConnectionPageWords.GivenUpNews, AboutMessage));

    private async Task SaidAsync(Outcome outcome, Dialog dialog, string done)
    {
        whyFault = outcome.Fault;
        if (!outcome.IsDone)
        {
            // A secret that is shown this once stays.
            (trouble, news) = (null, null);
            return;
        }

        await dialog.CloseAsync();
        Told(null, done);
        if (changed?.Id == asked?.Id)
            Begin();
    }

    private void Told(string? fault, string? done)
    {
        (trouble, news, shown) = (fault, fault is null ? done : null, null);
        Reread();
    }
}
