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
