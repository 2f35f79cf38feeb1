using System.Diagnostics.Metrics;
using System.Threading.Channels;
using Incubation.Model;
using Incubation.Records;
using Incubation.Records.Benches;
using Incubation.Server.Hubs;
using Incubation.Service.Benches;
using Incubation.Service.Commands;
using Incubation.Service.Snapshots;
using Incubation.TestKit;
using Microsoft.AspNetCore.SignalR;
using Microsoft.AspNetCore.SignalR.Client;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;
using NodaTime.Text;

namespace Incubation.Server.Tests.Hubs;

/// <summary>The hub through a real socket, as a screen sees it.</summary>
public sealed class BenchHubTest : IAsyncDisposable
{
    private readonly ServerFactory server = new();
    private readonly HubConnection hub;
    private readonly Channel<BenchSnapshot> pushed = Channel.CreateUnbounded<BenchSnapshot>();

    public BenchHubTest()
    {
        server.UseKestrel(0);
        server.StartServer();
        hub = new HubConnectionBuilder()
            .WithUrl(new Uri(server.ClientOptions.BaseAddress, BenchHub.Path), options =>
                options.Headers["Cookie"] = server.CookieOf("lena"))
            .AddJsonProtocol(options =>
                options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
            .Build();
        hub.On<BenchSnapshot>("Snapshot", snapshot => pushed.Writer.TryWrite(snapshot));
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public async ValueTask DisposeAsync()
    {
        await hub.DisposeAsync();
        await server.DisposeAsync();
    }

    [Fact]
    public async Task Send_StartBatch_AnsweredAndPushedToWhoWatches()
    {
        await hub.StartAsync(Cancel);
        var first = await hub.InvokeAsync<BenchSnapshot>("Watch", "bench-1", "wide", Cancel);
        Assert.Equal("preparing", first.Batch.Phase);
        Assert.Equal("Ready to start", first.Batch.Idle!.Title);

        var answer = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch", first.ServerTime),
            Cancel);

        Assert.True(answer.Recorded, answer.Sentence);
        var running = await Pushed(snapshot => snapshot.Revision >= answer.Revision && snapshot.Offers.Count > 0);
        Assert.Equal("running", running.Batch.Phase);
        Assert.StartsWith("Mix SP-", running.Offers[0].Title, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Connect_Screen_CountedWhileConnected()
    {
        var changes = Channel.CreateUnbounded<int>();
        using var listener = new MeterListener
        {
            InstrumentPublished = (instrument, own) =>
            {
                if (instrument.Name == "incubation.hub.clients")
                    own.EnableMeasurementEvents(instrument);
            },
        };
        listener.SetMeasurementEventCallback<int>((_, change, _, _) => changes.Writer.TryWrite(change));
        listener.Start();

        await hub.StartAsync(Cancel);
        await Until(1);
        await hub.StopAsync(Cancel);
        await Until(-1);

        // Other tests' screens are counted too: one of the next changes is this one's.
        async Task Until(int change)
        {
            while (await changes.Reader.ReadAsync(Cancel).AsTask().WaitAsync(Patience.Usual, Cancel) != change)
            {
            }
        }
    }

    [Fact]
    public async Task Leave_LaterChange_NotPushed()
    {
        await hub.StartAsync(Cancel);
        await hub.InvokeAsync<BenchSnapshot>("Watch", "bench-1", "narrow", Cancel);
        var wide = await hub.InvokeAsync<BenchSnapshot>("Watch", "bench-1", "wide", Cancel);
        await hub.InvokeAsync("Leave", "bench-1", "narrow", Cancel);

        var answer = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", Command("start-batch", wide.ServerTime),
            Cancel);
        var last = await Pushed(snapshot => snapshot.Revision >= answer.Revision);

        var width = last.Lanes[..200];
        Assert.Contains("lanes-wide", width, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("none", "wide", "none")]
    [InlineData("bench-1", "round", "layout")]
    public async Task Watch_WhatIsNotThere_Sentence(string bench, string layout, string named)
    {
        await hub.StartAsync(Cancel);

        var fault = await Assert.ThrowsAsync<HubException>(() =>
            hub.InvokeAsync<BenchSnapshot>("Watch", bench, layout, Cancel));

        Assert.Contains(named, fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Send_Nonsense_SentenceAndNothingRecorded()
    {
        await hub.StartAsync(Cancel);
        var before = server.Services.GetRequiredService<BenchRegistry>().Find("bench-1")!.Present.State.Revision;
        ScreenCommand good = Command("mixed", Instant.FromUtc(2026, 3, 2, 8, 0)) with { Request = "R01" };
        ScreenCommand?[] bad =
        [
            null,
            good with { Id = "" },
            good with { Id = new string('x', 65) },
            good with { Device = " " },
            good with { Kind = "pause-intake", At = "yesterday" },
            good with { Kind = "explode" },
            good with { Request = null },
            good with { Kind = "loaded" },
            good with { Kind = "loaded", Slot = 1, Reader = 1 },
            good with { Kind = "loaded", Slot = -1 },
            good with { Kind = "loaded", Slot = 1, Scan = "perhaps" },
            good with { Kind = "discarded", Reason = "bored" },
            good with { Kind = "discarded", Reason = "other", Words = new string('x', 501) },
            good with { Kind = "result" },
            good with { Kind = "result", Value = "much" },
            good with { Kind = "result", Value = "1.5", NoValue = "E1" },
            good with { Kind = "acknowledge", Alarm = "fire/R01" },
            good with { Kind = "undo" },
            good with { Request = "R999" },
        ];

        foreach (var command in bad)
        {
            var answer = await hub.InvokeAsync<CommandAnswer>("Send", "bench-1", command, Cancel);
            Assert.False(answer.Recorded, command?.ToString());
            Assert.False(string.IsNullOrWhiteSpace(answer.Sentence));
        }

        // The server's own plans may be written meanwhile.
        Assert.DoesNotContain(new BenchStreams(server.Services.GetRequiredService<DataFile>())
            .Load(new BenchId("bench-1")).Skip((int)before), entry => entry.Provenance.Person == new PersonId("lena"));
    }

    [Fact]
    public async Task Send_UnknownBench_Sentence()
    {
        await hub.StartAsync(Cancel);

        var answer = await hub.InvokeAsync<CommandAnswer>("Send", "none",
            Command("start-batch", Instant.FromUtc(2026, 3, 2, 8, 0)), Cancel);

        Assert.False(answer.Recorded);
        Assert.Contains("none", answer.Sentence, StringComparison.Ordinal);
    }

    private async Task<BenchSnapshot> Pushed(Func<BenchSnapshot, bool> which)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(Cancel);
        limit.CancelAfter(Patience.Usual);
        await foreach (var snapshot in pushed.Reader.ReadAllAsync(limit.Token))
            if (which(snapshot))
                return snapshot;
        throw new InvalidOperationException("The hub closed.");
    }

    private static ScreenCommand Command(string kind, Instant at) => new(
        Guid.NewGuid().ToString("N"), kind, InstantPattern.ExtendedIso.Format(at), false, "tablet-1", null, null, null,
            null, null, null, null, null, null, null, null, null);
}
