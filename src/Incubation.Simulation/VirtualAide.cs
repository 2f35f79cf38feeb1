using System.Globalization;
using Incubation.Bench;
using Incubation.Model;

namespace Incubation.Simulation;

/// <summary>A virtual aide: reports what is offered with one tap, and invents results.</summary>
/// <param name="random">Every chance that the aide takes.</param>
public sealed class VirtualAide(Random random)
{
    /// <summary>An invented result, for demonstrations and tests only: three digits and two decimals.</summary>
    public string InventedResult() => (0.2 + (random.NextDouble() * 9.7))
        .ToString("0.00", CultureInfo.InvariantCulture);

    /// <summary>
    /// An invented result as patients of a clinic give them, for demonstrations and tests only: three of four in the
    /// reference interval, most others above it, one of fifty critical, none outside the measuring range. Where the
    /// sheet states no measuring range, as <see cref="InventedResult()"/>.
    /// </summary>
    /// <param name="rule">How results of the assay are entered.</param>
    public string InventedResult(ResultRule rule)
    {
        const double Usual = 0.75, Critical = 0.98;
        ArgumentNullException.ThrowIfNull(rule);
        if (rule.Measuring is not { From: { } least and > 0, To: { } most })
            return InventedResult();
        decimal Within(decimal? value, decimal otherwise) => Math.Clamp(value ?? otherwise, least, most);
        var (from, to) = (Within(rule.Reference.From, least), Within(rule.Reference.To, most));
        var alarming = Math.Max(to, Within(rule.Critical.To, most));
        var chance = random.NextDouble();
        var (low, high, part) = chance < Usual ? (from, to, chance / Usual)
            : chance < Critical ? (to, alarming, (chance - Usual) / (Critical - Usual))
            : (alarming, most, (chance - Critical) / (1 - Critical));
        // Even on a logarithmic scale: of what spans decades, little is large.
        var value = (decimal)Math.Exp(Math.Log((double)low) + (part * Math.Log((double)(high / low))));
        var decimals = rule.Decimals ?? 2;
        return Math.Clamp(Math.Round(value, decimals), least, most)
            .ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture);
    }

    /// <summary>The report of a step done.</summary>
    /// <param name="action">The step.</param>
    /// <param name="reason">For a discard: the reason with which it was offered.</param>
    public static BenchCommand.Report ReportOf(StepAction action, DiscardReason? reason = null) => action switch
    {
        StepAction.Mix mix => new BenchCommand.Mixed(mix.Request),
        StepAction.Load load => new BenchCommand.Loaded(load.Request, load.Place, TimeStated: false),
        StepAction.Move move => new BenchCommand.ReadStarted(move.Request, move.Reader, StatedInTime: false),
        StepAction.Clear clear => new BenchCommand.Cleared(clear.Request, clear.Reader),
        StepAction.CardChange change => new BenchCommand.CardChanged(change.Reader, change.Lot),
        StepAction.Discard discard =>
            new BenchCommand.Discarded(discard.Request, reason ?? DiscardReason.WindowClosed, null),
        _ => throw new InvalidOperationException($"Nobody's hands do a {action.GetType().Name}."),
    };
}
