using Incubation.Bench;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Connections;
using Incubation.Records.People;
using Incubation.Service.Connections;
using Microsoft.Extensions.Logging.Abstractions;

namespace Incubation.Service.Tests.Support;

/// <summary>A clinic with one bench, and a destination over a real port of this machine.</summary>
internal sealed class OutboxHouse : IAsyncDisposable
{
    private OutboxSender? sender;

    private OutboxHouse(ControlsHouse house) => House = house;

    public ControlsHouse House { get; }

    public WebhookReceiver Receiver { get; } = new();

    public OutboxSender Sender => sender!;

    public ConnectionService Desk { get; private set; } = null!;

    public CertificateEnds Certificates { get; } = new();

    public string Secret { get; private set; } = "";

    public static DestinationId To => Connection.IdOf(1);

    public DestinationFigures Figures => Sender.FiguresOf(To);

    public Connection Connection => House.Clinic.Log.Connections.Find(To)!;

    public static async Task<OutboxHouse> OpenAsync(Action<ConnectionForm>? change = null)
    {
        var house = new OutboxHouse(await ControlsHouse.OpenAsync(ControlPolicy.None));
        house.Make();
        var form = new ConnectionForm
        {
            Name = "Records",
            Address = house.Receiver.Address.ToString(),
            Topics = [NoticeTopic.Results],
            Fields = [NoticeField.Specimen],
            Named = "127.0.0.1",
        };
        change?.Invoke(form);
        var (faults, secret) = house.Desk.Set(ControlsHouse.Person("mara", Role.Administrator), null,
            form);
        Assert.Empty(faults);
        house.Secret = secret!;
        return house;
    }

    /// <summary>A server begins to send; another that did before has been killed, or has ended.</summary>
    public async Task StartAsync()
    {
        Make();
        await Sender.StartAsync(TestContext.Current.CancellationToken);
    }

    public async Task StopAsync() => await Sender.StopAsync(TestContext.Current.CancellationToken);

    /// <summary>A patient's cartridge with its result.</summary>
    public async Task<RequestId> ResultAsync(string specimen, string value = "12.4")
    {
        await House.AddPatient(specimen);
        var cartridge = House.State.Cartridges.Last(one => one.Wanted.Request.Specimen.Value == specimen);
        await House.RunThrough(cartridge);
        await House.Must(new BenchCommand.ResultEntered(cartridge.Id, new ShownResult.Value(value),
            new ShownIdentity(specimen)));
        return cartridge.Id;
    }

    public static async Task Until(Func<bool> holds)
    {
        using var patience = new CancellationTokenSource(TestKit.Patience.Usual);
        while (!holds())
        {
            patience.Token.ThrowIfCancellationRequested();
            await Task.Yield();
        }
    }

    /// <summary>Waits until that is so, while virtual time goes on: a wait may begin after any step of it.</summary>
    public Task UntilLater(Func<bool> holds) => Until(() =>
    {
        House.Time.Advance(TimeSpan.FromSeconds(1));
        return holds();
    });

    public async ValueTask DisposeAsync()
    {
        if (sender is not null)
            await StopAsync();
        sender?.Dispose();
        await Receiver.DisposeAsync();
        await House.DisposeAsync();
    }

    /// <summary>A run whose marks never reach the disk, as of a server that is killed after it has sent.</summary>
    public DestinationRun Unmarked(CancellationToken stop)
    {
        var store = new OutboxStore(House.File, House.Clinic.Log);
        var run = new DestinationRun(Connection, Kind().Open(Connection), store, Messages(store),
            new MarkBook(store, NullLogger<MarkBook>.Instance), House.Time, () => 0.5, (_, _) => { },
            NullLogger.Instance);
        _ = run.RunAsync(stop);
        return run;
    }

    private void Make()
    {
        sender?.Dispose();
        var store = new OutboxStore(House.File, House.Clinic.Log);
        sender = new OutboxSender(House.Clinic, store, Messages(store),
            new MarkBook(store, NullLogger<MarkBook>.Instance), [Kind()], House.Clock, House.Time,
            NullLogger<OutboxSender>.Instance);
        Desk = new ConnectionService(House.Clinic, new PeopleStore(House.File, House.Clinic.Log), store, Sender,
            House.Clock, House.Time);
    }

    private WebhookKind Kind() => new(new PeopleStore(House.File, House.Clinic.Log), Certificates,
        House.Time);

    private OutgoingMessages Messages(OutboxStore store) => new(store, new RequestFacts(House.Book,
        new CartridgeProjection(House.File, House.Clinic.Log.Amended)), House.Clinic);
}
