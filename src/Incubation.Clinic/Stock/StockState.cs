using System.Collections.Immutable;
using Incubation.Model;
using NodaTime;
using NodaTime.Text;

namespace Incubation.Clinic.Stock;

/// <summary>Every lot, as the clinic's stream tells. Immutable; made from events alone; reads no clock.</summary>
public sealed record StockState
{
    /// <summary>
    /// What a kit needs beside it, of its own lot (42 CFR 493.1252(e): parts of kits of different lots must not be
    /// mixed).
    /// </summary>
    internal static readonly StockKind[] Parts = [StockKind.Kit, StockKind.Buffer, StockKind.ReaderCard];

    /// <summary>Nothing yet.</summary>
    public static StockState Empty { get; } = new();

    /// <summary>Every lot that has ever come in.</summary>
    public ImmutableDictionary<StockKey, StockItem> Items { get; private init; } =
        ImmutableDictionary<StockKey, StockItem>.Empty;

    /// <summary>Below which number something is ordered.</summary>
    public ImmutableDictionary<ReorderKey, int> ReorderPoints { get; private init; } =
        ImmutableDictionary<ReorderKey, int>.Empty;

    /// <summary>A lot, or null where it has not come in.</summary>
    public StockItem? Find(StockKind kind, LotCode lot) => Items.GetValueOrDefault(new StockKey(kind, lot));

    /// <summary>
    /// The last day on which a kit lot may be used: that of whichever part expires first. Only for a lot that has come
    /// in.
    /// </summary>
    /// <param name="lot">The kit lot.</param>
    /// <param name="control">The control material that is run with it, or null.</param>
    public LocalDate LastDayOf(LotCode lot, LotCode? control = null) => Parts.Select(kind => Find(kind, lot))
        .Append(control is { } material ? Find(StockKind.Control, material) : null).OfType<StockItem>()
        .Min(item => item.Expiry);

    /// <summary>When a kit lot or a part of it came in.</summary>
    public IReadOnlyList<Instant> CameIn(LotCode lot) =>
        [.. Parts.Select(kind => Find(kind, lot)).OfType<StockItem>().SelectMany(item => item.Shipments)
            .Select(shipment => shipment.At)];

    /// <summary>The kit lots of an assay that may be used on a day, the one that expires first first.</summary>
    public IReadOnlyList<StockItem> Usable(AssayCode assay, LocalDate day) =>
    [
        .. Items.Values.Where(item => item.Kind == StockKind.Kit && item.Assay == assay
            && StockStop.Of(this, item.Lot, assay, day) is null)
            .OrderBy(item => LastDayOf(item.Lot)).ThenBy(item => item.Lot.Value, StringComparer.Ordinal),
    ];

