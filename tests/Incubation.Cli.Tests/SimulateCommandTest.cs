using System.Globalization;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Incubation.TestKit;
using Xunit;

namespace Incubation.Cli.Tests;

public sealed class SimulateCommandTest : IDisposable
{
    private readonly Bench _bench = new();

    public void Dispose() => _bench.Dispose();

    [Fact]
    public void Simulate_Morning_ComparesThreeDispatchesAndDrawsThem()
    {
        Assert.Equal(ExitCode.Done,
            _bench.Run("simulate", Bench.Morning, "--days", "3", "--seed", "1", "--chart", _bench.PathOf("days.svg")));
        Assert.Contains("Days simulated: 3, with 12 cartridges each; seed 1.", _bench.Output, StringComparison.Ordinal);
        var rows = Regex.Matches(_bench.Output, "^(this program|one at a time|load at once) +([0-9]+) ",
            RegexOptions.Multiline);
        Assert.Equal(["this program", "one at a time", "load at once"], rows.Select(r => r.Groups[1].Value));
        Assert.All(rows, row =>
            Assert.InRange(int.Parse(row.Groups[2].Value, System.Globalization.CultureInfo.InvariantCulture), 1, 36));
        Assert.Contains("Wilson", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("type 7", _bench.Output, StringComparison.Ordinal);
        var svg = XDocument.Load(_bench.PathOf("days.svg"));
        Assert.All(rows, row => Assert.Contains(row.Groups[1].Value, svg.ToString(), StringComparison.Ordinal));
        Assert.Equal("", _bench.Error);
        Assert.Equal(["days.svg"], _bench.Files);
    }

    [Fact]
    public void Simulate_SameSeed_SaysTheSameWithOneThreadAndWithTwo()
    {
        var days = CaseCount.Of(4, 8).ToString(CultureInfo.InvariantCulture);
        var told = new[] { "1", "2" }.Select(threads =>
        {
            Assert.Equal(ExitCode.Done,
                _bench.Run("simulate", Bench.Morning, "--days", days, "--seed", "5", "--threads", threads));
            return _bench.Output;
        }).ToList();
        Assert.Equal(told[0], told[1]);
        Assert.Equal(ExitCode.Done, _bench.Run("simulate", Bench.Morning, "--days", days, "--seed", "6"));
        Assert.NotEqual(told[0], _bench.Output);
    }

    [Fact]
    public void Simulate_MidRunOrCalendar_IsRefusedInASentence()
    {
        var running = _bench.WriteDay("running.json", root => root["now"] = "2026-03-02T08:10:00Z");
        Assert.Equal(ExitCode.NotUnderstood,
            _bench.Run("simulate", running, "--days", "1", "--chart", _bench.PathOf("days.svg")));
        Assert.Contains("in mid-run", _bench.Error, StringComparison.Ordinal);
        var away = _bench.WriteDay("away.json", root => root["calendar"] = new JsonArray(JsonNode.Parse(
            """{ "resource": "hands", "number": 1, "from": "2026-03-02T08:10:00Z", "to": "2026-03-02T08:20:00Z" }""")));
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("simulate", away, "--days", "1"));
        Assert.Contains("has a calendar", _bench.Error, StringComparison.Ordinal);
        Assert.Equal(["away.json", "running.json"], _bench.Files);
    }

    [Fact]
    public void Simulate_RequestThatCannotBePlaced_PlaysTheRestAndExits3()
    {
        var day = _bench.WriteDay("day.json", root => root["requests"]![11]!["loadBy"] = "2026-03-02T08:00:30Z");
        Assert.Equal(ExitCode.LeftOut, _bench.Run("simulate", day, "--days", "1"));
        Assert.Contains("Days simulated: 1, with 11 cartridges", _bench.Output, StringComparison.Ordinal);
        Assert.Contains("R12: ", _bench.Output, StringComparison.Ordinal);
    }

    [Fact]
    public void Simulate_DayWithoutRequests_IsRefused()
    {
        var day = _bench.WriteDay("day.json", root => root["requests"] = new JsonArray());
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("simulate", day, "--days", "1"));
        Assert.Contains("nothing to simulate", _bench.Error, StringComparison.Ordinal);
    }

    [Fact]
    public void Simulate_ChartOverTheDay_IsRefused()
    {
        var day = _bench.WriteDay("day.json", _ => { });
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run("simulate", day, "--days", "1", "--chart", day));
        Assert.Contains("would replace", _bench.Error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--days", "0")]
    [InlineData("--days", "many")]
    [InlineData("--days", "1000001")]
    [InlineData("--threads", "0")]
    [InlineData("--threads", "-1")]
    [InlineData("--seed", "one")]
    [InlineData("--out", "plan.json")]
    public void Simulate_OptionsThatMakeNoSense_AreToldInASentence(params string[] options)
    {
        Assert.Equal(ExitCode.NotUnderstood, _bench.Run(["simulate", Bench.Morning, .. options]));
        Assert.Contains("--help", _bench.Error, StringComparison.Ordinal);
        Assert.DoesNotContain("Exception", _bench.Error, StringComparison.Ordinal);
    }
}
