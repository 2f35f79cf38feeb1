using System.Collections.Immutable;
using Incubation.Clinic.Stock;
using Incubation.Model;
using NodaTime;

namespace Incubation.Clinic.Programme;

/// <summary>
/// Comparisons of kit lots as the clinic's stream tells of them. Immutable; made from events alone; reads no clock.
/// </summary>
public sealed record ComparisonsState
{
    /// <summary>None yet, and none asked for.</summary>
    public static ComparisonsState Empty { get; } = new();

    /// <summary>Since when results of new lots are held until they were compared; null where they are not.</summary>
    public Instant? RequiredSince { get; private init; }

    /// <summary>Every comparison; the n-th one has number n.</summary>
    public ImmutableList<ComparisonCase> Cases { get; private init; } = [];

    /// <summary>A comparison, or null.</summary>
    public ComparisonCase? Find(int number) => number >= 1 && number <= Cases.Count ? Cases[number - 1] : null;

    /// <summary>
    /// Whether a kit lot's results are held because of its comparison: one was refused and none accepted since, or the
    /// clinic asks for one and there is none yet. It is asked of lots that were received since the clinic asks for it,
    /// and only where another lot of the assay was received before.
    /// </summary>
    /// <param name="stock">Every lot.</param>
    /// <param name="assay">The assay.</param>
    /// <param name="lot">The kit lot.</param>
    public bool HoldsBack(StockState stock, AssayCode assay, LotCode lot)
    {
        ArgumentNullException.ThrowIfNull(stock);
        var latest = Cases.Where(one => one.Assay == assay && one.New == lot).Select(one => one.Decision)
            .OfType<ComparisonDecision>().LastOrDefault();
        return latest is null
            ? RequiredSince is { } since && ReceivedFirst(stock, lot) is { } at && at >= since
                && Before(stock, assay, lot).Any()
            : latest.Decision == LotDecision.Refused;
    }

    /// <summary>The kit lots of an assay that were received before another, the last first.</summary>
    public static IEnumerable<LotCode> Before(StockState stock, AssayCode assay, LotCode lot)
    {
        ArgumentNullException.ThrowIfNull(stock);
        return ReceivedFirst(stock, lot) is not { } at ? [] : stock.Items.Values
            .Where(item => item.Kind == StockKind.Kit && item.Assay == assay && item.Shipments[0].At < at)
            .OrderByDescending(item => item.Shipments[0].At).ThenBy(item => item.Lot.Value, StringComparer.Ordinal)
            .Select(item => item.Lot);
    }

    private static Instant? ReceivedFirst(StockState stock, LotCode lot) =>
        stock.Find(StockKind.Kit, lot)?.Shipments[0].At;

    /// <summary>The state after one more entry; the same where it is about something else.</summary>
    internal ComparisonsState Apply(ClinicEntry entry)
    {
        var (by, at) = (entry.Provenance.Person, entry.Provenance.At);
        return entry.Event switch
        {
            ClinicEvent.LotComparisonRequired set =>
                this with { RequiredSince = set.Required ? RequiredSince ?? at : null },
            ClinicEvent.LotComparisonBegun begun => this with
            {
                Cases = Cases.Add(new ComparisonCase(Cases.Count + 1, begun.Assay, begun.Old, begun.New,
                    begun.Criterion, by, at)),
            },
            ClinicEvent.LotPairSet set => With(set.Comparison, one => one with
            {
                Pairs = With(one.Pairs, new ComparedPair(set.Pair, set.Label, set.Old, set.New, by, at)),
            }),
            ClinicEvent.LotPairRemoved removed => With(removed.Comparison, one => one with
            {
                Pairs = [.. one.Pairs.Select(pair => pair.Number == removed.Pair
                    ? pair with { Removed = removed.Why, By = by, At = at } : pair)],
            }),
            ClinicEvent.LotComparisonSettled settled => With(settled.Comparison, one => one with
            {
                Decision = new ComparisonDecision(settled.Decision, settled.Why, by, at),
            }),
            _ => this,
        };
    }

