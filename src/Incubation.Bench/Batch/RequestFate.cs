using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What becomes of a request that has no value, so that nobody falls off the list.</summary>
public abstract record RequestFate
{
    private RequestFate() { }

    /// <summary>A repeat is planned in the same batch.</summary>
    /// <param name="By">The repeat.</param>
    public sealed record Repeated(RequestId By) : RequestFate;

    /// <summary>
    /// It goes on in the next batch: as it is where nothing was mixed, else as a repeat with an id of its own.
    /// </summary>
    /// <param name="At">When that was said.</param>
    /// <param name="By">By whom.</param>
    public sealed record CarriedOver(Instant At, PersonId By) : RequestFate;

    /// <summary>No value is looked for any more.</summary>
    /// <param name="Why">Why, in a person's words.</param>
    /// <param name="At">When that was said.</param>
    /// <param name="By">By whom.</param>
    public sealed record GivenUp(string Why, Instant At, PersonId By) : RequestFate;
}

/// <summary>A request without a value, and what becomes of it.</summary>
/// <param name="Cartridge">The request and its cartridge.</param>
/// <param name="Fate">What becomes of it; null where nobody has said.</param>
public sealed record WithoutValue(Cartridge Cartridge, RequestFate? Fate);

/// <summary>Which requests of a batch have no value, and what becomes of each.</summary>
public static class Fates
{
    /// <summary>
    /// Every request of the batch without a value, those in work and waiting too. A repeat that was taken back before
    /// it was mixed is left out: its first request stands for it.
    /// </summary>
    public static IEnumerable<WithoutValue> List(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Cartridges.Select(cartridge => Find(state, cartridge)).OfType<WithoutValue>();
    }

    /// <summary>One request as <see cref="List"/> has it, or null where it is not among them.</summary>
    public static WithoutValue? Find(BenchState state, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(cartridge);
        return HasNoValue(cartridge) && !IsTakenBackRepeat(state, cartridge)
            ? new WithoutValue(cartridge, Of(state, cartridge)) : null;
    }

    /// <summary>What becomes of a request without a value; null where nobody has said.</summary>
    public static RequestFate? Of(BenchState state, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(cartridge);
        return cartridge.Fate ?? (RepeatOf(state, cartridge) is { } repeat
            ? new RequestFate.Repeated(repeat.Id) : null);
    }

    /// <summary>
    /// Requests that wait or are over, have no value and no fate: while one is there the batch is not closed.
    /// </summary>
    public static IEnumerable<Cartridge> Open(BenchState state) => List(state)
        .Where(one => one.Fate is null && one.Cartridge is { IsOver: true } or { Stage: CartridgeStage.Waiting })
        .Select(one => one.Cartridge);

    /// <summary>
    /// Whether it has no value, and none is about to be entered. What was entered of a cartridge that was thrown away
    /// goes nowhere: as long as nobody takes the discard back, whoever waits for it waits.
    /// </summary>
    public static bool HasNoValue(Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(cartridge);
        return !cartridge.HasValue && !cartridge.ResultMissing;
    }

    /// <summary>Whether it can be said of a request that it goes on in the next batch.</summary>
    public static bool MayCarryOver(BenchState state, Cartridge cartridge)
    {
        ArgumentNullException.ThrowIfNull(state);
        ArgumentNullException.ThrowIfNull(cartridge);
        return FateDecisions.WhyNotCarried(state, cartridge) is null;
    }

    /// <summary>The repeat of a request that is planned, in work or done in the same batch; or null.</summary>
    internal static Cartridge? RepeatOf(BenchState state, Cartridge first) => state.Cartridges.FirstOrDefault(other =>
        FirstOf(state, other)?.Id == first.Id && !IsTakenBackRepeat(state, other));

    /// <summary>The request of this batch whose repeat a cartridge is, or null.</summary>
    internal static Cartridge? FirstOf(BenchState state, Cartridge repeat)
    {
        if (repeat.RepeatOf is { } of)
            return state.Find(of);
        // Old logs do not say which request a repeat is of: its id does, with a number behind.
        var id = repeat.Id.Value;
        var dash = id.LastIndexOf('-');
        return repeat.FromBatch is null && dash > 0 && dash < id.Length - 1 && id[(dash + 1)..].All(char.IsAsciiDigit)
            && state.Find(new RequestId(id[..dash])) is { } first
            && first.Wanted.Request.Specimen == repeat.Wanted.Request.Specimen
            && first.Wanted.Request.Assay == repeat.Wanted.Request.Assay
            && !repeat.Wanted.Request.RepeatLeft
            ? first : null;
    }

    private static bool IsTakenBackRepeat(BenchState state, Cartridge cartridge) =>
        cartridge.Stage is CartridgeStage.Withdrawn && cartridge.Fate is not RequestFate.CarriedOver
            && FirstOf(state, cartridge) is not null;
}