    /// <summary>The state after one more entry; accepts every entry that was ever recorded.</summary>
    internal StockState Apply(ClinicEntry entry)
    {
        var at = entry.Provenance.At;
        return entry.Event switch
        {
            // As it was before stock was counted: a kit with its buffer and its card.
            ClinicEvent.LotReceived old => Parts.Aggregate(this, (state, kind) => state.Add(
                new StockItem(kind, old.Lot, old.Assay, old.Expiry), new Shipment(at, null, null))),
            ClinicEvent.StockReceived received => Add(
                new StockItem(received.Kind, received.Lot, received.Assay, received.Expiry) { Item = received.Item },
                    new Shipment(at, received.Count, received.Serial)),
            ClinicEvent.StockOpened opened => With(opened.Kind, opened.Lot, item => item with { OpenedAt = at }),
            ClinicEvent.StockCounted counted =>
                With(counted.Kind, counted.Lot,
                    item => item with { Recount = new Recount(at, counted.Count, counted.Why) }),
            ClinicEvent.StockQuarantined shut =>
                With(shut.Kind, shut.Lot, item => item with { Quarantine = new Quarantine(at, shut.Why) }),
            ClinicEvent.StockLetOut let => With(let.Kind, let.Lot, item => item with { Quarantine = null }),
            ClinicEvent.StockFinished finished =>
                With(finished.Kind, finished.Lot, item => item with { FinishedAt = at }),
            ClinicEvent.ReorderPointSet set => this with
            {
                ReorderPoints = set.Least is { } least
                    ? ReorderPoints.SetItem(new ReorderKey(set.Kind, set.Assay), least)
                    : ReorderPoints.Remove(new ReorderKey(set.Kind, set.Assay)),
            },
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="knows">Whether an assay has an approved version.</param>
    internal ClinicObjection? Against(ClinicEvent @event, Func<AssayCode, bool> knows) => @event switch
    {
        ClinicEvent.StockReceived received => AgainstReceiving(received, knows),
        ClinicEvent.StockOpened opened =>
            Against(opened.Kind, opened.Lot, item => item.OpenedAt is not null || item.FinishedAt is not null),
        ClinicEvent.StockCounted counted =>
            Against(counted.Kind, counted.Lot, _ => false)
            ?? (counted.Count < 0
                ? new(ClinicRefusal.CountImpossible, counted.Lot.Value) : WithoutWhy(counted.Why, counted.Lot)),
        ClinicEvent.StockQuarantined shut => Against(shut.Kind, shut.Lot, item => item.Quarantine is not null)
            ?? WithoutWhy(shut.Why, shut.Lot),
        ClinicEvent.StockLetOut let => Against(let.Kind, let.Lot, item => item.Quarantine is null)
            ?? WithoutWhy(let.Why, let.Lot),
        ClinicEvent.StockFinished finished => Against(finished.Kind, finished.Lot, item => item.FinishedAt is not null),
        ClinicEvent.ReorderPointSet set => AgainstReorder(set, knows),
        _ => null,
    };

    private StockState Add(StockItem item, Shipment shipment)
    {
        var known = Items.GetValueOrDefault(item.Key) ?? item;
        return this with
        {
            Items =
                Items.SetItem(item.Key,
                    known with
                    {
                        Item = item.Item ?? known.Item,
                        Shipments = known.Shipments.Add(shipment),
                        FinishedAt = null
                    }),
        };
    }

    private StockState With(StockKind kind, LotCode lot, Func<StockItem, StockItem> change) =>
        Find(kind, lot) is { } item ? this with { Items = Items.SetItem(item.Key, change(item)) } : this;

    private ClinicObjection? AgainstReceiving(ClinicEvent.StockReceived received, Func<AssayCode, bool> knows)
    {
        var lot = received.Lot.Value;
        if (received.Assay is { } assay ? !knows(assay) : received.Kind != StockKind.Control)
            return new(ClinicRefusal.UnknownAssay, received.Assay?.Value ?? "");
        if (received.Count < 1)
            return new(ClinicRefusal.CountImpossible, lot);
        return Find(received.Kind, received.Lot) is not { } known ? null
            : known.Assay != received.Assay ? new(ClinicRefusal.LotOfAnotherAssay, lot)
            : known.Expiry != received.Expiry
            ? new(ClinicRefusal.ExpiryDiffers, $"{lot} ({LocalDatePattern.Iso.Format(known.Expiry)})")
            : null;
    }

    private static ClinicObjection? AgainstReorder(ClinicEvent.ReorderPointSet set, Func<AssayCode, bool> knows) =>
        set.Kind is not (StockKind.Kit or StockKind.Control)
            || (set.Assay is { } assay ? !knows(assay) : set.Kind != StockKind.Control)
            ? new(ClinicRefusal.UnknownAssay, set.Assay?.Value ?? "")
            : set.Least is < 1 or > Reorder.Most ? new(ClinicRefusal.CountImpossible, set.Assay?.Value ?? "")
            : null;

    private ClinicObjection? Against(StockKind kind, LotCode lot, Func<StockItem, bool> isSo) =>
        Find(kind, lot) is not { } item ? new(ClinicRefusal.UnknownLot, lot.Value)
        : isSo(item) ? new(ClinicRefusal.LotIsSo, lot.Value)
        : null;

    private static ClinicObjection? WithoutWhy(string why, LotCode lot) => string.IsNullOrWhiteSpace(why)
        ? new(ClinicRefusal.WhyMissing, lot.Value) : null;
}
