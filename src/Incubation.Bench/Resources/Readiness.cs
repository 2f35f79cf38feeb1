using System.Collections.Immutable;
using System.Globalization;
using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>What must be ready before cartridges are started.</summary>
public enum ReadinessKind
{
    /// <summary>The incubator is at its temperature, and has been for its warm-up time.</summary>
    Incubator,

    /// <summary>Kit and buffer of a lot have stood at room temperature.</summary>
    Materials,

    /// <summary>A reader has checked itself.</summary>
    ReaderCheck,
}

/// <summary>Names a thing that must be ready.</summary>
/// <param name="Kind">What.</param>
/// <param name="Of">Of which lot or reader; "" for the incubator.</param>
public sealed record ReadinessKey(ReadinessKind Kind, string Of)
{
    /// <summary>The incubator's.</summary>
    public static ReadinessKey Incubator { get; } = new(ReadinessKind.Incubator, "");

    /// <summary>A kit lot's.</summary>
    public static ReadinessKey Materials(LotCode lot) => new(ReadinessKind.Materials, lot.Value);

    /// <summary>A reader's.</summary>
    public static ReadinessKey ReaderCheck(ReaderNumber reader) =>
        new(ReadinessKind.ReaderCheck, reader.Value.ToString(CultureInfo.InvariantCulture));
}

/// <summary>A person's confirmation that something is ready.</summary>
/// <param name="Key">What.</param>
/// <param name="Since">Since when: when the kit was taken out, when the self-check was done.</param>
/// <param name="By">Who confirmed it.</param>
public sealed record ReadinessConfirmation(ReadinessKey Key, Instant Since, PersonId By);

/// <summary>One line of the readiness list.</summary>
/// <param name="Key">What must be ready.</param>
/// <param name="From">When it is ready, if nothing more happens; null where somebody must do something first.</param>
/// <param name="Confirmation">The confirmation that it rests on, or null.</param>
public sealed record ReadinessItem(ReadinessKey Key, Instant? From, ReadinessConfirmation? Confirmation)
{
    /// <summary>Whether it is ready at an instant.</summary>
    public bool IsSo(Instant now) => From <= now;
}

/// <summary>
/// What must be ready before the batch's requests are started, by their assays' sheets; asked only where it is due. A
/// batch has one incubator temperature: that of its first request that names one.
/// </summary>
public static class Readiness
{
    /// <summary>
    /// An incubator must have been inside its tolerance for this time before it is relied on (common practice; its own
    /// instructions come first).
    /// </summary>
    public static readonly Duration WarmUp = Duration.FromMinutes(10);

    /// <summary>For how long after it was typed in a temperature is relied on.</summary>
    public static readonly Duration MeasuredWithin = Duration.FromHours(1);

    /// <summary>
    /// For how long a reader's self-check is relied on; it is done on each day of use (common practice).
    /// </summary>
    public static readonly Duration CheckedWithin = Duration.FromHours(16);

    /// <summary>
    /// What must be ready for the requests that are not started, in the order in which it is done; empty where nothing
    /// is asked.
    /// </summary>
    public static ImmutableArray<ReadinessItem> List(BenchState state, Instant now)
    {
        ArgumentNullException.ThrowIfNull(state);
        var open = state.Cartridges.Where(cartridge => cartridge.Stage is CartridgeStage.Waiting && Asks(cartridge))
            .ToList();
        var items = ImmutableArray.CreateBuilder<ReadinessItem>();
        if (open.Exists(cartridge => Warmth(cartridge) is not null))
            items.Add(OfIncubator(state, now));
        foreach (var lot in open.Where(cartridge => Stand(cartridge) > Duration.Zero)
            .GroupBy(cartridge => cartridge.Wanted.Request.Lot))
            items.Add(OfMaterials(state, lot.Key, lot.Max(Stand)));
        if (open.Count > 0)
            foreach (var reader in state.Readers)
                items.Add(OfReader(state, reader, now));
        return items.ToImmutable();
    }

    /// <summary>The temperature at which the batch runs, or null where no request names one.</summary>
    public static WarmthRule? BatchWarmth(BenchState state)
    {
        ArgumentNullException.ThrowIfNull(state);
        return state.Cartridges.Where(cartridge => cartridge.Stage is not CartridgeStage.Withdrawn).Select(Warmth)
            .FirstOrDefault(warmth => warmth is not null);
    }

    /// <summary>
    /// The incubator's rule: as a person set it, else as the batch's assays say; null where nobody says anything.
    /// </summary>
    public static IncubatorRule? RuleOf(BenchState state)
    {
        if (state.Incubator is { } set)
            return set;
        if (BatchWarmth(state) is not { } warmth)
            return null;
        var rules = state.Cartridges.Where(cartridge => Warmth(cartridge)?.DiscardBeyond is not null)
            .GroupBy(cartridge => cartridge.Wanted.Assay.Code)
            .Select(assay =>
                new TemperatureRule(assay.Key, assay.Min(cartridge => Warmth(cartridge)!.DiscardBeyond!.Value)));
        return new IncubatorRule(warmth.Set, warmth.Tolerance, [.. rules]);
    }

