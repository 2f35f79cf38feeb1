using System.Collections.Concurrent;
using Incubation.Server.Hubs;
using Incubation.Service.Snapshots;
using Microsoft.AspNetCore.SignalR.Client;
using Microsoft.Extensions.DependencyInjection;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Browser.Tests.Figures;

/// <summary>An instant at which a screen was to change and to sound.</summary>
/// <param name="Offer">The step's key.</param>
/// <param name="IsBegin">Whether the step may begin then; else it is announced.</param>
/// <param name="At">Real milliseconds since 1970.</param>
internal sealed record Due(string Offer, bool IsBegin, double At);

/// <summary>
/// A screen of a bench without a browser: notes what falls due, from the snapshots that every screen gets.
/// </summary>
internal sealed class DueWatch : IAsyncDisposable
{
    /// <summary>
    /// What is announced by a snapshot less than this before its instant was never due ahead: real milliseconds.
    /// </summary>
    private const double Ahead = 50;

    private readonly HubConnection hub;
    private readonly Func<Instant, double> real;
    private readonly ConcurrentDictionary<(string, bool), Due> coming = new();
    private readonly ConcurrentBag<Due> due = [];
    private readonly Lock one = new();

    /// <param name="server">The server.</param>
    /// <param name="key">A program's key.</param>
    /// <param name="real">From an instant of the server's time to real milliseconds since 1970.</param>
    public DueWatch(Uri server, string key, Func<Instant, double> real)
    {
        this.real = real;
        hub = new HubConnectionBuilder()
            .WithUrl(new Uri(server, BenchHub.Path), options => options.AccessTokenProvider = () =>
                Task.FromResult<string?>(key))
            .AddJsonProtocol(options =>
                options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
            .WithAutomaticReconnect([.. Enumerable.Repeat(TimeSpan.FromSeconds(0.5), 200)])
            .Build();
        hub.On<BenchSnapshot>(nameof(IBenchScreen.Snapshot), Take);
    }

    /// <summary>What has fallen due.</summary>
    public IReadOnlyCollection<Due> Fallen
    {
        get
        {
            lock (one)
                Fall(Now);
            return due;
        }
    }

    private static double Now => (DateTimeOffset.UtcNow - DateTimeOffset.UnixEpoch).TotalMilliseconds;

    public async Task WatchAsync(string bench, CancellationToken cancel)
    {
        hub.Reconnected += async _ =>
            Take(await hub.InvokeAsync<BenchSnapshot>(nameof(BenchHub.Watch), bench, "wide", cancel));
        await hub.StartAsync(cancel);
        Take(await hub.InvokeAsync<BenchSnapshot>(nameof(BenchHub.Watch), bench, "wide", cancel));
    }

    public ValueTask DisposeAsync() => hub.DisposeAsync();

    private void Take(BenchSnapshot snapshot)
    {
        lock (one)
        {
            var now = Now;
            Fall(now);
            coming.Clear();
            if (snapshot.Batch.Phase != "running" || snapshot.Offers.Count == 0)
                return;
            // A bench with one pair of hands shows its one offer.
            var offer = snapshot.Offers[0];
            foreach (var (isBegin, at) in new[] { (false, real(offer.PromptAt)), (true, real(offer.MayBegin)) })
                if (at > now + Ahead)
                    coming[(offer.Key, isBegin)] = new Due(offer.Key, isBegin, at);
        }
    }

    private void Fall(double now)
    {
        foreach (var (key, one) in coming)
            if (one.At <= now && coming.TryRemove(key, out _))
                due.Add(one);
    }
}

/// <summary>What a real page did, and when: hooks that its scripts do not know of.</summary>
internal static class PageWatch
{
    /// <summary>
    /// Notes every change of the card's phase and every sound that was set and not taken back, in real milliseconds
    /// since 1970.
    /// </summary>
    public const string Script = """
        (() => {
          const wall = () => performance.timeOrigin + performance.now();
          window.seen = { shown: [], sounds: [] };
          const start = OscillatorNode.prototype.start, stop = OscillatorNode.prototype.stop;
          const set = new WeakMap();
          OscillatorNode.prototype.start = function (when) {
            const at = wall() + ((when ?? 0) - this.context.currentTime) * 1000;
            const one = { at, back: false };
            set.set(this, one);
            window.seen.sounds.push(one);
            return start.call(this, when);
          };
          OscillatorNode.prototype.stop = function (when) {
            const one = set.get(this);
            if (one && when === undefined && wall() < one.at) one.back = true;
            return stop.call(this, when);
          };
          addEventListener('DOMContentLoaded', () => new MutationObserver(() => {
            const card = document.querySelector('.card');
            if (!card) return;
            const last = window.seen.shown.at(-1);
            if (last?.offer !== card.dataset.offer || last?.phase !== card.dataset.phase)
              window.seen.shown.push({ at: wall(), offer: card.dataset.offer ?? '', phase: card.dataset.phase ?? '' });
          }).observe(document.documentElement, { subtree: true, attributes: true, attributeFilter: ['data-phase', 'data-offer'] }));
        })();
        """;
}

/// <summary>What a page did, read back.</summary>
internal sealed class PageSeen
{
    public List<ShownAt> Shown { get; set; } = [];

    public List<SoundAt> Sounds { get; set; } = [];

    internal sealed class ShownAt
    {
        public double At { get; set; }

        public string Offer { get; set; } = "";

        public string Phase { get; set; } = "";
    }

    internal sealed class SoundAt
    {
        public double At { get; set; }

        public bool Back { get; set; }
    }
}
