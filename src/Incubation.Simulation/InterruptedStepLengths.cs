using NodaTime;

namespace Incubation.Simulation;

/// <summary>
/// Steps of a person who is called away now and then: a part of them takes longer by one of the lengths that a record
/// shows, drawn from these themselves (the bootstrap of B. Efron, The Annals of Statistics 1979;7:1, from memory).
/// </summary>
/// <param name="Share">Which part of the steps is interrupted, 0 to 1.</param>
/// <param name="Lengths">How long interruptions were; at least one where any step is interrupted.</param>
public sealed record InterruptedStepLengths(double Share, IReadOnlyList<Duration> Lengths) : RandomStepLengths
{
    /// <inheritdoc/>
    public override Duration Draw(Duration allowed, Random random)
    {
        var length = base.Draw(allowed, random);
        return length > Duration.Zero && random.NextDouble() < Share
            ? length + Lengths[random.Next(Lengths.Count)] : length;
    }

    /// <inheritdoc/>
    public override Duration Mean(Duration allowed) => Share == 0 ? base.Mean(allowed)
        : base.Mean(allowed) + (Lengths.Aggregate(Duration.Zero, (sum, one) => sum + one) * (Share / Lengths.Count));
}
