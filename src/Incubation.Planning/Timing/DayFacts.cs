using Incubation.Model;
using NodaTime;

namespace Incubation.Planning.Timing;

/// <summary>
/// What has begun or ended on a day, as rules see it: a step in progress ends at the later of its start + length and
/// now, at the earliest at the later of its start + shortest and now. Instants are whole milliseconds since the day's
/// start.
/// </summary>
internal sealed class DayFacts
{
    private readonly Dictionary<RequestId, Assay> assays;
    private readonly Dictionary<RequestId, CartridgeInWork> cartridges;

    public DayFacts(BenchDay day)
    {
        Day = day;
        Now = Ms(day.Now);
        var byKey = day.Assays.ToDictionary(assay => assay.Key);
        assays = day.Requests.ToDictionary(request => request.Id, request => byKey[request.AssayKey]);
        cartridges = day.MidRun?.Cartridges.ToDictionary(cartridge => cartridge.Request) ?? [];
        InProgress = day.MidRun?.Steps ?? [];
    }

    public BenchDay Day { get; }

    public long Now { get; }

    public IReadOnlyList<StepInProgress> InProgress { get; }

    public static long Ms(Duration length) => length.BclCompatibleTicks / NodaConstants.TicksPerMillisecond;

    public long Ms(Instant instant) => Ms(instant - Day.Start);

    public Instant At(long ms) => Day.Start + Duration.FromMilliseconds(ms);

    public bool Has(RequestId request) => assays.ContainsKey(request);

    public Assay AssayOf(RequestId request) => assays[request];

    public CartridgePhase? PhaseOf(RequestId request) => cartridges.GetValueOrDefault(request)?.Phase;

    /// <summary>
    /// Whether a cartridge must be discarded although its times may not be over: one in a reader is cleared as any
    /// other.
    /// </summary>
    public bool MustDiscard(RequestId request) => cartridges.GetValueOrDefault(request) is
    {
        MustDiscard: true,
        Phase: CartridgePhase.Mixed or CartridgePhase.Reacting { Place: CartridgePlace.InSlot },
    };

    /// <summary>The card that is in a reader, or null.</summary>
    public LotCode? CardIn(ReaderNumber reader)
    {
        foreach (var card in Day.MidRun?.Cards ?? [])
            if (card.Reader == reader)
                return card.Card;
        return null;
    }

    public StepInProgress? Doing<TAction>(RequestId request)
        where TAction : StepAction =>
        InProgress.FirstOrDefault(step => step.Action is TAction && step.Action.Subject == request);

    /// <summary>When a step in progress ends, for planning.</summary>
    public long EndOf(StepInProgress step)
    {
        var ends = Math.Max(Ms(step.Start) + Ms(LengthOf(step.Action)), Now);
        // Hands that are quicker hold until the read may start.
        return step.Action is StepAction.Move move && LoadEnd(move.Request) is { } load
            ? Math.Max(ends, load.Latest + Ms(AssayOf(move.Request).Incubation))
            : ends;
    }

    public Duration LengthOf(StepAction action) => action switch
    {
        StepAction.CardChange => Day.Bench.CardChange,
        StepAction.Mix mix => AssayOf(mix.Request).Mix,
        StepAction.Load load => AssayOf(load.Request).Load,
        StepAction.Move move => AssayOf(move.Request).Move,
        StepAction.Read read => AssayOf(read.Request).Read,
        _ => AssayOf(action.Subject!.Value).Clear,
    };

    /// <summary>The mix's end where it has been or is being mixed.</summary>
    public (long Earliest, long Latest)? MixEnd(RequestId request)
    {
        if (PhaseOf(request) is CartridgePhase.Mixed mixed)
            return (Ms(mixed.MixEnd.Earliest), Ms(mixed.MixEnd.Latest));
        return Doing<StepAction.Mix>(request) is { } mixing
            ? (Math.Max(Ms(mixing.Start) + Ms(AssayOf(request).MixShortest), Now), EndOf(mixing))
            : null;
    }

    /// <summary>The load's end where it has been or is being loaded.</summary>
    public (long Earliest, long Latest)? LoadEnd(RequestId request)
    {
        if (PhaseOf(request) is CartridgePhase.Reacting reacting)
            return (Ms(reacting.LoadEnd.Earliest), Ms(reacting.LoadEnd.Latest));
        return Doing<StepAction.Load>(request) is { } loading
            ? (Math.Max(Ms(loading.Start) + Ms(AssayOf(request).LoadShortest), Now), EndOf(loading))
            : null;
    }

    /// <summary>Where a cartridge has been or is being loaded, or null.</summary>
    public CartridgePlace? PlaceOf(RequestId request) =>
        (PhaseOf(request) as CartridgePhase.Reacting)?.Place
        ?? (Doing<StepAction.Load>(request)?.Action as StepAction.Load)?.Place;

    /// <summary>
    /// The read of a cartridge that is in a reader, or on its way into one; null for any other, and once it is over.
    /// </summary>
    public (ReaderNumber Reader, long Start, long End)? ReadOf(RequestId request)
    {
        var read = Ms(AssayOf(request).Read);
        if (PhaseOf(request) is CartridgePhase.Reading reading)
            return (reading.Reader, Ms(reading.Start), Math.Max(Ms(reading.Start) + read, Now));
        if (Doing<StepAction.Move>(request) is { } moving)
            return (((StepAction.Move)moving.Action).Reader, EndOf(moving), EndOf(moving) + read);
        if (PlaceOf(request) is not CartridgePlace.InReader inside || LoadEnd(request) is not { } load)
            return null;
        var starts = load.Latest + Ms(AssayOf(request).Incubation);
        return (inside.Reader, starts, Math.Max(starts + read, Now));
    }
}
