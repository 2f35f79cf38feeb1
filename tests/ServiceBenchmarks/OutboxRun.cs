using System.Diagnostics;
using System.Globalization;
using System.Net;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Exchange.Webhooks;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Batches;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.People;
using Incubation.Service.Clinic;
using Incubation.Service.Clock;
using Incubation.Service.Connections;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using NodaTime;

namespace Incubation.ServiceBenchmarks;

/// <summary>
/// How long results that wait in the outbox take to reach ten destinations, each told of every one, while a bench takes
/// reports into the same file; beside it the same posts without an outbox.
/// </summary>
/// <param name="Results">How many results.</param>
/// <param name="Messages">How many messages came, repeats too.</param>
/// <param name="Took">From the sender's start until the last was taken.</param>
/// <param name="Marked">From then until the disk says so of each.</param>
/// <param name="Used">What the process used of its processors meanwhile, the receivers and the bench too.</param>
/// <param name="Bare">As many posts by a plain client, as many at a time.</param>
/// <param name="BareUsed">What the process used of its processors for them, the receivers too.</param>
/// <param name="Bytes">How much more memory the process held at most meanwhile.</param>
/// <param name="During">Acknowledgements meanwhile, the quickest first.</param>
/// <param name="Beside">Some before and after, with nothing to send.</param>
internal sealed record OutboxRun(int Results, int Messages, TimeSpan Took, TimeSpan Marked, TimeSpan Used,
    TimeSpan Bare, TimeSpan BareUsed, long Bytes, IReadOnlyList<TimeSpan> During, IReadOnlyList<TimeSpan> Beside)
{
    private const int Destinations = 10;

    /// <summary>As many messages to a destination are on their way at a time as the sender allows.</summary>
    private const int AtATime = 4;

    private const int ReportsBeside = 300;
    private static readonly TimeSpan AnswersIn = TimeSpan.FromMilliseconds(5);

    /// <summary>Measures with the last so many results of a file.</summary>
    /// <param name="data">The file.</param>
    /// <param name="most">How many results at most.</param>
    public static async Task<OutboxRun> MeasureAsync(string data, int most)
    {
        await using var receivers = new SlowReceivers(Destinations, AnswersIn);
        using var file = DataFile.Open(data);
        var clinic = new ClinicHost(file);
        var book = new CartridgeProjection(file, clinic.Log.Amended);
        book.CatchUp();
        await using var bench = await BusyBench.OpenAsync(file);
        var (beside, during) = (new List<TimeSpan>(), new List<TimeSpan>());
        await ReportAsync(bench, beside);

        var secrets = new PeopleStore(file, clinic.Log);
        var results = Connect(clinic, secrets, receivers.Addresses, data, most);
        var clock = new BenchClock(TimeProvider.System, 1);
        var store = new OutboxStore(file, clinic.Log);
        using var sender = new OutboxSender(clinic, store, new OutgoingMessages(store,
            new RequestFacts(bench.Benches, book), clinic),
            new MarkBook(store, NullLogger<MarkBook>.Instance),
            [new WebhookKind(secrets, new CertificateEnds(), TimeProvider.System)], clock, TimeProvider.System,
            NullLogger<OutboxSender>.Instance);
        var (held, bytes) = (Environment.WorkingSet, 0L);
        var all = receivers.UntilAsync(results * Destinations);
        var (watch, before) = (Stopwatch.StartNew(), Environment.CpuUsage.TotalTime);
        var took = all.ContinueWith(_ => watch.Elapsed, TaskScheduler.Default);
        await sender.StartAsync(CancellationToken.None);
        while (!all.IsCompleted)
        {
            during.Add(await bench.ReportAsync());
            bytes = Math.Max(bytes, Environment.WorkingSet - held);
        }

        var messages = receivers.Messages;
        // What was taken is written down before the sender ends.
        await sender.StopAsync(CancellationToken.None);
        var (marked, used) = (watch.Elapsed - await took, Environment.CpuUsage.TotalTime - before);
        if (clinic.Log.Connections.InUse.Any(one => store.Open(one, 0, 1, out var _).Count > 0))
            throw new InvalidOperationException("Something was taken, and the disk does not say so.");
        await ReportAsync(bench, beside);
        foreach (var one in clinic.Log.Connections.InUse.ToList())
            Record(secrets, new ClinicEvent.DestinationEnded(one.Id, "It was measured."), null);
        before = Environment.CpuUsage.TotalTime;
        var bare = await BareAsync(receivers, results);
        var bareUsed = Environment.CpuUsage.TotalTime - before;
        during.Sort();
        beside.Sort();
        return new OutboxRun(results, messages, await took, marked, used, bare, bareUsed, bytes, during,
            beside);
    }

    private static async Task ReportAsync(BusyBench bench, List<TimeSpan> lengths)
    {
        for (var report = 0; report < ReportsBeside; report++)
            lengths.Add(await bench.ReportAsync());
    }

    /// <summary>Adds the destinations; how many results each of them is to be told of.</summary>
    private static int Connect(ClinicHost clinic, PeopleStore secrets, IReadOnlyList<Uri> addresses, string data,
        int most)
    {
        var (count, after) = LastOf(data, most);
        foreach (var address in addresses)
        {
            var id = Connection.IdOf(clinic.Log.Connections.All.Count + 1);
            var secret = WebhookSecret.Of(new byte[WebhookSecret.Length]);
            var what = new Destination($"Receiver {id}", new DestinationWay.Webhook(address.ToString()),
                [NoticeTopic.Results], [.. Enum.GetValues<NoticeField>()], [IPAddress.Loopback.ToString()]);
            Record(secrets, new ClinicEvent.DestinationAdded(id, what, [new StreamEnd(LongLog.Bench, after)]),
                new Secret(id.Value, SecretKind.Signing, new WebhookSecrets(secret).Write()));
        }

        return count;
    }

    private static void Record(PeopleStore secrets, ClinicEvent said, Secret? secret)
    {
        var now = SystemClock.Instance.GetCurrentInstant();
        if (secrets.Record([said], new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now, now,
            new PersonId("benchmark"), new DeviceId("benchmark")), secret is null ? [] : [secret])
            is ClinicOutcome.Refused refused)
            throw new InvalidOperationException($"The clinic refused {said.GetType().Name}: {refused.Why}.");
    }

    /// <summary>How many results there are, and after which row of the bench's stream.</summary>
    private static (int Count, long After) LastOf(string data, int most)
    {
        using var connection = new SqliteConnection($"Data Source={data};Pooling=false;Mode=ReadOnly");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = """
            SELECT COUNT(*), MIN("Sequence") FROM
              (SELECT "Sequence" FROM "Notices" ORDER BY "Number" DESC LIMIT $most)
            """;
        command.Parameters.AddWithValue("$most", most);
        using var row = command.ExecuteReader();
        row.Read();
        return (row.GetInt32(0), row.GetInt64(1) - 1);
    }

    private static async Task<TimeSpan> BareAsync(SlowReceivers receivers, int results)
    {
        using var client = new HttpMessageInvoker(new SocketsHttpHandler { UseProxy = false, UseCookies = false });
        var body = new byte[200];
        var all = receivers.UntilAsync(results * receivers.Addresses.Count);
        var watch = Stopwatch.StartNew();
        await Task.WhenAll(receivers.Addresses.SelectMany(address => Enumerable.Range(0, AtATime).Select(lane =>
            Task.Run(async () =>
            {
                for (var number = lane; number < results; number += AtATime)
                {
                    using var request = new HttpRequestMessage(HttpMethod.Post, address)
                    {
                        Content = new ByteArrayContent(body),
                    };
                    request.Headers.Add("webhook-id", number.ToString(CultureInfo.InvariantCulture));
                    using var answer = await client.SendAsync(request, CancellationToken.None);
                }
            }))));
        await all;
        return watch.Elapsed;
    }
}
