using System.Globalization;
using Incubation.Clinic.People;
using Incubation.Clinic.Programme;
using Incubation.Clinic.Stock;
using Incubation.Service.Clinic;
using Incubation.Service.Programme;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Decisions;

/// <summary>What of the clinic's control programme waits for a person's decision.</summary>
public sealed class ProgrammeDecisions(ClinicHost clinic, StockSettings settings)
{
    /// <summary>What waits on a day, in no order.</summary>
    /// <param name="today">The day, in the clinic's zone.</param>
    public IEnumerable<DecisionLine> Lines(LocalDate today) =>
        [.. OfTargets(today), .. OfLots(today), .. OfComparisons(), .. OfProficiency(today)];

    /// <summary>Targets that end soon, or have ended: the next one is set, or this one removed.</summary>
    private IEnumerable<DecisionLine> OfTargets(LocalDate today) => clinic.Log.Controls
        .EndingBy(today.PlusDays(settings.ExpiryWarningDays)).Select(target =>
        {
            var last = target.LastDay!.Value;
            var begun = last.PlusDays(-settings.ExpiryWarningDays).AtStartOfDayInZone(clinic.Facts.Zone).ToInstant();
            return Line(DecisionKind.TargetEnding, Instant.Max(begun, target.At), Say.Of(
                target.IsInForce(today) ? DecisionWords.TargetEnds : DecisionWords.TargetEnded, target.Assay,
                target.Control.Lot, target.Control.Level, Say.Day(last)), "controls");
        });

    /// <summary>Kit lots that can be used, and whose results wait for a comparison that nobody has begun.</summary>
    private IEnumerable<DecisionLine> OfLots(LocalDate today)
    {
        var (stock, comparisons) = (clinic.Log.Stock, clinic.Log.Comparisons);
        foreach (var item in stock.Items.Values.Where(item => item is { Kind: StockKind.Kit, FinishedAt: null }
            && item.Expiry >= today))
            if (item.Assay is { } assay && comparisons.HoldsBack(stock, assay, item.Lot)
                && !comparisons.Cases.Exists(one => one.New == item.Lot && one.Assay == assay))
                yield return Line(DecisionKind.LotToCompare, item.Shipments[0].At, Say.Of(DecisionWords.LotWith, assay,
                    item.Lot, ComparisonsState.Before(stock, assay, item.Lot).First()), "comparisons");
    }

    private IEnumerable<DecisionLine> OfComparisons() => clinic.Log.Comparisons.Cases
        .Where(one => one.Decision is null)
        .Select(one => Line(DecisionKind.ComparisonOpen, one.At, Say.Dotted(
            Say.Of(DecisionWords.LotWith, one.Assay, one.New, one.Old), ProgrammeText.Of(one.Outcome.Verdict)),
            string.Create(CultureInfo.InvariantCulture, $"comparisons/{one.Number}")));

    private IEnumerable<DecisionLine> OfProficiency(LocalDate today) => clinic.Log.Proficiency.Rounds
        .Where(round => round.IsOpen || round.AwaitsGrades)
        .Select(round => Line(round.IsOpen ? DecisionKind.ProficiencyDue : DecisionKind.ProficiencyToGrade,
            round.Reported?.At ?? round.At, Say.Dotted(
                Say.Of(DecisionWords.RoundDue, round.Programme, round.Name, Say.Day(round.Due)),
                ProgrammeText.Of(round, today)),
            string.Create(CultureInfo.InvariantCulture, $"proficiency/{round.Number}")));

    private static DecisionLine Line(DecisionKind kind, Instant since, string what, string address) =>
        new(kind, since, null, what, address, Right.Supervise);
}
