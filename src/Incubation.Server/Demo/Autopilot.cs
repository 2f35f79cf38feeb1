using System.Threading.Channels;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Server.Hubs;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Service.Commands;
using Incubation.Service.Snapshots;
using Incubation.Simulation;
using Microsoft.AspNetCore.SignalR.Client;
using NodaTime;
using NodaTime.Serialization.SystemTextJson;

namespace Incubation.Server.Demo;

/// <summary>
/// A virtual aide at the first bench: connects to this server's own hub as any tablet does, follows the one next thing,
/// and taps in a person's time. Starts the batch, enters invented results, prints how it went, and leaves the batch for
/// a person to look at and close.
/// </summary>
public sealed class Autopilot : IAsyncDisposable
{
    /// <summary>How the autopilot calls itself; in the log stands its key.</summary>
    public const string DevicePrefix = "autopilot";

    private static readonly string NotKnown = KebabCase.Of(QuestionKind.StepNotKnown);
    private static readonly Duration RetryAfter = Duration.FromSeconds(2);
    private static readonly TimeSpan AttendEvery = TimeSpan.FromSeconds(3);

    private readonly HubConnection hub;
    private readonly BenchClock clock;
    private readonly string bench;
    private readonly RandomStepLengths times = new();
    private readonly Random random;
    private readonly VirtualAide aide;
    private readonly Channel<BenchSnapshot> news = Channel.CreateBounded<BenchSnapshot>(
        new BoundedChannelOptions(1) { FullMode = BoundedChannelFullMode.DropOldest });
    private readonly Dictionary<string, Duration> lengths = [];
    private readonly List<Duration> spares = [];
    // Latest starts of steps while they were still to come: a step in progress has no spare time any more.
    private readonly Dictionary<(string Kind, string? Request, int? Reader), Instant> latest = [];

    /// <summary>Makes an aide, with a program's key, for a bench of the server at an address.</summary>
    public Autopilot(Uri server, string key, string bench, BenchClock clock, ulong seed)
    {
        this.bench = bench;
        this.clock = clock;
        // A demonstration's chances need no secrecy; the seed makes them repeatable.
        random = new Random(unchecked((int)seed));
        aide = new VirtualAide(random);
        hub = new HubConnectionBuilder()
            .WithUrl(new Uri(server, BenchHub.Path), options => options.AccessTokenProvider = () =>
                Task.FromResult<string?>(key))
            .AddJsonProtocol(options =>
                options.PayloadSerializerOptions.ConfigureForNodaTime(DateTimeZoneProviders.Tzdb))
            .WithAutomaticReconnect()
            .Build();
        hub.On<BenchSnapshot>(nameof(IBenchScreen.Snapshot), snapshot => news.Writer.TryWrite(snapshot));
        // A line that was cut and is back is a new one to the server: it tells nothing until it is asked to again.
        hub.Reconnected += async _ => news.Writer.TryWrite(await WatchAsync(CancellationToken.None));
        hub.Closed += fault =>
        {
            news.Writer.TryComplete(fault);
            return Task.CompletedTask;
        };
    }

    /// <summary>
    /// Whether its readers send their results by wire: it types one only where nothing else is left to do.
    /// </summary>
    public bool IsWired { get; init; }

    /// <summary>Told after each report how long its acknowledgement took, in real time.</summary>
    public event Action<TimeSpan>? Acknowledged;

    /// <summary>Plays the batch to its end and returns how it went.</summary>
    public async Task<DaySummary> PlayAsync(CancellationToken cancellation)
    {
        await hub.StartAsync(cancellation);
        var snapshot = await WatchAsync(cancellation);
        using var attending = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        var attends = AttendAsync(attending.Token);
        try
        {
            return await PlayAsync(snapshot, cancellation);
        }
        finally
        {
            await attending.CancelAsync();
            await attends;
        }
    }

    private Task<BenchSnapshot> WatchAsync(CancellationToken cancellation) =>
        hub.InvokeAsync<BenchSnapshot>(nameof(BenchHub.Watch), bench, "wide", cancellation);

    /// <summary>It looks and listens all the time, and says so as any screen does.</summary>
    private async Task AttendAsync(CancellationToken cancellation)
    {
        using var tick = new PeriodicTimer(AttendEvery);
        try
        {
            do
            {
                if (hub.State == HubConnectionState.Connected)
                    await hub.SendAsync(nameof(BenchHub.Attend), bench, true, true, cancellation);
            }
            while (await tick.WaitForNextTickAsync(cancellation));
        }
        catch (Exception fault) when (fault is OperationCanceledException or InvalidOperationException)
        {
            // It leaves: from here on nobody is there.
        }
    }

    private async Task<DaySummary> PlayAsync(BenchSnapshot snapshot, CancellationToken cancellation)
    {
        while (true)
        {
            snapshot = Newest(snapshot);
            if (NextTap(snapshot) is not { } tap)
            {
                if (IsOver(snapshot))
                    return Summary(snapshot);
                snapshot = await news.Reader.ReadAsync(cancellation);
            }
            else if (tap.At > clock.Now)
            {
                await WaitForNewsAsync(tap.At - clock.Now, cancellation);
            }
            else
            {
                snapshot = await TapAsync(tap, snapshot, cancellation);
            }
        }
    }

    /// <inheritdoc/>
    public ValueTask DisposeAsync() => hub.DisposeAsync();

    private sealed record Tap(Instant At, BenchCommand Command, string? Offer);

