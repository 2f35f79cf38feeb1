using Xunit;

namespace Incubation.Faults.Tests;

/// <summary>
/// The real program killed with signal 9 under simulated aides; the long runs are tests/Faults/run.sh --kills 100, and
/// --kills 40 --results.
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
        var (faults, acknowledged) = await ResultKillRun.RunAsync(2, seed: 1, TestContext.Current.CancellationToken);

        Assert.Empty(faults);
        Assert.True(acknowledged >= 20);
    }
}
