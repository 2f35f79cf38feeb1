using Xunit;

namespace Incubation.Faults.Tests;

/// <summary>
/// The real program killed with signal 9 under simulated aides; the long runs are tests/Faults/run.sh --kills 100, and
/// --kills 40 --results, --kills 200 --deliveries.
/// </summary>
public sealed class KillTest
{
    [Fact]
    public async Task Kills_Five_LoseNothingThatWasAcknowledged()
    {
        var (faults, acknowledged) = await KillRun.RunAsync(5, seed: 1, TestContext.Current.CancellationToken);

        Assert.Empty(faults);
        Assert.True(acknowledged >= 5);
    }

    [Fact]
    public async Task Kills_UnderResults_LeaveNoneOutThatWaitsAndEachGateAsItsControlsSay()
    {
        var (faults, acknowledged, turned) =
            await ResultKillRun.RunAsync(2, seed: 1, TestContext.Current.CancellationToken);

        Assert.Empty(faults);
        Assert.True(acknowledged >= 20);
        Assert.True(turned >= 1);
    }

    [Fact]
    public async Task Kills_WhileAReceiverIsTold_LoseNoMessageAndDoubleNone()
    {
        var (faults, acknowledged, messages, _) =
            await DeliveryKillRun.RunAsync(3, seed: 1, TestContext.Current.CancellationToken);

        Assert.Empty(faults);
        Assert.True(acknowledged >= 20);
        Assert.True(messages >= 5);
    }
}
