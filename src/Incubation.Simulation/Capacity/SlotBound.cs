using Incubation.Model;

namespace Incubation.Simulation.Capacity;

/// <summary>
/// The most that slots can do, whatever else a bench has. A cartridge takes its slot from its load's start to its
/// move's start, and the move ends when the window opens at the earliest: incubation + load − move. So n slots give at
/// most n over that time (Little's law with every slot always taken; six slots of fifteen minutes give at most 24 an
/// hour).
/// </summary>
public static class SlotBound
{
    /// <summary>
    /// Cartridges an hour, infinite where no assay of the demand needs a slot. One that may react in a reader as well
    /// can do without, and takes none.
    /// </summary>
    public static double PerHour(CapacityQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        var assays = question.Assays.ToDictionary(assay => assay.Code);
        double Hours(Assay assay) => assay.Place == IncubationPlace.Incubator
            ? (assay.Incubation + question.Times.Mean(assay.Load) - assay.Move).TotalHours
            : 0;
        var hours = question.Demand.Rates.Sum(rate => rate.PerDay * Hours(assays[rate.Assay]));
        return hours <= 0 ? double.PositiveInfinity : question.Bench.Slots * question.Demand.PerDay / hours;
    }
}
