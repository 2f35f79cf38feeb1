using System.Collections.Immutable;
using Incubation.Bench;
using Incubation.Model;
using Incubation.Planning;
using Incubation.Records.Benches;
using Incubation.Records.Log;
using Incubation.Service.Benches;
using Incubation.Service.Clock;
using Incubation.Simulation;
using Microsoft.Extensions.Logging;
using NodaTime;

namespace Incubation.Hostile;

/// <summary>A bench in the middle of its batch, from which cases begin.</summary>
/// <param name="Entries">Its log.</param>
/// <param name="State">What it knows.</param>
/// <param name="Now">When.</param>
internal sealed record BaseDay(ImmutableArray<BenchEntry> Entries, BenchState State, Instant Now);

/// <summary>The demo's batch at each of its steps, on virtual time: the same in every process.</summary>
internal static class BaseDays
{
    private static readonly PersonId Lena = new("lena");
    private static readonly DeviceId Tablet = new("tablet-1");

    /// <summary>Plays the batch of a bench that was just opened, and keeps where it stood after each step.</summary>
    public static async Task<IReadOnlyList<BaseDay>> PlayAsync(House house, PutTime time, int most)
    {
        var entries = new BenchStreams(house.File).Load(new BenchId("bench-1")).ToImmutableArray();
        var clock = new BenchClock(time, 1);
        var log = new MemoryLog(entries);
        var state = entries.Aggregate((BenchState?)null, LiveBench.Apply)!;
        var loop = Loop(state, log, clock, new FaultList());
        var count = 0;
        var days = new List<BaseDay>();
        await SayAsync(new BenchCommand.StartBatch());
        while (days.Count < most)
        {
            var look = await loop.KeepTimeAsync();
            days.Add(new BaseDay([.. log.Entries], loop.State, clock.Now));
            if (loop.State.Cartridges.FirstOrDefault(cartridge => cartridge.ResultMissing) is { } missing)
                await SayAsync(new BenchCommand.ResultEntered(missing.Id, new ShownResult.Value("3.20"),
                    new ShownIdentity(missing.Wanted.Request.Specimen.Value)));
            else if (look.Offers.MinBy(offer => offer.PlannedEnd) is { } offer)
            {
                time.Put(Instant.Max(clock.Now + Duration.FromSeconds(1), offer.PlannedEnd));
                await SayAsync(VirtualAide.ReportOf(offer.Action));
            }
            else if (look.ChangesAt is { } changes)
                time.Put(Instant.Max(clock.Now + Duration.FromSeconds(1), changes));
            else
                break;
        }

        return days;

        async Task SayAsync(BenchCommand command) => await loop.HearAsync(new CommandEnvelope(command,
            new Provenance(new ReportId($"base-{++count}"), clock.Now, clock.Now, Lena, Tablet)));
    }

    /// <summary>A bench's turns on a log in memory; what it logs as a fault is kept.</summary>
    public static BenchLoop Loop(BenchState state, IBenchLog log, BenchClock clock, FaultList faults)
    {
        var ids = 0;
        return new BenchLoop(state, log, clock, () => new IterationBudget(20), () => new IterationBudget(20),
            () => new ReportId($"own-{++ids}"), faults,
            new ClockGuard(clock, () => DateTimeZone.Utc, isRealTime: true), SearchPolicy.Live,
            StepPatience.Usual);
    }
}

/// <summary>A log in memory. What comes in is encoded and decoded as on the disk.</summary>
internal sealed class MemoryLog(IEnumerable<BenchEntry> before) : IBenchLog
{
    private readonly List<BenchEntry> entries = [.. before];

    /// <summary>All of it.</summary>
    public IReadOnlyList<BenchEntry> Entries => entries;

    /// <summary>The longest payload that was written, in characters.</summary>
    public int Longest { get; private set; }

    public Task<IReadOnlyList<BenchEntry>> ReadAsync(BenchId bench, long after, CancellationToken cancellation) =>
        Task.FromResult<IReadOnlyList<BenchEntry>>([.. entries.Skip((int)after)]);

    public Task AppendAsync(BenchId bench, long after, IReadOnlyList<BenchEntry> added, CancellationToken cancellation)
    {
        if (after != entries.Count)
            throw new InvalidOperationException($"The log has {entries.Count} entries, not {after}.");
        var stream = StreamName.OfBench(bench);
        for (var index = 0; index < added.Count; index++)
        {
            var encoded = BenchEvents.Registry.Encode(added[index].Event);
            Longest = Math.Max(Longest, encoded.Json.Length);
            var head = new LogHead(entries.Count, Chain.Beginning(stream.ToString()));
            var header = EventLog.HeaderOf(stream, head, new NewRow(encoded, added[index].Provenance), index);
            entries.Add(BenchStreams.EntryOf(Chain.Verify(header, encoded.Json, head)));
        }

        return Task.CompletedTask;
    }
}

/// <summary>Keeps what is logged as a fault.</summary>
internal sealed class FaultList : ILogger
{
    /// <summary>The faults.</summary>
    public List<string> Faults { get; } = [];

    public IDisposable? BeginScope<TState>(TState state)
        where TState : notnull => null;

    public bool IsEnabled(LogLevel logLevel) => true;

    public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception,
        Func<TState, Exception?, string> formatter)
    {
        if (logLevel >= LogLevel.Error)
            Faults.Add(formatter(state, exception) + " " + exception);
    }
}
