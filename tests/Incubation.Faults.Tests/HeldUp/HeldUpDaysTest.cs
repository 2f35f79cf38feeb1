using Incubation.Faults.HeldUp;
using Xunit;

namespace Incubation.Faults.Tests.HeldUp;

/// <summary>Days on which people are called away; the long run is tests/Faults/run.sh --held-up.</summary>
public sealed class HeldUpDaysTest
{
    private const ulong Seed = 1;

    [Fact]
    public void Day_PlayedAgain_IsTheSame()
    {
        var first = LateWorld.Play(3, Seed, tracing: true);
        var again = LateWorld.Play(3, Seed, tracing: true);

        Assert.Equal(first.Trace, again.Trace);
        Assert.Equal(first.Counts, again.Counts);
        Assert.NotEmpty(first.Trace);
    }

    /// <summary>
    /// Nothing is lost on them that could have been saved. How many days do not hold yet stands in tests/Faults/README.
    /// </summary>
    [Theory]
    [InlineData(1, 1)]
    [InlineData(1, 2)]
    [InlineData(1, 3)]
    [InlineData(1, 4)]
    [InlineData(1, 8)]
    [InlineData(1, 9)]
    [InlineData(1, 13)]
    [InlineData(1, 22)]
    [InlineData(1, 34)]
    [InlineData(1, 40)]
    [InlineData(11, 21)]
    [InlineData(11, 117)]
    [InlineData(11, 143)]
    [InlineData(11, 227)]
    [InlineData(11, 317)]
    [InlineData(11, 219)]
    [InlineData(11, 431)]
    [InlineData(11, 481)]
    [InlineData(11, 512)]
    [InlineData(9, 158)]
    [InlineData(9, 294)]
    [InlineData(9, 312)]
    [InlineData(21, 105)]
    [InlineData(21, 142)]
    [InlineData(21, 241)]
    [InlineData(11, 207)]
    [InlineData(21, 179)]
    [InlineData(21, 193)]
    [InlineData(23, 9)]
    [InlineData(23, 41)]
    [InlineData(23, 54)]
    [InlineData(31, 117)]
    [InlineData(31, 293)]
    [InlineData(31, 269)]
    [InlineData(23, 7)]
    [InlineData(47, 75)]
    [InlineData(7, 108)]
    [InlineData(7, 384)]
    public void Day_OfALatePerson_LosesNothingThatCouldBeSaved(ulong seed, int day) =>
        Assert.Empty(LateWorld.Play(day, seed, tracing: false).Broken);
}
