using Incubation.Clinic.Controls;
using Incubation.Clinic.People;
using Incubation.Service.Clinic;
using Incubation.Service.Stock;
using Incubation.Service.Text;
using NodaTime;

namespace Incubation.Service.Decisions;

/// <summary>What of the clinic's control programme waits for a person's decision.</summary>
public sealed class ProgrammeDecisions(ClinicHost clinic, StockSettings settings)
{
    /// <summary>What waits on a day, in no order.</summary>
    /// <param name="today">The day, in the clinic's zone.</param>
    public IEnumerable<DecisionLine> Lines(LocalDate today) => clinic.Log.Controls
        .EndingBy(today.PlusDays(settings.ExpiryWarningDays)).Select(target => Line(target, today));

    /// <summary>A target that ends soon, or has ended: the next one is set, or this one removed.</summary>
    private DecisionLine Line(PresentTarget target, LocalDate today)
    {
        var last = target.LastDay!.Value;
        var begun = last.PlusDays(-settings.ExpiryWarningDays).AtStartOfDayInZone(clinic.Facts.Zone).ToInstant();
        return new DecisionLine(DecisionKind.TargetEnding, Instant.Max(begun, target.At), null,
            Say.Of(target.IsInForce(today) ? DecisionWords.TargetEnds : DecisionWords.TargetEnded, target.Assay,
                target.Control.Lot, target.Control.Level, Say.Day(last)), "controls", Right.Supervise);
    }
}
