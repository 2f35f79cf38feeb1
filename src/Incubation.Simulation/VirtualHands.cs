using Incubation.Bench;
using Incubation.Model;
using NodaTime;

namespace Incubation.Simulation;

/// <summary>How virtual hands work: how long they take, and what they say beside a step's report.</summary>
public abstract class VirtualHands
{
    /// <summary>The length of a step that is allowed so long.</summary>
    public abstract Duration LengthOf(StepAction action, Duration allowed);

    /// <summary>What is said once a step has been reported: a result, a mishap.</summary>
    /// <param name="done">The step.</param>
    /// <param name="bench">The bench, which has recorded it.</param>
    public virtual IEnumerable<BenchCommand> Then(StepAction done, VirtualBench bench) => [];
}

/// <summary>Hands that do what they are asked, and enter an invented result when a cartridge is out.</summary>
/// <param name="lengths">How long they take.</param>
/// <param name="result">Makes a result up.</param>
public sealed class PlainHands(HandsLengths lengths, Func<string> result) : VirtualHands
{
    /// <inheritdoc/>
    public override Duration LengthOf(StepAction action, Duration allowed) => lengths.Of(action, allowed);

    /// <inheritdoc/>
    public override IEnumerable<BenchCommand> Then(StepAction done, VirtualBench bench)
    {
        ArgumentNullException.ThrowIfNull(bench);
        if (done is StepAction.Clear clear)
            yield return new BenchCommand.ResultEntered(clear.Request, new ShownResult.Value(result()));
    }
}
