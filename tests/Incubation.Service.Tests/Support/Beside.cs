using System.Collections.Concurrent;
using System.Net;
using System.Text.Json;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Connections;
using Incubation.Service.Alarms;
using Incubation.Service.Benches;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Incubation.TestKit;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;

namespace Incubation.Service.Tests.Support;

/// <summary>
/// What stands beside a bench's log: its screens and the way to others, on virtual time and without a network.
/// </summary>
internal sealed class Beside : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("incubation-beside-").FullName;
    private readonly DataFile file;

    public Beside(ClockGuard? guard = null, BenchRig? rig = null, bool hasAddress = true)
    {
        file = DataFile.Open(Path.Combine(folder, "a.db"));
        Real = rig?.Time ?? new FakeTimeProvider(BenchRig.Start.ToDateTimeOffset());
        var clock = new BenchClock(Real, 1);
        var agreed = guard ?? BenchRig.Agreed(clock);
        Benches = rig?.Book
            ?? new BenchRegistry(new FakeBenchLog(), clock, () => new Incubation.Planning.IterationBudget(1),
                NullLogger<BenchRunner>.Instance, agreed);
        var clinic = new ClinicHost(file);
        Screens = new ScreenWatch(Benches, clock, clinic, Real);
        var store = new OutboxStore(file, clinic.Log);
        Sender = new OutboxSender(clinic, store, new OutgoingMessages(store,
            new RequestFacts(Benches, new CartridgeProjection(file, clinic.Log.Amended)), clinic),
            new MarkBook(store, NullLogger<MarkBook>.Instance), [], clock, Real, NullLogger<OutboxSender>.Instance);
        var notSent = new AlarmsNotSent(clinic, Sender, clock, Real);
        Webhook = new Webhook(hasAddress ? new Uri("https://pager.test/alarms") : null, new HttpMessageInvoker(Wire),
            Real, clock, NullLogger<Webhook>.Instance);
        Host = new HostAlarms(Screens, Webhook, notSent, agreed);
        Watch = new AlarmWatch(Benches, clock, Screens, Webhook,
            new AlarmNotices(clinic, clock, NullLogger<AlarmNotices>.Instance), notSent, Host, Real,
            NullLogger<AlarmWatch>.Instance);
    }

    public OutboxSender Sender { get; }

    public FakeTimeProvider Real { get; }

    public BenchRegistry Benches { get; }

    public ScreenWatch Screens { get; }

    public Webhook Webhook { get; }

    public HostAlarms Host { get; }

    public AlarmWatch Watch { get; }

    public FakeWire Wire { get; } = new();

    public void Dispose()
    {
        Watch.Dispose();
        Sender.Dispose();
        Webhook.Dispose();
        file.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    /// <summary>The other end of the webhook: answers as it is told, and keeps what it was sent.</summary>
    internal sealed class FakeWire : HttpMessageHandler
    {
        private readonly ConcurrentQueue<Func<HttpResponseMessage>> answers = new();
        private readonly SemaphoreSlim arrived = new(0);

        public ConcurrentQueue<JsonElement> Sent { get; } = new();

        public void Then(params Func<HttpResponseMessage>[] next)
        {
            foreach (var answer in next)
                answers.Enqueue(answer);
        }

        public static HttpResponseMessage Status(HttpStatusCode status) => new(status);

        /// <summary>Waits until one more message has been tried.</summary>
        public async Task TriedAsync() =>
            Assert.True(await arrived.WaitAsync(Patience.Usual, TestContext.Current.CancellationToken));

        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request,
            CancellationToken cancellationToken)
        {
            Assert.Equal((HttpMethod.Post, "https://pager.test/alarms"),
                (request.Method, request.RequestUri!.ToString()));
            Sent.Enqueue(
                JsonDocument.Parse(await request.Content!.ReadAsStringAsync(cancellationToken)).RootElement.Clone());
            try
            {
                return answers.TryDequeue(out var answer) ? answer() : Status(HttpStatusCode.NoContent);
            }
            finally
            {
                arrived.Release();
            }
        }
    }
}
