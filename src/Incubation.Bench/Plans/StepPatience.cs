using Incubation.Model;
using NodaTime;

namespace Incubation.Bench;

/// <summary>
/// For how long beyond its allowed time hands are believed to be at a step that nobody reports; then the step is not
/// known, and the plan counts on free hands. An allowed time is the 95th percentile: one step in twenty takes longer,
/// and a tap comes late more often than a step.
/// </summary>
/// <param name="Mix">A mix keeps no place of the bench: what waits for the hands waits for it.</param>
/// <param name="Load">A load: its slot is kept and its reaction runs; each second makes its end less
/// certain.</param>
/// <param name="Move">A move: it keeps the reader, and read windows of other cartridges wait for it.</param>
/// <param name="Clear">A clear: the read is over and nothing spoils, but the reader waits.</param>
/// <param name="Discard">A discard: nothing can be lost by it but a slot for a while.</param>
/// <param name="CardChange">A card change: whatever is to be read with that card waits for it.</param>
public sealed record StepPatience(
    Duration Mix, Duration Load, Duration Move, Duration Clear, Duration Discard, Duration CardChange)
{
    /// <summary>
    /// The usual: a tap is forgotten for half a minute by gloved hands; the minute of a mix, a clear or a discard costs
    /// nothing that half a minute would save, since an end comes at once where waiting loses more.
    /// </summary>
    public static StepPatience Usual { get; } = new(
        Mix: Duration.FromSeconds(60), Load: Duration.FromSeconds(45), Move: Duration.FromSeconds(30),
        Clear: Duration.FromSeconds(60), Discard: Duration.FromSeconds(60), CardChange: Duration.FromSeconds(30));

    /// <summary>The patience with a kind of step.</summary>
    public Duration With(StepAction action) => action switch
    {
        StepAction.Mix => Mix,
        StepAction.Load => Load,
        StepAction.Move => Move,
        StepAction.Clear => Clear,
        StepAction.Discard => Discard,
        StepAction.CardChange => CardChange,
        _ => throw new ArgumentException("A read has no hands.", nameof(action)),
    };
}
