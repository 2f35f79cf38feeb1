using NodaTime;

namespace Incubation.Model.Controls;

/// <summary>
/// What of a bench's results on a lot is in doubt: from its last good controls until a wrong one was known.
/// </summary>
/// <param name="Since">When the last good controls came out of the reader; the beginning where there were none.</param>
/// <param name="Until">When the wrong one was known.</param>
/// <param name="SinceBatch">The batch of the last good controls; 0 where there were none.</param>
/// <param name="UntilBatch">The batch of the wrong one.</param>
public sealed record ReviewSpan(Instant Since, Instant Until, int SinceBatch, int UntilBatch)
{
    /// <summary>
    /// Whether a result was entered in it. Batches follow each other although the clock may have gone back between
    /// them: what is in it by either is in it.
    /// </summary>
    /// <param name="batch">The result's batch.</param>
    /// <param name="entered">When it was entered.</param>
    public bool Holds(int batch, Instant entered) =>
        (entered >= Since || batch > SinceBatch) && (entered <= Until || batch < UntilBatch);

    /// <summary>Both, and what lies between.</summary>
    internal ReviewSpan With(ReviewSpan other) => new(Instant.Min(Since, other.Since), Instant.Max(Until, other.Until),
        Math.Min(SinceBatch, other.SinceBatch), Math.Max(UntilBatch, other.UntilBatch));
}
