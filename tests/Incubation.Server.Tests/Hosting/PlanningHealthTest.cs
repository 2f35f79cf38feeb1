using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Service.Benches;
using Incubation.TestKit;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;

namespace Incubation.Server.Tests.Hosting;

/// <summary>What a service manager and a bench page are told where a log holds what cannot be planned.</summary>
public sealed class PlanningHealthTest(ServerFactory server) : IClassFixture<ServerFactory>
{
    private readonly HttpClient client = server.ClientAs("ines");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Ready_LogHoldsWhatCannotBePlanned_NamesTheBenchAndTheRestIsPlanned()
    {
        var benches = server.Services.GetRequiredService<BenchRegistry>();
        var runner = benches.Find("bench-1")!;
        var known = runner.Present.State.Cartridges[0].Wanted;
        Assert.True((await Check()).Ok);

        // As a log of an earlier program may hold it; the door would refuse it now.
        await Add(runner, known with
        {
            Request = known.Request with
            { Id = new RequestId("T-9"), After = [], Ready = Instant.FromUtc(9999, 12, 31, 23, 59, 59) },
        });
        var aside = await UntilAsync(check => !check.Ok);

        Assert.Equal(HttpStatusCode.OK, aside.Status);
        Assert.Contains("bench-1", aside.Sentence, StringComparison.Ordinal);
        Assert.DoesNotContain("T-9", aside.Sentence, StringComparison.Ordinal);
        var snapshot = await client.GetFromJsonAsync<JsonElement>("/api/v1/benches/bench-1", Cancel);
        Assert.Contains(snapshot.GetProperty("notPlanned").EnumerateArray(),
            left => left.GetProperty("request").GetString() == "T-9");
        Assert.Contains(snapshot.GetProperty("alarms").EnumerateArray(),
            alarm => alarm.GetProperty("id").GetString() == "set-aside/T-9");
        Assert.NotNull(runner.Present.State.Adopted);

        // In work, it cannot be set aside.
        await Add(runner, known with
        {
            Request = known.Request with { Id = new RequestId("T-10"), After = [] },
            Assay = known.Assay with { Clear = Duration.FromDays(100) },
            AssayVersion = 99,
        });
        await Say(runner, new BenchCommand.StartBatch());
        await Say(runner, new BenchCommand.Mixed(new RequestId("T-10")));
        await Say(runner, new BenchCommand.Loaded(new RequestId("T-10"),
            new CartridgePlace.InSlot(new SlotNumber(2)), false));
        var fails = await UntilAsync(check => check.Status == HttpStatusCode.ServiceUnavailable);
        Assert.Contains("bench-1", fails.Sentence, StringComparison.Ordinal);
        Assert.Contains("slot 2", fails.Sentence, StringComparison.Ordinal);

        await Say(runner, new BenchCommand.Discarded(new RequestId("T-10"), DiscardReason.WindowClosed, null));
        await Say(runner, new BenchCommand.WithdrawRequest(new RequestId("T-9")));
        await UntilAsync(check => check.Ok);
    }

    private static Task Add(BenchRunner runner, BenchRequest wanted) =>
        Say(runner, new BenchCommand.AddRequests([wanted]));

    private static async Task Say(BenchRunner runner, BenchCommand command)
    {
        var now = runner.Present.View.At;
        var answer = await runner.SendAsync(command, new Provenance(new ReportId(Guid.NewGuid().ToString("N")), now,
            now, new PersonId("ines"), new DeviceId("test")));
        Assert.True(answer.Recorded, answer.Sentence);
    }

    private async Task<(bool Ok, HttpStatusCode Status, string? Sentence)> Check()
    {
        using var answer = await client.GetAsync(new Uri("/health/ready", UriKind.Relative), Cancel);
        var check = (await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel)).GetProperty("checks")
            .GetProperty("planning");
        return (check.GetProperty("ok").GetBoolean(), answer.StatusCode, check.GetProperty("sentence").GetString());
    }

    /// <summary>Asks until the answer is so: the bench plans on a thread of its own.</summary>
    private async Task<(bool Ok, HttpStatusCode Status, string? Sentence)> UntilAsync(
        Func<(bool Ok, HttpStatusCode Status, string? Sentence), bool> holds)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        patience.CancelAfter(Patience.Usual);
        while (true)
        {
            patience.Token.ThrowIfCancellationRequested();
            var check = await Check();
            if (holds(check))
                return check;
            await Task.Yield();
        }
    }
}
