namespace Incubation.Model.Controls;

/// <summary>In what a difference between two lots is counted.</summary>
public enum DifferenceUnit
{
    /// <summary>In percent of the old lot's value.</summary>
    Percent,

    /// <summary>In the unit of the assay.</summary>
    Units,
}

/// <summary>By what a new lot is judged beside an old one.</summary>
/// <param name="Unit">In what differences are counted.</param>
/// <param name="Largest">The largest mean difference that is allowed, up or down; above 0.</param>
/// <param name="Specimens">So many specimens are needed at least.</param>
public sealed record LotCriterion(DifferenceUnit Unit, decimal Largest, int Specimens)
{
    /// <summary>The most specimens that may be asked for.</summary>
    public const int MostSpecimens = 100;

    /// <summary>The largest percentage that may be allowed.</summary>
    public const decimal LargestPercent = 100;

    /// <summary>Whether differences can be judged by it.</summary>
    public bool IsPossible => Largest > 0
        && Largest <= (Unit == DifferenceUnit.Percent ? LargestPercent : ControlTarget.Largest)
        && Specimens is >= 1 and <= MostSpecimens;
}

/// <summary>What came of a comparison.</summary>
public enum LotVerdict
{
    /// <summary>Fewer specimens than were asked for.</summary>
    TooFew,

    /// <summary>The mean difference is no larger than allowed.</summary>
    Within,

    /// <summary>It is larger.</summary>
    Beyond,
}

/// <summary>One specimen's results by an old lot and by a new one, in the unit of the assay.</summary>
/// <param name="Old">By the old lot.</param>
/// <param name="New">By the new one.</param>
public readonly record struct LotPair(decimal Old, decimal New)
{
    private const decimal LeastOfWhichPercent = 0.000_001m;

    /// <summary>
    /// Whether it can be compared: neither value is negative or beyond what is compared, and percent are not of
    /// (almost) nothing.
    /// </summary>
    public bool IsComparable(DifferenceUnit unit) => Old is >= 0 and <= ControlTarget.Largest
        && New is >= 0 and <= ControlTarget.Largest && (unit == DifferenceUnit.Units || Old >= LeastOfWhichPercent);

    /// <summary>By how much the new lot reads higher than the old one; lower: negative.</summary>
    public decimal Difference(DifferenceUnit unit) => unit == DifferenceUnit.Percent
        ? 100 * (New - Old) / Old : New - Old;
}

/// <summary>What a new kit lot gives beside the old one on the same specimens.</summary>
/// <remarks>
/// The idea of CLSI EP26 (second edition, 2022), whose abstract is public: specimens of patients are run by both lots,
/// and it is decided whether their difference is acceptable by a criterion that was set before. That the mean of the
/// paired differences is what is compared with it, and how many specimens are enough, stand in the guideline itself,
/// which was not read: unverified, from memory. So the criterion is the clinic's, and nothing is proposed for it.
/// </remarks>
/// <param name="Differences">Each pair's difference, in the criterion's unit.</param>
/// <param name="Mean">Their mean; null where there is none.</param>
/// <param name="Verdict">What came of it.</param>
public sealed record LotComparison(IReadOnlyList<decimal> Differences, decimal? Mean, LotVerdict Verdict)
{
    /// <summary>Compares two lots; a mean exactly as large as allowed is within.</summary>
    /// <param name="criterion">By what.</param>
    /// <param name="pairs">The specimens' results; those that cannot be compared are left out.</param>
    public static LotComparison Of(LotCriterion criterion, IEnumerable<LotPair> pairs)
    {
        ArgumentNullException.ThrowIfNull(criterion);
        IReadOnlyList<decimal> differences = [.. pairs.Where(pair => pair.IsComparable(criterion.Unit))
            .Select(pair => pair.Difference(criterion.Unit))];
        decimal? mean = differences.Count == 0 ? null : differences.Sum() / differences.Count;
        return new LotComparison(differences, mean,
            mean is null || differences.Count < criterion.Specimens ? LotVerdict.TooFew
            : Math.Abs(mean.Value) <= criterion.Largest ? LotVerdict.Within : LotVerdict.Beyond);
    }
}