    /// <summary>
    /// Whether a request wants another temperature than its batch runs at: it stands aside for a later one.
    /// </summary>
    internal static bool IsAside(BenchState state, Cartridge cartridge) =>
        Warmth(cartridge) is { } own && BatchWarmth(state) is { } batch && own.Set != batch.Set;

    /// <summary>Whether a request needs something that is not ready, and nobody can say when it will be.</summary>
    /// <param name="items">What must be ready, as <see cref="List"/> gives it.</param>
    /// <param name="cartridge">The request's cartridge.</param>
    internal static bool IsMissing(ImmutableArray<ReadinessItem> items, Cartridge cartridge) =>
        Asks(cartridge) && items.Any(item => item.From is null && Concerns(item.Key, cartridge));

    /// <summary>
    /// From when everything that a request needs is ready; its own ready time where that is later or nothing is asked.
    /// </summary>
    /// <param name="items">What must be ready, as <see cref="List"/> gives it.</param>
    /// <param name="cartridge">The request's cartridge.</param>
    internal static Instant ReadyAt(ImmutableArray<ReadinessItem> items, Cartridge cartridge)
    {
        var ready = cartridge.Wanted.Request.Ready;
        if (!Asks(cartridge))
            return ready;
        foreach (var item in items)
            if (Concerns(item.Key, cartridge) && item.From > ready)
                ready = item.From.Value;
        return ready;
    }

    /// <summary>
    /// Records a person's confirmation; refused for the incubator, which is measured, and for a lot or reader that
    /// the bench does not have.
    /// </summary>
    internal static Decision Confirm(BenchState state, BenchCommand.ConfirmReady confirm, Provenance provenance) =>
        confirm.Key.Kind switch
        {
            ReadinessKind.Incubator => Decisions.Refuse(Refusal.NoSuchThing),
            ReadinessKind.ReaderCheck
                when !state.Readers.Any(reader => ReadinessKey.ReaderCheck(reader) == confirm.Key) =>
                Decisions.Refuse(Refusal.NoSuchThing),
            ReadinessKind.Materials
                when state.Cartridges.All(cartridge => cartridge.Wanted.Request.Lot.Value != confirm.Key.Of) =>
                Decisions.Refuse(Refusal.NoSuchThing),
            _ => Decisions.Accept(new BenchEvent.ReadinessConfirmed(confirm.Key, provenance.At)),
        };

    /// <summary>The state after a person's confirmation.</summary>
    internal static BenchState Apply(BenchState state, BenchEvent.ReadinessConfirmed confirmed, PersonId by) =>
        state.InCheckpoint(bench => bench with
        {
            ReadinessWords = [.. bench.ReadinessWords.Where(word => word.Key != confirmed.Key),
            new ReadinessConfirmation(confirmed.Key, confirmed.Since, by)],
        });

    private static ReadinessItem OfIncubator(BenchState state, Instant now)
    {
        var isKnown = state.Temperature is { } last && last.At + MeasuredWithin > now && state.OutsideSince is null
            && state.InsideSince is not null;
        return new ReadinessItem(ReadinessKey.Incubator, isKnown ? state.InsideSince + WarmUp : null, null);
    }

    private static ReadinessItem OfMaterials(BenchState state, LotCode lot, Duration stand)
    {
        var word = state.ReadinessWords.FirstOrDefault(word => word.Key == ReadinessKey.Materials(lot));
        return new ReadinessItem(ReadinessKey.Materials(lot), word?.Since + stand, word);
    }

    private static ReadinessItem OfReader(BenchState state, ReaderNumber reader, Instant now)
    {
        var word = state.ReadinessWords.FirstOrDefault(word => word.Key == ReadinessKey.ReaderCheck(reader)
            && word.Since + CheckedWithin > now);
        return new ReadinessItem(ReadinessKey.ReaderCheck(reader), word?.Since, word);
    }

    private static bool Concerns(ReadinessKey key, Cartridge cartridge) => key.Kind switch
    {
        ReadinessKind.Incubator => Warmth(cartridge) is not null,
        ReadinessKind.Materials => key.Of == cartridge.Wanted.Request.Lot.Value,
        _ => true,
    };

    /// <summary>Whether its assay's sheet asks for anything to be ready.</summary>
    private static bool Asks(Cartridge cartridge) => Warmth(cartridge) is not null || Stand(cartridge) > Duration.Zero;

    private static WarmthRule? Warmth(Cartridge cartridge) =>
        cartridge.Wanted.Assay.Place == IncubationPlace.Reader ? null : cartridge.Wanted.Facts?.Warmth;

    private static Duration Stand(Cartridge cartridge) => cartridge.Wanted.Facts?.Materials?.Stand ?? Duration.Zero;
}
