namespace Incubation.Planning.Engine;

/// <summary>
/// How good a plan is, what comes first weighing more than all that follows. Smaller is better throughout.
/// </summary>
/// <param name="Loss">Losses: no specimen left, urgent, patients, all, in three decimal places each.</param>
/// <param name="Guard">Milliseconds by which reads start inside the guard.</param>
/// <param name="Unplaced">How many requests are unplaced.</param>
/// <param name="Cost">Rule 8, in milliseconds.</param>
/// <param name="Cards">Card changes.</param>
internal readonly record struct Score(long Loss, long Guard, int Unplaced, double Cost, int Cards)
{
    /// <summary>Costs nearer than this (milliseconds) are equal: no file is finer.</summary>
    public const double Equal = 0.01;

    public static Score Worst { get; } = new(long.MaxValue, 0, 0, 0, 0);

    public bool IsBetterThan(in Score other)
    {
        if (Loss != other.Loss)
            return Loss < other.Loss;
        if (Guard != other.Guard)
            return Guard < other.Guard;
        if (Unplaced != other.Unplaced)
            return Unplaced < other.Unplaced;
        if (Math.Abs(Cost - other.Cost) > Equal)
            return Cost < other.Cost;
        return Cards < other.Cards;
    }

    /// <summary>The same order as one number for the search, in milliseconds of cost.</summary>
    public double Energy => LossEnergy(Loss) + (Guard * 1e6) + (Unplaced * 1e9) + Cost + (Cards * 5.0);

    private static double LossEnergy(long loss) =>
        (loss / 1_000_000_000L * 1e14) + (loss / 1_000_000L % 1000 * 1e13) + (loss / 1000 % 1000 * 1e12)
            + (loss % 1000 * 1e11);
}