    private Tap? NextTap(BenchSnapshot snapshot)
    {
        if (snapshot.Batch.Phase == "preparing")
            return snapshot.Batch.Total > 0 ? new Tap(clock.Now, new BenchCommand.StartBatch(), null) : null;
        if (snapshot.MissingResults.Count > 0 && (!IsWired || snapshot.Offers.Count == 0))
        {
            var missing = snapshot.MissingResults[0];
            var result = new BenchCommand.ResultEntered(
                new RequestId(missing.Request), new ShownResult.Value(aide.InventedResult()),
                    new ShownIdentity(missing.Specimen));
            return new Tap(clock.Now, result, null);
        }

        // At a high pace it may be late by more than hands are believed; what it follows it has not ended yet.
        if (snapshot.Questions.FirstOrDefault(question => question.Kind == NotKnown) is { Request: { } of })
            return new Tap(clock.Now, new BenchCommand.AnswerQuestion(
                new QuestionKey(QuestionKind.StepNotKnown, of), Answer.NotBegun), null);

        foreach (var coming in snapshot.Upcoming)
            if (coming.SpareSeconds is { } spare)
                latest[(coming.Kind, coming.Request, coming.Reader)] = coming.Start + Duration.FromSeconds(spare);
        return snapshot.Offers.Select(Follow).MinBy(tap => tap.At);
    }

    /// <summary>When a step will have been done, in the time that these hands take for it, and its report.</summary>
    private Tap Follow(OfferSnapshot offer)
    {
        if (!lengths.TryGetValue(offer.Key, out var length))
        {
            length = times.Draw(offer.PlannedEnd - offer.MayBegin, random);
            lengths[offer.Key] = length;
            NoteSpare(offer);
        }

        var at = Instant.Max(offer.MayBegin + length, offer.ReportFrom);
        var reason = KebabCase.Find<DiscardReason>(offer.Reason);
        return new Tap(at, VirtualAide.ReportOf(ActionOf(offer), reason), offer.Key);
    }

    private static StepAction ActionOf(OfferSnapshot offer) => offer.Kind switch
    {
        "mix" => new StepAction.Mix(RequestOf(offer)),
        "load" when offer.Slot is { } slot =>
            new StepAction.Load(RequestOf(offer), new CartridgePlace.InSlot(new SlotNumber(slot))),
        "load" => new StepAction.Load(RequestOf(offer), new CartridgePlace.InReader(ReaderOf(offer))),
        "move" => new StepAction.Move(RequestOf(offer), ReaderOf(offer)),
        "clear" => new StepAction.Clear(RequestOf(offer), ReaderOf(offer)),
        "card-change" => new StepAction.CardChange(ReaderOf(offer), new LotCode(offer.Lot!)),
        "discard" => new StepAction.Discard(RequestOf(offer)),
        _ => throw new InvalidOperationException($"No step is called {offer.Kind}."),
    };

    private static RequestId RequestOf(OfferSnapshot offer) => new(offer.Request!);

    private static ReaderNumber ReaderOf(OfferSnapshot offer) => new(offer.Reader!.Value);

    private void NoteSpare(OfferSnapshot offer)
    {
        var stated = offer.LatestStart > offer.MayBegin ? offer.LatestStart : null;
        if (stated is null && latest.TryGetValue((offer.Kind, offer.Request, offer.Reader), out var known))
            stated = known;
        if (stated is { } at)
            spares.Add(Duration.Max(Duration.Zero, at - offer.MayBegin));
    }

    private async Task<BenchSnapshot> TapAsync(Tap tap, BenchSnapshot snapshot, CancellationToken cancellation)
    {
        var sent = TimeProvider.System.GetTimestamp();
        var answer = await hub.InvokeAsync<CommandAnswer>(nameof(BenchHub.Send), bench,
            CommandWriter.Write(tap.Command, tap.At, DevicePrefix), cancellation);
        Acknowledged?.Invoke(TimeProvider.System.GetElapsedTime(sent));
        if (!answer.Recorded)
        {
            await WaitForNewsAsync(RetryAfter, cancellation);
            return Newest(snapshot);
        }

        if (tap.Offer is not null)
            lengths.Remove(tap.Offer);
        // What was offered before the report is not tapped again.
        while ((snapshot = Newest(snapshot)).Revision < answer.Revision)
            snapshot = await news.Reader.ReadAsync(cancellation);
        return snapshot;
    }

    private BenchSnapshot Newest(BenchSnapshot snapshot) =>
        news.Reader.TryRead(out var newer) && newer.Revision >= snapshot.Revision ? newer : snapshot;

    /// <summary>Waits so long in the server's time, or until something changes.</summary>
    private async Task WaitForNewsAsync(Duration length, CancellationToken cancellation)
    {
        using var enough = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        var arrival = news.Reader.WaitToReadAsync(enough.Token).AsTask();
        var time = Task.Delay(length.ToTimeSpan(), clock.Time, enough.Token);
        await Task.WhenAny(arrival, time);
        await enough.CancelAsync();
        cancellation.ThrowIfCancellationRequested();
    }

    private static bool IsOver(BenchSnapshot snapshot) =>
        snapshot.Batch.Phase == "finished"
        || (snapshot.Batch.Phase == "running" && snapshot.Offers.Count == 0 && snapshot.Upcoming.Count == 0
            && snapshot.Slots.All(slot => slot.Request is null)
            && snapshot.Readers.All(reader => reader.Request is null));

    private DaySummary Summary(BenchSnapshot snapshot)
    {
        spares.Sort();
        var batch = snapshot.Batch;
        return new DaySummary(
            batch.Total, batch.ReadInWindow, batch.ReadOutside, batch.Discarded,
            batch.Finish is { } finish && batch.StartedAt is { } started ? finish - started : Duration.Zero,
            spares.Count == 0 ? null : spares[0],
            spares.Count == 0 ? null : spares[spares.Count / 2]);
    }
}
