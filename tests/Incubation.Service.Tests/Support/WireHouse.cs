using System.Net;
using System.Net.Sockets;
using System.Text;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Instruments;
using Incubation.Exchange.Lis;
using Incubation.Model;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Instruments;
using Incubation.Service.Alarms;
using Incubation.Service.Commands;
using Incubation.Service.Connections;
using Incubation.Service.Decisions;
using Incubation.Service.Demo;
using Incubation.Service.Instruments;
using Incubation.Service.Record;
using Incubation.Service.Requests;
using Incubation.Service.Screens;
using Incubation.Service.Stock;
using Incubation.TestKit;
using Microsoft.Extensions.Logging.Abstractions;

namespace Incubation.Service.Tests.Support;

/// <summary>A clinic with one bench whose reader sends its results over a real line of this machine.</summary>
internal sealed class WireHouse : IAsyncDisposable
{
    public static readonly InstrumentId Reader = Instrument.IdOf(1);
    public static readonly ReaderNumber One = new(1);
    private InstrumentLines? lines;

    private WireHouse(ControlsHouse house)
    {
        House = house;
        Port = ProgramProcess.FreePort();
        Begin();
    }

    public ControlsHouse House { get; }

    public int Port { get; }

    public WireStore Store { get; private set; } = null!;

    public LineBook Book { get; } = new();

    public WireTaker Taker { get; private set; } = null!;

    public WireJudge Judge { get; private set; } = null!;

    public WireRights Rights { get; private set; } = null!;

    public InstrumentsState State => House.Clinic.Log.Instruments;

    /// <summary>With a link, unless another is wanted; its lines are not open yet.</summary>
    public static async Task<WireHouse> OpenAsync(Func<InstrumentLink, InstrumentLink>? link = null)
    {
        var house = new WireHouse(await ControlsHouse.OpenAsync(ControlPolicy.None,
            ResultRule.AsDisplayed with { Measuring = new ValueRange(0.5m, 200m) }));
        var usual = house.Link();
        house.Set(Reader, link?.Invoke(usual) ?? usual);
        return house;
    }

    public InstrumentLink Link(params string[] peers) => new("Reader 1", ControlsHouse.BenchOne, One,
        new WireTransport.Tcp("127.0.0.1", Port, [.. peers.DefaultIfEmpty("127.0.0.1")]), WireEncoding.Utf8,
        [new ReaderTest("DA", ControlsHouse.Da, "mg/L")], OnlyListens: false);

    public void Set(InstrumentId id, InstrumentLink link) => Assert.IsType<ClinicOutcome.Recorded>(
        House.Clinic.Log.Record(new ClinicEvent.InstrumentSet(id, link), House.Provenance()));

    /// <summary>Opens the lines, and waits until the port listens.</summary>
    public async Task ListenAsync()
    {
        lines = new InstrumentLines(House.Clinic, Taker, Judge, Store, Book, House.Book, House.Clock,
            TimeProvider.System, NullLogger<InstrumentLines>.Instance);
        await lines.StartAsync(Cancel);
    }

    /// <summary>Connects as an instrument does, as soon as somebody listens.</summary>
    public async Task<NetworkStream> ConnectAsync(string from = "127.0.0.1")
    {
        while (true)
        {
            var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
            try
            {
                socket.Bind(new IPEndPoint(IPAddress.Parse(from), 0));
                await socket.ConnectAsync(IPAddress.Loopback, Port, Cancel);
                return new NetworkStream(socket, ownsSocket: true);
            }
            catch (SocketException fault) when (fault.SocketErrorCode == SocketError.ConnectionRefused)
            {
                socket.Dispose();
                await Task.Yield();
            }
        }
    }

    /// <summary>Sends a message by the program's own writing of the protocol.</summary>
    public async Task<bool> SendAsync(string message, string from = "127.0.0.1")
    {
        await using var reader = new DemoReader(await ConnectAsync(from), TimeProvider.System);
        return await reader.SendAsync(Encoding.UTF8.GetBytes(message), Cancel);
    }

    /// <summary>The lines of that instrument are open.</summary>
    public async Task UntilOpen(InstrumentId instrument)
    {
        while (Book.Of(instrument).Connections == 0)
            await Task.Yield();
    }

    /// <summary>A message of one result, as a reader sends it.</summary>
    public static string Message(string? specimen, string value, string test = "DA", string unit = "mg/L",
        string? sent = "20260302090000", string? read = null, string last = "L|1|N\r") =>
        $"H|\\^&|||Invented reader|||||||P|LIS02-A2|{sent}\rP|1\rO|1|{specimen}||^^^{test}\r"
        + $"R|1|^^^{test}|{value}|{unit}||||F||||{read}\r{last}";

