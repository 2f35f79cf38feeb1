using System.Text.RegularExpressions;
using System.Xml.Linq;
using Xunit;

namespace Incubation.Cli.Tests;

public sealed class CapacityCommandTest : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void Capacity_DemandFile_SaysWhatLimitsAndDrawsTheSweep()
    {
        var demand = _bench.PathOf("demand.json");
        File.WriteAllText(demand,
            """
            {
              "open": "08:00", "close": "12:00", "urgentShare": 0.2,
              "requests": [ { "assay": "DB", "perHour": 4 }, { "assay": "DD", "perHour": 1 } ]
            }
            """);

        Assert.Equal(ExitCode.Done,
            _bench.Run("capacity", Bench.Morning, "--demand", demand, "--days", "2", "--sweep", "2", "--slots", "2",
                "--chart", _bench.PathOf("sweep.svg")));

        Assert.Contains(
            "Demand: 20.0 cartridges a day (20% urgent), open 08:00 to 12:00, at a bench with hands 1, slots 2, "
            + "readers 1. Days simulated: 2; seed 1.", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("Bottleneck: ", _bench.Output, StringComparison.Ordinal);
        Assert.Matches(new Regex("one more pair of hands +one more slot +one more reader +10 more a day"),
            _bench.Output);
        Assert.Contains("The two sides differ by 0 %.", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("type 7", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("knee", XDocument.Load(_bench.PathOf("sweep.svg")).ToString(), StringComparison.Ordinal);
        Assert.Equal("", _bench.Error);
    }

    [Fact]
    public void Capacity_MoreThanAnyBenchOfItsKindCanDo_SaysByHowMuchAndExits3()
    {
        Assert.Equal(ExitCode.LeftOut,
            _bench.Run("capacity", Bench.Morning, "--per-hour", "200", "--slots", "2", "--days", "1", "--sweep", "0"));

        Assert.Matches(
            new Regex(
                @"Too much: the demand is 1800\.0 a day, but at full stretch this bench does "
                + "[0-9.]+ in its opening hours: [0-9.]+ too many"),
            _bench.Output);
    }

    [Theory]
    [InlineData("0 is not allowed. Allowed: a whole number from 1 to", "--per-hour", "5", "--readers", "0")]
    [InlineData("there is no demand", "--per-hour", "0")]
    [InlineData("Give the demand in one way")]
    [InlineData("--close must be later than --open", "--per-hour", "5", "--open", "12:00", "--close", "09:00")]
    [InlineData("is not a time of day", "--per-hour", "5", "--open", "noon")]
    [InlineData("this bench cannot run assay DA", "--per-hour", "5", "--slots", "0")]
    [InlineData("leave out --sweep 0", "--per-hour", "5", "--sweep", "0", "--chart", "x.svg")]
    public void Capacity_CannotBeUnderstood_SaysWhyAndExits2(string sentence, params string[] options)
    {
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run(["capacity", Bench.Morning, "--days", "1", .. options]));

        Assert.Contains(sentence, _bench.Error, StringComparison.Ordinal);
        Assert.Equal("", _bench.Output);
    }
}
