using System.Globalization;
using System.Net;
using Incubation.Bench;
using Incubation.Clinic;
using Incubation.Clinic.Connections;
using Incubation.Clinic.People;
using Incubation.Exchange.Webhooks;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Records.Clinic;
using Incubation.Records.Connections;
using Incubation.Records.People;
using Incubation.TestKit;

namespace Incubation.Faults;

/// <summary>
/// The real program on a real file, killed with signal 9 while two people enter, release and amend patients' results
/// over HTTP and it tells a receiver of them. The receiver fails now and then, before or after it has taken a message.
/// In the end every result that is out, every amendment and every one that was taken back was told in its order, each
/// under one id of its own, by messages whose signature holds.
/// </summary>
internal sealed class DeliveryKillRun : IAsyncDisposable
{
    private const string Bench = "bench-1", Lot = "DB-L1", Assay = "DB";

    private readonly string folder = Directory.CreateTempSubdirectory("incubation-delivery-kills-").FullName;
    private readonly SeededRandom random;
    private readonly Uri address = new("http://127.0.0.1:" + ProgramProcess.FreePort()
        .ToString(CultureInfo.InvariantCulture));
    private readonly KilledLog log = new();
    private readonly KilledTalk talk;
    private readonly FailingReceiver receiver;
    private readonly List<Told> told = [];

    private DeliveryKillRun(ulong seed)
    {
        (random, talk) = (new SeededRandom(seed), new KilledTalk(log, Bench));
        receiver = new FailingReceiver(new SeededRandom(seed + 1));
    }

    /// <summary>A result as it is by what was acknowledged, what is to be told of it; and as it may be.</summary>
    private sealed class Told(string request)
    {
        public string Request { get; } = request;

        public Standing Is { get; set; } = new(null, false, false);

        public Standing? MayBe { get; set; }

        public List<string> News { get; } = [];

        /// <summary>It is so from now on.</summary>
        public void Become(Standing now)
        {
            if (Is.NewsOf(now) is { } news)
                News.Add(news);
            (Is, MayBe) = (now, null);
        }
    }

    /// <summary>
    /// A result's value, whether a supervisor has released it, and whether it was amended before.
    /// </summary>
    private sealed record Standing(string? Value, bool IsReleased, bool WasAmended)
    {
        /// <summary>What becoming another tells the world outside; null where nothing.</summary>
        public string? NewsOf(Standing next) => (IsReleased, next.IsReleased) switch
        {
            (false, true) => next.WasAmended ? "result.amended" : "result.ready",
            (true, true) when Value != next.Value => "result.amended",
            (true, false) => "result.withheld",
            _ => null,
        };
    }

    private string Data => Path.Combine(folder, "incubation.db");