    /// <summary>Takes and judges a message as if it had come over a line.</summary>
    public async Task<WireMessage> TakeAsync(string message, bool isWhole = true)
    {
        var arrival = new WireArrival(Reader, Guid.NewGuid().ToString("N"));
        var bytes = Encoding.UTF8.GetBytes(message);
        if (isWhole)
            Assert.True(Taker.Keep(arrival, new LinkAct.Store(1, 0, bytes, IsLast: true)));
        else
        {
            Assert.True(Taker.Keep(arrival, new LinkAct.Store(1, 0, bytes, IsLast: false)));
            Taker.Cut(arrival, 1);
        }

        Assert.True(await Judge.JudgeAllAsync());
        return State.Messages[State.LastMessage];
    }

    /// <summary>The fate of the one result of a message.</summary>
    public static WireFate Fate(WireMessage message) => Assert.Single(message.Fates!.Value);

    /// <summary>A patient's cartridge, run until the reader has it.</summary>
    public async Task<RequestId> ReadAsync(string specimen, bool isCleared = false)
    {
        await House.AddPatient(specimen);
        var cartridge = House.State.Cartridges.Last(one => one.Wanted.Request.Specimen.Value == specimen);
        House.Time.Advance(TimeSpan.FromSeconds(50));
        await House.Must(new BenchCommand.Mixed(cartridge.Id, TimeStated: true));
        House.Time.Advance(TimeSpan.FromSeconds(30));
        await House.Must(new BenchCommand.Loaded(cartridge.Id, new CartridgePlace.InSlot(new SlotNumber(1)), false));
        if (House.State.Run.Done.All(done => done.Action is not StepAction.CardChange))
            await House.Must(new BenchCommand.CardChanged(One, ControlsHouse.Kit));
        House.Time.Advance(TimeSpan.FromSeconds(8 * 60 + 40));
        await House.Must(new BenchCommand.ReadStarted(cartridge.Id, One, false));
        House.Time.Advance(TimeSpan.FromSeconds(41));
        if (isCleared)
            await ClearAsync(cartridge.Id);
        return cartridge.Id;
    }

    public Task ClearAsync(RequestId request) => House.Must(new BenchCommand.Cleared(request, One));

    public Cartridge Of(RequestId request) => House.State.Find(request)!;

    /// <summary>Waits until the clinic's log says so.</summary>
    public async Task Until(Func<InstrumentsState, bool> holds)
    {
        var found = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        void Look()
        {
            if (holds(State))
                found.TrySetResult();
        }

        House.Clinic.Log.Changed += Look;
        Look();
        await found.Task.WaitAsync(Patience.Usual, Cancel);
        House.Clinic.Log.Changed -= Look;
    }

    /// <summary>Every message so far is judged, and there are so many.</summary>
    public Task UntilJudged(long messages) => Until(state => state.LastMessage >= messages && !state.Unjudged.Any());

    /// <summary>The program ends without a word, and another takes over.</summary>
    public async Task CrashAsync()
    {
        await StopAsync();
        await House.Crash();
        Begin();
    }

    public WireInbox Inbox() => new(House.Clinic, House.Book, Judge, Rights, Store, Desk(), House.Clock);

    public DecisionList Decisions()
    {
        var book = new CartridgeProjection(House.File, House.Clinic.Log.Amended);
        return new DecisionList(House.Clinic, House.Book, book, new LateReportService(book, House.Clinic, House.Clock),
            new UncheckedResults(House.Clinic, book, House.Clock),
            new ProgrammeDecisions(House.Clinic, new StockSettings(30)), Rights, new CertificateEnds(), House.Clock);
    }

    public InstrumentService Office() => new(House.Clinic, House.Book, Judge, Book, House.Clock);

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        Judge.Dispose();
        await House.DisposeAsync();
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private async Task StopAsync()
    {
        if (lines is null)
            return;
        await lines.StopAsync(Cancel);
        lines.Dispose();
        lines = null;
    }

    private void Begin()
    {
        Store = new WireStore(House.File, House.Clinic.Log);
        Taker = new WireTaker(House.Clinic, Store, Book, House.Clock);
        var records = new CartridgeProjection(House.File, House.Clinic.Log.Amended);
        Rights = new WireRights(House.Clinic, House.Book, Store);
        Judge = new WireJudge(House.Clinic, Rights, House.Book, House.Clock, new ClosedMatching(records,
            new AmendmentService(records, House.Clinic, House.Gates, House.Clock), House.Clock));
    }

    public BenchService Desk()
    {
        var book = new CartridgeProjection(House.File, House.Clinic.Log.Amended);
        return new BenchService(House.Book, new SnapshotWriter(House.Clinic, House.Clock, new NoHostAlarms()),
            House.Clock, House.Intake, new CarriedOver(House.Clinic, House.Clock, House.Gates), House.Clinic,
            new WriteBudget(House.Clock, WriteBudget.UsualRate), new LateReportService(book, House.Clinic, House.Clock),
            new SecondLookService(book, House.Clinic, House.Gates, House.Clock), NullLogger<BenchService>.Instance);
    }
}