    /// <summary>What speaks against an event, or null.</summary>
    /// <param name="event">The event.</param>
    /// <param name="stock">Every lot.</param>
    internal ClinicObjection? Against(ClinicEvent @event, StockState stock) => @event switch
    {
        ClinicEvent.LotComparisonRequired set when set.Required == (RequiredSince is not null) =>
            new(ClinicRefusal.ComparisonIsSo, ""),
        ClinicEvent.LotComparisonBegun begun => AgainstBeginning(begun, stock),
        ClinicEvent.LotPairSet set => AgainstOpen(set.Comparison) ?? AgainstPair(set, Find(set.Comparison)!),
        ClinicEvent.LotPairRemoved removed => AgainstOpen(removed.Comparison)
            ?? (string.IsNullOrWhiteSpace(removed.Why) ? new(ClinicRefusal.WhyMissing, Number(removed.Comparison))
                : Find(removed.Comparison)!.Counted.All(pair => pair.Number != removed.Pair)
                ? new(ClinicRefusal.UnknownComparison, Number(removed.Pair)) : null),
        ClinicEvent.LotComparisonSettled settled => AgainstOpen(settled.Comparison)
            ?? (string.IsNullOrWhiteSpace(settled.Why) ? new(ClinicRefusal.WhyMissing, Number(settled.Comparison))
                : settled.Decision == LotDecision.Accepted
                    && Find(settled.Comparison)!.Outcome.Verdict == Model.Controls.LotVerdict.TooFew
                ? new(ClinicRefusal.ComparisonTooFew, Number(Find(settled.Comparison)!.Criterion.Specimens)) : null),
        _ => null,
    };

    private ClinicObjection? AgainstBeginning(ClinicEvent.LotComparisonBegun begun, StockState stock)
    {
        foreach (var lot in new[] { begun.Old, begun.New })
        {
            if (stock.Find(StockKind.Kit, lot) is not { } item)
                return new(ClinicRefusal.UnknownLot, lot.Value);
            if (item.Assay != begun.Assay)
                return new(ClinicRefusal.LotOfAnotherAssay, lot.Value);
        }

        return begun.Old == begun.New || !begun.Criterion.IsPossible || begun.Comparison != Cases.Count + 1
            ? new(ClinicRefusal.ComparisonImpossible, begun.New.Value)
            : Cases.Find(one => one.New == begun.New && one.Assay == begun.Assay && one.Decision is null) is { } open
            ? new(ClinicRefusal.ComparisonIsSo, Number(open.Number))
            : null;
    }

    private ClinicObjection? AgainstOpen(int number) => Find(number) switch
    {
        null => new(ClinicRefusal.UnknownComparison, Number(number)),
        { Decision: not null } => new(ClinicRefusal.ComparisonSettled, Number(number)),
        _ => null,
    };

    private static ClinicObjection? AgainstPair(ClinicEvent.LotPairSet set, ComparisonCase one)
    {
        bool IsOnRecord(ComparedResult result) => result is { Bench: not null, Request: not null };
        return set.Pair < 1 || set.Pair > one.Pairs.Length + 1
                || !new Model.Controls.LotPair(set.Old.Value, set.New.Value).IsComparable(one.Criterion.Unit)
                || (string.IsNullOrWhiteSpace(set.Label) && !(IsOnRecord(set.Old) && IsOnRecord(set.New)))
                || one.Counted.Any(pair => pair.Number != set.Pair && ((pair.New.Request is { } other
                    && other == set.New.Request) || (pair.Old.Request is { } old && old == set.Old.Request)))
            ? new(ClinicRefusal.ComparisonImpossible, Number(set.Pair)) : null;
    }

    private ComparisonsState With(int number, Func<ComparisonCase, ComparisonCase> change) =>
        Find(number) is { } one ? this with { Cases = Cases.SetItem(number - 1, change(one)) } : this;

    private static ImmutableArray<ComparedPair> With(ImmutableArray<ComparedPair> pairs, ComparedPair set) =>
        pairs.Any(pair => pair.Number == set.Number)
            ? [.. pairs.Select(pair => pair.Number == set.Number ? set : pair)] : pairs.Add(set);

    private static string Number(int number) => number.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