    /// <summary>
    /// Kills the program so many times; what was wrong, how many commands were acknowledged, how many messages were to
    /// be told, and how many came more than once.
    /// </summary>
    public static async Task<(IReadOnlyList<string> Faults, int Acknowledged, int Messages, int Repeats)> RunAsync(
        int kills, ulong seed, CancellationToken cancel)
    {
        await using var run = new DeliveryKillRun(seed);
        await run.OnceAsync(0, cancel);
        run.Connect();
        for (var kill = 1; kill <= kills; kill++)
            await run.OnceAsync(kill, cancel);
        using (var program = await KilledProgram.StartAsync(run.Data, run.address, cancel))
        {
            run.receiver.IsPatient = true;
            await run.UntilAllIsToldAsync(cancel);
            await program.KillAsync(cancel);
        }

        run.Compare();
        return (run.log.Faults, run.log.Acknowledged.Count, run.told.Sum(one => one.News.Count),
            run.receiver.Repeats);
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await receiver.DisposeAsync();
        talk.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    private async Task OnceAsync(int kill, CancellationToken cancel)
    {
        using (var program = await KilledProgram.StartAsync(Data, address, cancel))
        {
            if (kill > 0)
            {
                await program.SignInAsync(cancel);
                await program.KillAmidAsync(log, random.Between(10, 30), random,
                    stop => [WorkAsync(program.Client, 1, stop), WorkAsync(program.Client, 2, stop)], cancel);
            }
            else
            {
                await program.KillAsync(cancel);
            }
        }

        using var file = DataFile.Open(Data);
        log.Compare(kill, file);
        Settle(file);
    }

    /// <summary>A receiver of results, as an administrator adds it.</summary>
    private void Connect()
    {
        using var file = DataFile.Open(Data);
        var clinic = ClinicLog.Open(file);
        var id = Connection.IdOf(1);
        var to = new Destination("Receiver", new DestinationWay.Webhook(receiver.Address.ToString()),
            [NoticeTopic.Results], [], [IPAddress.Loopback.ToString()]);
        if (new PeopleStore(file, clinic).Record(
            [new ClinicEvent.DestinationAdded(id, to, new OutboxStore(file, clinic).Ends())], talk.By("mara"),
            [new Secret(id.Value, SecretKind.Signing, new WebhookSecrets(WebhookSecret.Of(receiver.Key)).Write())])
            is ClinicOutcome.Refused refused)
            throw new InvalidOperationException($"The receiver was refused: {refused.Why}");
    }

    private Task WorkAsync(HttpClient client, int slot, CancellationToken cancel) => talk.WorkAsync(client, slot, () =>
    {
        var one = new Told(talk.NewReport().Value.Replace('K', 'Q'));
        return (one, one.Request, new
        {
            specimen = $"SQ-{one.Request}",
            assay = Assay,
            lot = Lot,
            id = one.Request,
            kind = "patient",
        });
    }, one => DecideAsync(client, one, cancel), cancel);

    /// <summary>A result is entered, released, amended, and taken back by a value that cannot be.</summary>
    private async Task DecideAsync(HttpClient client, Told one, CancellationToken cancel)
    {
        lock (told)
            told.Add(one);
        await ChangeAsync(new("100", false, false), "result", ("value", "100"));
        for (var times = random.Between(1, 5); times > 0; times--)
        {
            var now = one.Is;
            var other = random.Pick(["100", "120", "<200"]);
            if (!now.IsReleased && random.Between(1, 3) > 1)
                await ChangeAsync(now with { IsReleased = true }, "release-result", ("words", "Seen."));
            else if (other != now.Value)
                // Of a value that cannot be nothing was released yet.
                await ChangeAsync(new(other, now.IsReleased && other[0] != '<', true), "amend-result",
                    ("value", other), ("words", "Read again."), ("reason", "typed"));
        }

        async Task ChangeAsync(Standing to, string kind, params (string, object)[] members)
        {
            one.MayBe = to;
            await talk.SayAsync(client, kind, [("request", one.Request), .. members], cancel);
            one.Become(to);
        }
    }

    /// <summary>What was under way at a kill is in the file as a whole or not at all, and told or not.</summary>
    private void Settle(DataFile file)
    {
        var state = new BenchStreams(file).Load(new BenchId(Bench)).Aggregate((BenchState?)null, LiveBench.Apply)!;
        foreach (var one in told.Where(one => one.MayBe is not null))
        {
            var cartridge = state.Find(new RequestId(one.Request))!;
            (string?, bool) now = (cartridge.Result is ReadResult.Measured { Value: var value } ? value : null,
                cartridge.Status?.Released is not null);
            one.Become(now == (one.MayBe!.Value, one.MayBe.IsReleased) ? one.MayBe : one.Is);
        }
    }

    private async Task UntilAllIsToldAsync(CancellationToken cancel)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(cancel);
        limit.CancelAfter(Patience.Usual);
        using var pause = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        try
        {
            while (told.Exists(one => receiver.Of(one.Request).Count < one.News.Count)
                && await pause.WaitForNextTickAsync(limit.Token))
            {
            }
        }
        catch (OperationCanceledException) when (!cancel.IsCancellationRequested)
        {
            // What is missing is told below.
        }
    }

    private void Compare()
    {
        foreach (var fault in receiver.Faults)
            log.Add(fault);
        foreach (var one in told)
        {
            var came = receiver.Of(one.Request);
            if (!came.Select(message => message.Kind).SequenceEqual(one.News)
                || !came.Select(message => message.Revision).SequenceEqual(Enumerable.Range(1, came.Count)))
                log.Add($"{one.Request}: told was [{string.Join(' ', came)}] and not [{string.Join(' ', one.News)}]");
        }
    }
}
